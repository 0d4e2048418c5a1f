"""Study and supplements to the content of a report."""

from __future__ import annotations

from dataclasses import replace

from moisturemap.report.content import Content, Section
from moisturemap.report.material import Material
from moisturemap.report.options import PAPERS
from moisturemap.report.pictures import logo
from moisturemap.report.sections import APPENDICES, BODY
from moisturemap.report.wording import shortened


def compose(material: Material) -> Content:
    """Put the sections that have something to say together and number them."""
    mark = None if material.options.logo is None else logo(material.options.logo)
    body = [made for make in BODY if (made := make(material)) is not None]
    appendices = [made for make in APPENDICES if (made := make(material)) is not None]
    numbered: list[Section] = [replace(one, number=f"{n}") for n, one in enumerate(body, 1)]
    numbered += [replace(one, number=chr(ord("A") + n)) for n, one in enumerate(appendices)]
    study, options, wording = material.study, material.options, material.wording
    about = [
        ("Report", material.number),
        ("Made", wording.day(material.made)),
        ("Visit", f"{study.visit.id}, {wording.moment(study.visit.started)}"),
    ]
    about += [("Surveyed by", study.visit.operator)] if study.visit.operator else []
    about += list(options.title_block.items())
    if material.record is not None:
        about.append(
            ("Record of changes", f"entry {material.record[0]}, {material.record[1][:16]}")
        )
    return Content(
        title=shortened(options.title or study.survey.name, 120),
        subtitle="Moisture survey of the subfloor",
        number=material.number,
        about=tuple(about),
        sections=tuple(numbered),
        made=wording.day(material.made),
        logo=mark,
        paper=PAPERS[options.paper],
    )
