"""What a reader of one report meets twice is told alike, and in the units of the report."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from moisturemap.bundles import Findings
from moisturemap.report import ReportOptions, Supplement
from moisturemap.report.compose import compose
from moisturemap.report.content import Bullets, Content, Paragraph, Table, Terms
from moisturemap.report.material import Material
from moisturemap.report.material import Supplement as MaterialSupplement

pytestmark = pytest.mark.thorough


def _texts(content: Content) -> list[str]:
    found: list[str] = []
    for section in content.sections:
        for block in section.blocks:
            match block:
                case Paragraph(text, _):
                    found.append(text)
                case Bullets(items):
                    found += items
                case Terms(rows):
                    found += [" ".join(row) for row in rows]
                case Table():
                    found += [" ".join(row) for row in block.rows] + [block.note]
    return found


@pytest.fixture
def american(known: Callable[[str], tuple[Findings, Supplement]]) -> Content:
    """The report of a messy record, in feet and on letter paper."""
    findings, _ = known("messy")
    supplement = MaterialSupplement(decision=findings.decision, drying=findings.drying, pictures=())
    return compose(Material(findings.study, ReportOptions(units="us", paper="Letter"), supplement))


def test_no_metric_word_is_left_in_a_report_in_feet(american: Content) -> None:
    """No centimetre, no metre, no day for each millimetre, no degree of an unsaid scale."""
    texts = "\n".join(_texts(american))
    assert "degree" not in re.sub(r"\d degrees", "", texts)
    assert not re.findall(r".{30}(?:centimet|\bmm\b|\d m\b|\d cm\b).{10}", texts)


def test_the_reach_of_a_wall_is_one_length(american: Content) -> None:
    """Of rule, verdict, step and hole alike: 3 ft."""
    texts = "\n".join(_texts(american))
    assert {*re.findall(r"within (3 ft(?: \d+ in)?) of", texts)} == {"3 ft"}


def test_no_area_is_nought(american: Content) -> None:
    """Floor that is shown nowhere has no area of 0.0."""
    assert not [text for text in _texts(american) if re.search(r"\b0\.0 (?:ft|m)2", text)]


def test_a_test_shows_the_same_in_every_table(american: Content) -> None:
    """An invalid test that is above the limit, or too near, counts against the floor in both."""
    tables = {
        block.caption: block
        for section in american.sections
        for block in section.blocks
        if isinstance(block, Table)
    }
    judged = {row[1]: row[-1] for row in tables["Tests against the limit"].rows}
    rooms = {row[0]: row[2] for row in tables["Rooms"].rows}
    assert set(judged.values()) == {"counts against"}
    assert {name: told.removeprefix("not judged, ") for name, told in rooms.items()} == judged


def test_steps_without_room_on_page_one_go_on_behind_the_contents(american: Content) -> None:
    """Letter paper is 18 mm less high: the last steps of its page stood alone on a sheet."""
    tables = [b for one in american.sections for b in one.blocks if isinstance(b, Table)]
    steps = next(one for one in tables if one.key == "next")
    rest = next(one for one in tables if one.key == "next-rest")
    *shown, more = [row[0] for row in steps.rows]
    assert more == ""
    assert 2 <= len(shown) <= 5
    numbers = [*shown, *(row[0] for row in rest.rows)]
    assert numbers == [f"{k}" for k in range(1, len(numbers) + 1)]
