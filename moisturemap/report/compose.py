"""Study and supplements to the content of a report."""

from __future__ import annotations

from dataclasses import replace

from moisturemap.report.column_widths import fitted
from moisturemap.report.content import Content, Section
from moisturemap.report.material import Material
from moisturemap.report.options import PAPERS
from moisturemap.report.pictures import logo
from moisturemap.report.reference import numbered
from moisturemap.report.sections import TESTS_ALONE, WITH_SCAN
from moisturemap.report.translated import translated
from moisturemap.report.wording import shortened
from moisturemap.units import zone_told


def compose(material: Material) -> Content:
    """Put the sections that have something to say together and number them."""
    mark = None if material.options.logo is None else logo(material.options.logo)
    short = material.options.summary
    parts = WITH_SCAN if material.scanned else TESTS_ALONE
    makers_of_body = parts.summary if short else parts.body
    body = [made for make in makers_of_body if (made := make(material)) is not None]
    makers = () if short else parts.appendices
    appendices = [made for make in makers if (made := make(material)) is not None]
    sections: list[Section] = [replace(one, number=f"{n}") for n, one in enumerate(body, 1)]
    sections += [replace(one, number=chr(ord("A") + n)) for n, one in enumerate(appendices)]
    survey, options, wording = material.survey, material.options, material.wording
    visit = material.visit
    about = [
        ("Report", material.number),
        ("Made", wording.day(material.made_here)),
        ("Visit", f"{visit.id}, {wording.moment(visit.started)}"),
    ]
    if visit.started is not None:
        about.append(("All times", zone_told(survey.timezone, visit.started)))
    about += [("Surveyed by", visit.operator)] if visit.operator else []
    about += list(options.title_block.items())
    if material.record is not None:
        about.append(
            ("Record of changes", f"entry {material.record[0]}, {material.record[1][:16]}")
        )
    content = Content(
        title=shortened(options.title or survey.name, 120),
        subtitle=f"{parts.subtitle}{': summary' if short else ''}",
        number=material.number,
        about=tuple(about),
        sections=tuple(numbered(sections)),
        made=wording.day(material.made_here),
        foot=material.foot,
        logo=mark,
        paper=PAPERS[options.paper],
    )
    return fitted(translated(content))
