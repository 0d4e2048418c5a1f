"""A floor with calibrated tests and no scan: what they show, and what nobody knows."""

from __future__ import annotations

from moisturemap.acceptance import Decision
from moisturemap.floorplan import Room
from moisturemap.report.content import (
    Block,
    Bullets,
    Column,
    Paragraph,
    Section,
    Table,
)
from moisturemap.report.material import Material
from moisturemap.report.pictures import small_tests_map
from moisturemap.report.sections.findings import why_and_next
from moisturemap.report.sections.first_page import (
    Step,
    next_steps,
    reasons,
    steps_of,
    verdict,
)
from moisturemap.report.sections.limits import LATER
from moisturemap.report.sections.room_table import judged_in
from moisturemap.results.brief import counted, listed

NO_LEAK_SHOWN = "Tests at a few places cannot show a leak; nor do they exclude one."
NOTHING_BETWEEN = (
    "No scan of the floor is on record, so nothing is known between the tested places: the floor "
    "may be wetter there."
)
FIRST_SCAN = (
    "Scan the floor with a relative meter before the next tests: a scan shows where it is wettest, "
    "and that is where to test."
)


def first_page(material: Material) -> Section:
    """Answer the questions of a client as far as tests alone can."""
    decision = material.supplement.decision
    assert decision is not None
    blocks: list[Block] = [Paragraph(NO_LEAK_SHOWN, "note"), verdict(material), *reasons(material)]
    blocks.append(Paragraph("Where was it tested?", "lead"))
    blocks.append(Paragraph(f"{_tested(material, decision)} {NOTHING_BETWEEN}"))
    if material.supplement.pictures is None:
        picture = small_tests_map(decision, material.survey, material.form)
        blocks += [] if picture is None else [picture]
    return Section("In short", (*blocks, *next_steps(material, _steps(material, decision), blocks)))


def _steps(material: Material, decision: Decision) -> list[Step]:
    steps = steps_of(material)
    if decision.verdict != "meets":
        steps.append((FIRST_SCAN, "scanner operator"))
    return steps or [("Keep this report with the record of the floor.", "report writer")]


def _tested(material: Material, decision: Decision) -> str:
    """Say how many tests were recorded, judged, and which rooms have none."""
    told = (
        f"{counted(len(decision.tests), 'calibrated test')} recorded, "
        f"{sum(test.judged for test in decision.judged)} of them judged against the limit."
    )
    without = _untested(material, decision)
    return f"{told} No test: {listed(without)}." if without else told


def _untested(material: Material, decision: Decision) -> list[str]:
    tested = set(decision.tests["room"])
    return [room.name for room in material.survey.plan.rooms if room.name not in tested]


def result(material: Material) -> Section:
    """Say what stands behind page one."""
    lead = Paragraph("What the tests leave open", "lead")
    return Section("Result", (*why_and_next(material), lead, Paragraph(NOTHING_BETWEEN)))


def rooms(material: Material) -> Section | None:
    """List the rooms with their tests; None on a floor of one room."""
    decision, plan = material.supplement.decision, material.survey.plan
    if decision is None or len(plan.rooms) < 2:
        return None
    columns = (
        Column("Room", 2),
        Column("Area", 1, "right"),
        Column("Calibrated tests", 1.6),
        Column("Judged tests", 0.9, "right"),
        Column("Holes", 2),
    )
    rows = tuple(_row(material, decision, room) for room in plan.rooms)
    note = (
        "Calibrated tests: the worst of the judged tests in the room; it holds for the tested "
        "places only."
    )
    return Section("Rooms", (Table("Rooms", columns, rows, note=note, key="rooms"),))


def _row(material: Material, decision: Decision, room: Room) -> tuple[str, ...]:
    worst, count = judged_in(decision, room)
    here = decision.tests.loc[decision.tests["room"] == room.name, "hole"]
    holes = [str(one) for one in here.unique() if one]
    area = material.wording.area(room.polygon.area)
    return room.name, area, worst, f"{count}", ", ".join(holes) or "none"


def cannot_say(material: Material) -> Section:
    """State what cannot be concluded from tests alone."""
    decision = material.supplement.decision
    items = [
        "Whether the floor between the tested places meets the limit: nothing was read there.",
        "Where the floor is wettest, and whether a wet place was missed: no scan was made.",
        "How wet the floor is at depths that no test reached.",
        LATER,
        "That any place is clear of pipes, cables, bars, tendons or membranes.",
    ]
    if decision is not None and decision.tests[["x", "y"]].isna().any(axis=None):
        items.append("Where a test stands that has no place on record.")
    return Section("What this report cannot say", (Bullets(tuple(items)),))
