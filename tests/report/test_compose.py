"""What a report says."""

import dataclasses
import math
import re
from datetime import date

import pandas as pd
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text
from shapely.geometry import box

import moisturemap.figures
from moisturemap.acceptance.asked import Asked
from moisturemap.bundles import DryingPlan, Findings, Study
from moisturemap.drying import Rise
from moisturemap.figures import MapOptions, map_figure
from moisturemap.floorplan import Room
from moisturemap.report import Material, ReportOptions, Supplement, compose
from moisturemap.report.content import (
    Bullets,
    Column,
    Content,
    Paragraph,
    Picture,
    Section,
    Table,
    Terms,
    Verdict,
)
from moisturemap.report.options import UPRIGHT
from moisturemap.report.reference import OPEN, numbered, pieces, plain, refer
from moisturemap.report.sections import drilling, room_table
from moisturemap.report.sections.appendix import _abreast, _not_listed
from moisturemap.report.sections.dried import _forecasts, _narrow
from moisturemap.report.sections.drilling import HELD
from moisturemap.report.sections.first_page import (
    COVERED_INVALID,
    INVALID,
    PAGE_LINES,
    _beyond_plan,
    _danger,
    first_page,
    next_steps,
    short,
    verdict,
)
from moisturemap.report.sections.room_table import judged_in
from moisturemap.report.sections.scan import anomalies
from moisturemap.survey import USED_FLAGS
from moisturemap.units import Units

pytestmark = pytest.mark.thorough


COMPOSED: list[tuple[Findings, bool, dict[str, object], Content]] = []
"""What was composed of the floor that most tests read: nobody changes it."""


def content_of(findings: Findings, decided: bool = True, **options: object) -> Content:
    """Compose a report, once for each floor and form of it."""
    for floor, judged, form, content in COMPOSED:
        if floor is findings and (judged, form) == (decided, options):
            return content
    supplement = Supplement(decision=findings.decision if decided else None, pictures=())
    content = compose(Material(findings.study, ReportOptions(**options), supplement))  # type: ignore[arg-type]
    COMPOSED.append((findings, decided, options, content))
    return content


def titles(content: Content) -> list[str]:
    return [section.title for section in content.sections]


def texts(content: Content) -> str:
    """Everything a content says, in one text."""
    return "\n".join(str(block) for section in content.sections for block in section.blocks)


def words_of(value: object) -> list[str]:
    """Every text in nested blocks."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, list | tuple):
        return [word for one in value for word in words_of(one)]
    if dataclasses.is_dataclass(value):
        return [
            word for f in dataclasses.fields(value) for word in words_of(getattr(value, f.name))
        ]
    return []


def tables(content: Content) -> dict[str, Table]:
    found = [b for s in content.sections for b in s.blocks if isinstance(b, Table)]
    return {table.caption: table for table in found}


def test_page_one_answers_in_order_of_urgency(findings: Findings) -> None:
    """Danger, may it be covered and why, where it is wet, what next and by whom."""
    first = content_of(findings).sections[0]
    assert first.title == "In short"
    kinds = [type(block).__name__ for block in first.blocks]
    assert kinds[:7] == [
        "Paragraph",
        "Verdict",
        "Bullets",
        "Paragraph",
        "Paragraph",
        "Table",
        "Contents",
    ]
    assert "leak" in first.blocks[0].text  # type: ignore[union-attr]
    frame = first.blocks[1]
    assert isinstance(frame, Verdict)
    assert findings.decision is not None
    assert findings.decision.verdict == "exceeds"
    assert frame.headline == INVALID  # its test is not valid, and counts all the same
    assert findings.decision.sentence in frame.text
    steps = first.blocks[5]
    assert isinstance(steps, Table)
    *named, left = steps.rows
    assert all(row[1] and row[2] for row in named)
    assert "more under Further steps" in left[1]


def test_a_covered_floor_is_not_asked_whether_it_may_be_covered(findings: Findings) -> None:
    """The question of page one is that of a floor still bare; one bare room is enough for it."""
    plan = findings.survey.plan
    covered = [
        dataclasses.replace(room, slab=dataclasses.replace(room.slab, covered=date(2020, 1, 1)))
        for room in plan.rooms
    ]
    asked = []
    for rooms in (covered, [plan.rooms[0], *covered[1:]]):
        survey = dataclasses.replace(
            findings.survey, plan=dataclasses.replace(plan, rooms=tuple(rooms))
        )
        study = dataclasses.replace(findings.study, survey=survey)
        frame = verdict(Material(study, supplement=Supplement(decision=findings.decision)))
        asked.append(frame.headline)
    assert asked == [COVERED_INVALID, INVALID]


def test_while_water_arrives_no_day_is_named_in_any_column(
    findings: Findings, two_visits: DryingPlan
) -> None:
    """A table told "not before day 316" beside "no day can be named"."""
    drying = two_visits.comparison.drying
    rising = tuple(
        dataclasses.replace(one, low=316.0, high=math.inf, why_open="rising")
        for one in drying.forecasts
    )
    assert rising
    table = _forecasts(Material(findings.study, supplement=Supplement()), rising)
    assert {row[3:5] for row in table.rows} == {("none", "none")}


def test_a_line_that_dried_is_told_beside_maps_that_show_no_fall(two_visits: DryingPlan) -> None:
    """A line lost 6.3 where the report said "a fall is shown nowhere"."""
    drying = two_visits.comparison.drying
    row = dict.fromkeys(drying.features.columns, "") | {"anomaly": "L3", "verdict": "dried"}
    told = [
        _narrow(dataclasses.replace(drying, features=pd.DataFrame([row | {"verdict": one}])))
        for one in ("dried", "rose", "steady", "cannot-tell")
    ]
    assert [len(one) for one in told] == [1, 1, 0, 0]
    assert "L3" in told[0][0]


def test_a_place_on_two_lines_is_counted_once_in_all(bakery: Study) -> None:
    """45 and 13 places stood beside 56 readings set aside."""
    study, table = bakery, bakery.anomalies
    assert len(table)
    flagged = study.found.readings["anomaly"] != ""
    own = len(study.found.readings.loc[flagged, ["x", "y"]].drop_duplicates())
    for extra, told in ((0, False), (2, True)):
        shared = table.assign(readings=[own + extra - len(table) + 1] + [1] * (len(table) - 1))
        found = dataclasses.replace(study.found, table=shared)
        (block,) = (
            one
            for one in anomalies(Material(dataclasses.replace(study, found=found))).blocks
            if isinstance(one, Table)
        )
        assert (f"{own} places in all" in block.note) == told


def test_a_leak_stands_before_everything(findings: Findings, two_visits: DryingPlan) -> None:
    """Where the reading rises, page one begins with it, and the first step is to stop it."""
    rising = two_visits.comparison.drying.areas.head(0).copy()
    row = dict.fromkeys(rising.columns, "")
    row |= {"area": "R1", "kind": "rising", "room": "Store", "area_m2": 2.5, "geometry": None}
    areas = pd.concat([rising, pd.DataFrame([row])], ignore_index=True)
    drying = dataclasses.replace(two_visits.comparison.drying, areas=areas)
    plan = dataclasses.replace(
        two_visits,
        comparison=dataclasses.replace(two_visits.comparison, drying=drying),
        equipment=None,
    )
    supplement = Supplement(decision=findings.decision, drying=plan, pictures=())
    first = first_page(Material(findings.study, ReportOptions(), supplement))
    lead = first.blocks[0]
    assert isinstance(lead, Paragraph)
    assert lead.kind == "warning"
    assert "Possible active leak" in lead.text
    assert "at R1 in Store, 2.5 m2" in lead.text
    (short_lead, *_) = _danger(Material(findings.study, ReportOptions(summary=True), supplement))
    assert " in Store, 2.5 m2" in str(short_lead)
    assert "R1" not in str(short_lead)  # no map of a summary shows it
    steps = next(block for block in first.blocks if isinstance(block, Table))
    assert "stop the source" in steps.rows[0][1]


def test_a_rise_between_two_visits_stands_before_everything(
    findings: Findings, two_visits: DryingPlan
) -> None:
    """Though nothing rose from the first visit to the latest."""
    rise = Rise("v4", "v5", "Store", 7.0, 5.0, 3.5, 26.0, box(4, 2, 6, 5))
    seen = two_visits.comparison.drying
    drying = dataclasses.replace(seen, areas=seen.areas.head(0), rises=(rise,))
    comparison = dataclasses.replace(two_visits.comparison, drying=drying)
    plan = dataclasses.replace(two_visits, comparison=comparison, equipment=None)
    supplement = Supplement(decision=findings.decision, drying=plan, pictures=())
    first = first_page(Material(findings.study, ReportOptions(), supplement))
    lead = first.blocks[0]
    assert isinstance(lead, Paragraph)
    assert lead.kind == "warning"
    assert "Readings rose between v4 and v5 on 7.0 m2" in lead.text
    steps = next(block for block in first.blocks if isinstance(block, Table))
    assert "stop the source" in steps.rows[0][1]


def test_nobody_is_sent_to_a_hole_that_must_not_be_drilled(findings: Findings) -> None:
    """Nor to one that is tested; the blocked one is to be withdrawn."""
    holes = findings.study.drilling.holes.copy()
    first, second = holes["hole"].iloc[:2]
    holes["status"] = "issued"
    holes.loc[holes["hole"] == second, "status"] = "done"
    drilling = dataclasses.replace(
        findings.study.drilling, holes=holes, blocked=((first, f"Do not drill {first}."),)
    )
    study = dataclasses.replace(findings.study, drilling=drilling)
    page = first_page(Material(study, ReportOptions(), Supplement(pictures=())))
    steps = next(block for block in page.blocks if isinstance(block, Table))
    told = [row[1] for row in steps.rows]
    assert any(text.startswith(f"Withdraw {first} and do not drill") for text in told)
    sent = " ".join(text for text in told if "then test" in text)
    assert first not in sent
    assert second not in sent


def test_steps_beyond_page_one_stand_under_a_heading_of_their_own(findings: Findings) -> None:
    """The dangerous ones stay in front, none is lost, and the first table says how many follow."""
    long = tuple(f"Step {n}: " + "words of a long sentence, " * 5 for n in range(12))
    decision = dataclasses.replace(findings.decision, next_steps=long)
    supplement = Supplement(decision=decision, pictures=())
    page = first_page(Material(findings.study, ReportOptions(), supplement))
    first, rest = (block for block in page.blocks if isinstance(block, Table))
    assert sum(-(-len(row[1]) // 74) for row in first.rows) <= PAGE_LINES
    assert "Clear every caution" in first.rows[0][1]
    assert f"{len(rest.rows)} more under Further steps" in first.rows[-1][1]
    told = " ".join(row[1] for row in (*first.rows, *rest.rows))
    assert all(f"Step {n}:" in told for n in range(12))
    assert rest.rows[0][0] == f"{len(first.rows)}"


def test_a_summary_counts_the_steps_beyond_page_one(findings: Findings) -> None:
    """Listed on page two, they pushed the lines to sign to a third."""
    decision = dataclasses.replace(findings.decision, next_steps=("word " * 12,) * 30)
    material = Material(
        findings.study,
        ReportOptions(summary=True),
        Supplement(decision=decision, pictures=()),
    )
    steps = [("word " * 12, "technician")] * 40
    (first,) = next_steps(material, steps, [Paragraph("x" * 900)])
    assert isinstance(first, Table)
    left = 40 - (len(first.rows) - 1)
    assert first.rows[-1][1] == f"{left} more, in the technical report."


def test_no_step_of_a_summary_leads_to_what_it_leaves_out(
    findings: Findings, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A summary without the map of the survey told to see nothing: "see ."."""
    wet = dataclasses.replace(findings.study.wet, small_m2=(0.8, 0.4))
    monkeypatch.setattr(Study, "sweeps", pd.DataFrame({"anomaly": ["L1", "L1"]}))
    missed = dataclasses.replace(findings.study.drilling, unreached=("No hole lies in zone B.",))
    study = dataclasses.replace(findings.study, wet=wet, drilling=missed)
    told = tables(content_of(dataclasses.replace(findings, study=study), summary=True))
    steps = [plain(row[1]) for row in told["What to do next, and by whom"].rows]
    assert any(one.endswith("see why in the technical report.") for one in steps)
    assert not [one for one in steps if "under Drill plan" in one]
    assert any(one.startswith("Sweep the meter across L1 at 2 places") for one in steps)
    assert "Test the smaller patches above the wet level too: 2." in steps
    assert not [one for one in steps if re.search(r"\s[.,;]", one)]


def test_nothing_is_tested_before_the_cautions_are_cleared(findings: Findings) -> None:
    """Testing the smaller patches stood before the step that clears the cautions."""
    wet = dataclasses.replace(findings.study.wet, small_m2=(0.8, 0.4))
    study = dataclasses.replace(findings.study, wet=wet)
    told = tables(content_of(dataclasses.replace(findings, study=study)))
    steps = [
        plain(row[1])
        for name in ("What to do next, and by whom", "Further steps")
        for row in (told[name].rows if name in told else ())
    ]
    (cleared,) = [n for n, one in enumerate(steps) if one.startswith("Clear every caution")]
    (patches,) = [n for n, one in enumerate(steps) if one.startswith("Test the smaller patches")]
    assert cleared < patches


def test_a_summary_draws_the_anomalies_it_names(
    findings: Findings, bakery: Study, monkeypatch: pytest.MonkeyPatch
) -> None:
    """L1 was to be located and stood on no map of the summary; nor did a rise called R1."""
    drawn: list[MapOptions] = []

    def draw(study: Study, options: MapOptions) -> Figure:
        drawn.append(options)
        return map_figure(study, options)

    monkeypatch.setattr(moisturemap.figures, "map_figure", draw)
    for summary in (True, False):
        first_page(Material(bakery, ReportOptions(summary=summary), Supplement()))
    assert [one.anomalies for one in drawn] == [True, False]


@pytest.mark.parametrize(
    ("then", "words"),
    [
        (("at C", "at D"), "leave 1 of 3 places that ask for a valid test (named"),
        (("at D",), "leave no place that asks for a valid test now, but 1 then (named"),
    ],
)
def test_what_the_plan_leaves_is_counted_as_below_the_plan(
    findings: Findings, monkeypatch: pytest.MonkeyPatch, then: tuple[str, ...], words: str
) -> None:
    """A place that is asked for only then is none of those that ask now."""
    pair = (Asked(("at A", "at B", "at C"), 0), Asked(then, 0))
    monkeypatch.setattr(Material, "asked", pair)
    supplement = Supplement(decision=findings.decision, pictures=())
    ((step, _),) = _beyond_plan(Material(findings.study, ReportOptions(), supplement), True)
    assert words in plain(step)


def test_steps_fill_page_one_as_far_as_its_words_leave_room(findings: Findings) -> None:
    """Two steps of four stood on a page a quarter empty; a page of many words keeps but some."""
    decision = dataclasses.replace(findings.decision, next_steps=("word " * 12,) * 30)
    material = Material(findings.study, ReportOptions(), Supplement(decision=decision, pictures=()))
    steps = [("word " * 12, "technician")] * 30
    shown = []
    for words in (100, 900, 2000):
        first, *_ = next_steps(material, steps, [Paragraph("x" * words), Bullets(("y" * 90,))])
        assert isinstance(first, Table)
        shown.append(len(first.rows))
    assert shown == [PAGE_LINES - 2, PAGE_LINES - 10, PAGE_LINES - 21]


def test_a_text_is_cut_between_clauses_never_within_an_abbreviation() -> None:
    """As the humidity "r. F." of German is one."""
    told = "Den Fühler beiderseits des Grenzwerts bei 75 bis 85 % r. F. prüfen, "
    shown = short(told * 4, "unter Ergebnis")
    assert not re.search(r"\br\.? …", shown)
    assert shown.endswith("(in full unter Ergebnis)")


def test_without_a_decision_nothing_is_decided(findings: Findings) -> None:
    """A scan alone says nothing about covering."""
    content = content_of(findings, decided=False)
    frame = next(b for b in content.sections[0].blocks if isinstance(b, Verdict))
    assert frame.headline == "May it be covered? No decision in this report"
    assert "Rules and whether they were kept" not in titles(content)
    assert "Depth profiles" not in titles(content)


def test_figures_and_tables_are_numbered_and_referred_to(findings: Findings) -> None:
    """Each number once, in order; every reference names one that is there."""
    content = content_of(findings)
    blocks = [block for section in content.sections for block in section.blocks]
    numbers = [block.number for block in blocks if isinstance(block, Table)]
    assert numbers == [f"Table {n}" for n in range(1, len(numbers) + 1)]
    keys = {block.key for block in blocks if isinstance(block, Table | Picture)}
    led = [key for one in words_of(blocks) for _, key in pieces(one) if key]
    assert led
    assert set(led) <= keys
    assert not [one for one in words_of(blocks) for words, _ in pieces(one) if OPEN in words]


def test_a_reference_to_what_is_not_there_disappears() -> None:
    """With the brackets round it, and without a trace of the mark."""
    section = Section("A", (Paragraph(f"Locate L1 ({refer('anomalies')})."),))
    (made,) = numbered([section])
    assert made.blocks[0].text == "Locate L1."  # type: ignore[union-attr]


def test_no_field_name_or_code_is_printed(findings: Findings) -> None:
    """Settings and records stand in words."""
    content = content_of(findings)
    for block in (block for one in content.sections for block in one.blocks):
        if isinstance(block, Table):
            cells = [cell for row in block.rows for cell in row]
            assert not [c for c in cells if "{" in c or re.fullmatch(r"[a-z]+_[a-z_]+", c)]


def test_a_summary_is_short(findings: Findings) -> None:
    """Page one, what was asked, what it cannot say, and lines to sign."""
    found = titles(content_of(findings, summary=True))
    assert found == ["In short", "What was asked", "What this report cannot say", "Limits of use"]
    said = words_of(list(content_of(findings, summary=True).sections[0].blocks))
    assert not [one for one in said if " of ," in one or "in ." in one]
    assert any("the technical report" in one for one in said)


def test_rooms_are_listed_where_there_are_several(flat: Study) -> None:
    """Verdict, share that reads wet, tests and holes of each."""
    content = compose(Material(flat, ReportOptions(), Supplement(pictures=())))
    table = tables(content)["Rooms"]
    assert [row[0] for row in table.rows] == [room.name for room in flat.survey.plan.rooms]
    bath = next(row for row in table.rows if row[0] == "bath")
    assert bath[2] == "no test judged"
    assert bath[6] == "A"
    room = flat.survey.plan.room("bath").polygon
    share = flat.zones.geometry.iat[0].intersection(room).area / room.area
    assert bath[4] == f"{share:.0%}"
    maybe = flat.wet.unsure.intersection(room).area / room.area
    assert maybe > 0
    assert bath[5] == f"{maybe:.0%}"


def test_every_column_has_a_heading(findings: Findings) -> None:
    """A screen reader says it before each cell (ISO 14289-1 7.5)."""
    for table in tables(content_of(findings)).values():
        assert all(column.title.strip() for column in table.columns), table.caption


def test_of_many_rooms_the_worst_stand_out_and_the_rest_is_one_row(
    flat: Study, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The row of the rest adds up, and is never called dry for a room without a wet level."""
    monkeypatch.setattr(room_table, "IN_SUMMARY", 4)
    options = ReportOptions(summary=True)
    table = tables(compose(Material(flat, options, Supplement(pictures=()))))["Rooms"]
    assert [row[0] for row in table.rows] == ["bath", "loft room", "3 other rooms"]
    others = [
        one.polygon for one in flat.survey.plan.rooms if one.name not in ("bath", "loft room")
    ]
    assert table.rows[-1][1] == f"{sum(one.area for one in others):.1f} m2"
    assert table.rows[-1][6] == "A"
    assert int(table.rows[-1][4].rstrip("%")) > 0
    monkeypatch.setattr(room_table, "IN_SUMMARY", 3)
    table = tables(compose(Material(flat, options, Supplement(pictures=()))))["Rooms"]
    assert [row[0] for row in table.rows] == ["loft room", "4 other rooms"]


def test_a_summary_names_every_room_whose_results_fail(
    flat: Study, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The room of the worst test stood in "56 other rooms", all of which it seemed to speak for."""
    monkeypatch.setattr(room_table, "IN_SUMMARY", 3)
    failing, against = ("living room", "hall", "loft room"), room_table.WORDS["against"]

    def tested(_: Material, rooms: list[Room]) -> tuple[str, int]:
        told = any(room.name in failing for room in rooms)
        return (against if told else room_table.NONE_JUDGED), 0

    monkeypatch.setattr(room_table, "_tested", tested)
    options = ReportOptions(summary=True)
    table = tables(compose(Material(flat, options, Supplement(pictures=()))))["Rooms"]
    assert {row[0] for row in table.rows} == {*failing, "2 other rooms"}
    assert table.rows[-1][2] == room_table.NONE_JUDGED


def test_a_room_reads_wet_where_no_zone_is_outlined(flat: Study) -> None:
    """What the map outlines above the level counts though it is too small to be a zone."""
    bare = dataclasses.replace(
        flat, wet=dataclasses.replace(flat.wet, zones=flat.wet.zones.iloc[:0])
    )
    table = tables(compose(Material(bare, ReportOptions(), Supplement(pictures=()))))["Rooms"]
    bath = next(row for row in table.rows if row[0] == "bath")
    assert bath[6] == "none"
    assert int(bath[4].rstrip("%")) > 0


def test_readings_stand_as_many_abreast_as_leaves_numbers_whole() -> None:
    """Four stacks of a small floor on A4, fewer where places are far or flags long."""
    columns = (Column("No.", 1, "right"), Column("x, y [m]", 1, "right"), Column("As read", 1))
    width = UPRIGHT["a4"][0]
    for row, most in (
        (("1263", "39.45, 10.65", "43.00, contested"), 4),
        (("12635", "1039.45, 1010.65", "1043.00, contested"), 3),
        (("1", "112' 10 3/4\", 110' 10 3/4\"", "43, contested"), 3),
        (("12635", "112' 10 3/4\", 110' 10 3/4\"", "1043.00, contested"), 2),
    ):
        assert _abreast(columns, [row] * 3, width) == most


def test_a_flag_that_would_break_below_its_value_is_a_letter(findings: Findings) -> None:
    """A value and "contested" took two lines; the note says what each letter means."""
    readings = findings.study.readings
    flagged = readings.assign(
        flag=["contested", "line", *["clear"] * (len(readings) - 2)],
        raw=[f"{one:.2f}" for one in readings["value"]],
    )
    for x, whole in ((0.0, False), (1000.0, True)):  # three abreast have room for the word
        moved = flagged.assign(x=flagged["x"] + 30.0 + x, y=flagged["y"] + 10.0 + x)
        study = dataclasses.replace(
            findings.study, found=dataclasses.replace(findings.study.found, readings=moved)
        )
        content = content_of(dataclasses.replace(findings, study=study))
        table = tables(content)["All 81 readings of visit v1"]
        cells = " ".join(cell for row in table.rows for cell in row)
        assert (f"{flagged['raw'][0]}, contested" in cells) == whole
        assert (
            f"{flagged['raw'][0]} c" in cells and "c: contested, l: line" in table.note
        ) != whole


def test_a_room_says_that_an_unjudged_result_counts_against_it(findings: Findings) -> None:
    """A result above the limit is not passed over because its record is poor."""
    assert findings.decision is not None
    room = findings.survey.plan.rooms[0]
    for told, expected in (("exceeds", "not judged, counts against"), ("", "no test judged")):
        tests = findings.decision.tests.assign(verdict="not judged", counts_against=told)
        decision = dataclasses.replace(findings.decision, tests=tests, spots=())
        assert judged_in(decision, room) == (expected, 0)
    met = [
        dataclasses.replace(one, verdict="meets", governs=True) for one in findings.decision.spots
    ]
    tests = findings.decision.tests.assign(verdict="not judged", counts_against="")
    decision = dataclasses.replace(findings.decision, tests=tests, spots=tuple(met))
    assert met  # a profile alone clears no room
    for one in findings.survey.plan.rooms:
        assert judged_in(decision, one) == ("no test judged", 0)


def test_what_another_meter_read_is_listed(findings: Findings) -> None:
    """It stands in no map; no value is lost for that."""
    known = findings.survey.readings
    second = known.head(3).assign(instrument="m9", raw=["711", "712", "713"])
    survey = dataclasses.replace(findings.survey, readings=pd.concat([known, second]))
    study = dataclasses.replace(findings.study, survey=survey)
    found = tables(content_of(dataclasses.replace(findings, study=study)))
    listed = found[f"Readings of m9 on visit {study.visit.id}, in no map"]
    assert {"711", "712", "713"} <= {cell for row in listed.rows for cell in row}


def test_the_uncertainty_of_a_probe_has_a_unit(findings: Findings) -> None:
    """1.5 of what is not left open: the certificate of a probe speaks of relative humidity."""
    rows = tables(content_of(findings))["Instruments"].rows
    stated = {one.id: one for one in findings.survey.instruments.values() if one.uncertainty}
    probes = [row for row in rows if row[0] in stated and stated[row[0]].kind == "rh-probe"]
    assert probes
    assert all(row[6].endswith(" %RH") for row in probes)


def test_page_one_says_what_the_map_leaves_out(findings: Findings) -> None:
    """Another meter and words for a number may tell of wet floor that no colour shows."""
    known = findings.survey.readings
    second = known.head(3).assign(instrument="m9")
    survey = dataclasses.replace(findings.survey, readings=pd.concat([known, second]))
    words = findings.study.readings.copy()
    words.loc[words.index[0], ["flag", "reason"]] = ["not-numeric", "'soaked' is no number"]
    found = dataclasses.replace(findings.study.found, readings=words)
    study = dataclasses.replace(findings.study, survey=survey, found=found)
    content = content_of(dataclasses.replace(findings, study=study))
    for title in ("In short", "Map of relative readings"):
        section = next(one for one in content.sections if one.title == title)
        said = " ".join(map(str, section.blocks))
        assert "3 readings of m9" in said
        assert "'soaked' is no number" in said


def test_a_room_without_a_wet_level_is_named_beside_both_maps(flat: Study) -> None:
    """It is coloured on the scale of another material, where pale does not mean dry."""
    (room,) = flat.unlevelled_rooms
    said = f"No wet level for {room}: no wet zone is drawn there, and wet floor may be unseen."
    content = compose(Material(flat, supplement=Supplement(pictures=())))
    assert said in " ".join(map(str, content.sections[0].blocks))
    for brief in (True, False):
        shown = map_figure(flat, MapOptions(brief=brief)).findobj(Text)
        assert said in " ".join(" ".join(one.get_text() for one in shown).split())


def test_the_drawings_of_a_set_out_are_named_by_number(flat: Study) -> None:
    """They may stand on the next sheet, so the section says which of the figures they are."""
    content = compose(Material(flat))
    section = next(one for one in content.sections if one.title == "Set-out")
    pictures = [one for one in section.blocks if isinstance(one, Picture)]
    words = plain(" ".join(one.text for one in section.blocks if isinstance(one, Paragraph)))
    assert len(pictures) > 1
    assert f"{pictures[0].number} to {pictures[-1].number} show" in words


def test_cleared_cautions_are_named_and_not_asked_for_again(findings: Findings) -> None:
    """By whom, on what day, by which document; page one then sends to the test alone."""
    given = {"by": "B. Stone", "on": "2026-03-03", "document": "permit 12"}
    cautions = findings.study.drilling.cautions
    seen = {}
    for cleared in (cautions, cautions[1:]):
        clearances = dict.fromkeys(cleared, given)
        supplement = Supplement(pictures=(), clearances=clearances)
        seen[len(cleared)] = tables(compose(Material(findings.study, supplement=supplement)))
    for count, found in seen.items():
        rows = found["Cautions to clear"].rows
        assert sum(row[2:] == ("B. Stone", "2026-03-03", "permit 12") for row in rows) == count
        assert sum(row[0] == "☐" for row in rows) == len(cautions) - count
    steps = {
        count: " ".join(row[1] for row in one["What to do next, and by whom"].rows)
        for count, one in seen.items()
    }
    assert "Clear every caution" in steps[len(cautions) - 1]
    assert "Clear every caution" not in steps[len(cautions)]
    assert "are cleared for them" in steps[len(cautions)]


def test_sections_appear_only_when_their_data_exist(findings: Findings) -> None:
    """No tests, no photographs, no notes: no such sections."""
    full = titles(content_of(findings))
    survey = dataclasses.replace(findings.survey, tests=findings.survey.tests.head(0), notes=())
    bare = dataclasses.replace(findings.study, survey=survey)
    found = titles(content_of(dataclasses.replace(findings, study=bare), decided=False))
    assert "Calibrated tests" in full
    assert "Calibrated tests" not in found
    assert "Photographs" not in full


def test_what_the_report_cannot_say_is_always_there(findings: Findings) -> None:
    """With and without tests and decision."""
    for decided in (True, False):
        assert "What this report cannot say" in titles(content_of(findings, decided))


def test_sections_and_appendices_are_numbered(findings: Findings) -> None:
    """Sections by number, appendices by letter."""
    numbers = [section.number for section in content_of(findings).sections]
    assert numbers[-3:] == ["A", "B", "C"]
    assert numbers[:-3] == [str(n) for n in range(1, len(numbers) - 2)]


def test_a_relative_reading_is_never_a_moisture_content(findings: Findings) -> None:
    """Tables of readings, zones and holes hold no unit of moisture and say what they are."""
    found = tables(content_of(findings))
    for caption, table in found.items():
        if caption.startswith(("Wet zones", "Proposed holes", "All ", "Readings set")):
            assert "%" not in "".join(column.title for column in table.columns)
            assert "moisture" not in "".join(column.title for column in table.columns)
    assert "relative" in found["Wet zones"].note
    assert "not a moisture content" in found["Proposed holes"].note


def test_nothing_is_called_safe_or_passed(findings: Findings) -> None:
    """Words that would promise too much."""
    for decided in (True, False):
        said = texts(content_of(findings, decided)).lower()
        assert " safe" not in said
        assert "proved dry" not in said


def test_every_reading_stands_in_the_appendix(findings: Findings) -> None:
    """Those set aside with their reason, and all of them as read."""
    content = content_of(findings)
    readings = findings.study.readings
    aside = readings[~readings["flag"].isin(USED_FLAGS)]
    rows = tables(content)["Readings set aside, and why"].rows
    assert [row[0] for row in rows] == [str(one) for one in aside["reading"]]
    assert all(row[5] for row in rows)
    every = next(t for caption, t in tables(content).items() if caption.startswith("All "))
    listed = [row[at] for row in every.rows for at in (0, 3, 6, 9) if row[at]]
    assert listed == [str(one) for one in readings["reading"]]
    assert all(len(row) == len(every.columns) for row in every.rows)


def test_records_without_a_column_stand_with_the_note(findings: Findings) -> None:
    """Whatever was recorded of a test is in the report."""
    tests = findings.survey.tests.assign(drift_pct=0.4, photo="IMG-7")
    survey = dataclasses.replace(findings.survey, tests=tests)
    study = dataclasses.replace(findings.study, survey=survey)
    content = content_of(dataclasses.replace(findings, study=study))
    terms = [block for one in content.sections for block in one.blocks if isinstance(block, Terms)]
    further = [row for block in terms for row in block.rows if row[0].startswith("Further records")]
    assert further[0][1] == "drift of the last reading in %RH: 0.4; photo IMG-7"


def test_a_column_nobody_filled_is_left_out_and_named(findings: Findings) -> None:
    """An empty column takes room from the others, but its absence is a finding."""
    tests = findings.survey.tests.assign(instrument="")
    survey = dataclasses.replace(findings.survey, tests=tests)
    study = dataclasses.replace(findings.study, survey=survey)
    table = tables(content_of(dataclasses.replace(findings, study=study)))["Tests as recorded"]
    assert "Instrument" not in [column.title for column in table.columns]
    assert "Not recorded for any test" in table.note
    assert "instrument" in table.note


def test_the_appendix_can_be_left_out(findings: Findings) -> None:
    """It then says where the readings are."""
    content = content_of(findings, all_readings=False)
    assert "not listed here" in texts(content)


def test_the_head_of_the_record_is_printed(recorded: Findings, findings: Findings) -> None:
    """With what it proves and what not; not for a survey without a record."""
    content = content_of(recorded)
    assert ("Record of changes", "entry 12, " + "cd" * 8) in content.about
    assert f"entry 12, {'cd' * 32}" in texts(content)
    assert "does not show that a value was measured rightly" in texts(content)
    assert "Record of changes" not in dict(content_of(findings).about)


def test_a_stranger_finds_all_it_takes_to_do_it_again(findings: Findings) -> None:
    """Corners of rooms, fingerprints of files, versions, options, set-out of holes."""
    content = content_of(findings)
    said = texts(content)
    corners = said.replace("\\xa0", " ").replace("\xa0", " ")
    assert "ab" * 32 in said
    assert "'numpy" in said.replace("numpy ", "'numpy ")
    assert (
        "(0 / 0) (0 / 4) (5 / 4) (5 / 0)" in corners or "(5 / 0) (5 / 4) (0 / 4) (0 / 0)" in corners
    )
    rows = tables(content)["Proposed holes"].rows
    assert [row[0] for row in rows] == list(findings.study.drill_plan["hole"])
    assert all("wall" in row[6] for row in rows)


def test_readings_are_listed_across_so_that_each_sheet_has_them_in_order(
    findings: Findings,
) -> None:
    """Down stacks over several sheets each held the 1st, 140th, 279th and 418th of 553."""
    table = tables(content_of(findings))["All 81 readings of visit v1"]
    names = [name for row in table.rows for name in row[::3] if name]
    assert names == [str(one) for one in findings.study.readings["reading"]]
    assert all(len(row) == len(table.columns) for row in table.rows)


def test_visits_whose_readings_are_not_listed_are_named_at_once() -> None:
    """The same sentence stood there for each of three visits."""
    (said,) = _not_listed({"v2": 20, "v3": 22})
    assert isinstance(said, Paragraph)
    assert said.text.startswith("The 42 readings of visits v2, v3 are not listed here")
    assert not list(_not_listed({}))


def test_how_a_tape_is_held_and_why_holes_spread_is_said_once(findings: Findings) -> None:
    """Twenty-three rows said how, and twelve holes each that they span the range of the scan."""
    plan = findings.study.drilling
    assert any(HELD.search(str(one)) for one in plan.holes["set_out"])
    spread = "Reads about 30, higher than {} of the floor: fills the range of the scan so that "
    whys = [spread.format(f"{7 * at}%") + "tests can be related to it." for at in (2, 5)]
    holes = plan.holes.iloc[[0, 0, 0]].assign(
        hole=["H1", "H2", "H3"], why=[*whys, "Another."], purpose=["calibration"] * 2 + ["zone"]
    )
    drilled = dataclasses.replace(plan, holes=holes)
    study = dataclasses.replace(findings.study, drilling=drilled)
    section = drilling.holes(Material(study, ReportOptions(), Supplement(pictures=())))
    assert section is not None
    table = next(one for one in section.blocks if isinstance(one, Table))
    assert all("tape" not in row[6] for row in table.rows)
    assert "tape held square to each wall" in table.note
    told = dict(next(one for one in section.blocks if isinstance(one, Terms)).rows)
    assert "than on 14%, 35% of the floor, in this order" in told["H1, H2"]
    assert told["H3"] == "Another."


def test_cautions_have_room_to_sign(findings: Findings) -> None:
    """One line each, with a box, name, date and document."""
    table = tables(content_of(findings))["Cautions to clear"]
    assert len(table.rows) == len(findings.study.drilling.cautions)
    assert {row[0] for row in table.rows} == {"☐"}
    assert [column.title for column in table.columns][2:] == ["Name", "Date", "Document"]


def test_us_units_reach_every_table(findings: Findings) -> None:
    """Feet, inches and Fahrenheit; the corners stay in the metres of the plan."""
    content = content_of(findings, units="us", dates="mdy")
    found = tables(content)
    assert "[ft2]" in found["Wet zones"].columns[3].title
    assert all("in" in row[3] for row in found["Proposed holes"].rows)
    assert "°F" in str(found["Conditions on the visits"].rows)
    assert "March 1, 2026" in str(found["Conditions on the visits"].rows)


def test_the_title_block_is_the_users(findings: Findings) -> None:
    """Own title, number and lines."""
    content = content_of(findings, title="Own", number="R-7", title_block={"Author": "N. Body"})
    assert (content.title, content.number) == ("Own", "R-7")
    assert ("Author", "N. Body") in content.about


def test_the_number_follows_from_what_the_report_is_made_of(
    findings: Findings, recorded: Findings
) -> None:
    """The same data give the same number, other data another."""
    one, same, other = (content_of(f).number for f in (findings, findings, recorded))
    assert one == same != other


@pytest.mark.parametrize("decided", [True, False])
def test_every_row_fits_its_table(findings: Findings, decided: bool) -> None:
    """As many cells as columns, all of them text."""
    for table in tables(content_of(findings, decided)).values():
        for row in table.rows:
            assert len(row) == len(table.columns)
            assert all(isinstance(cell, str) for cell in row)


def test_terms_and_tables_are_never_empty(findings: Findings) -> None:
    """No heading stands without what it announces."""
    for section in content_of(findings).sections:
        assert section.blocks
        for block in section.blocks:
            if isinstance(block, (Table, Terms)):
                assert block.rows


def test_drying_is_told_with_what_it_is_not(two_visits: DryingPlan) -> None:
    """Statements, forecasts and anomalies over the visits; machines with cautions to sign."""
    study = two_visits.comparison.latest
    supplement = Supplement(drying=two_visits, pictures=())
    content = compose(Material(study, ReportOptions(), supplement))
    assert "Drying over the visits" in titles(content)
    assert "Drying machines" in titles(content)
    said = texts(content)
    assert all(statement in said for statement in two_visits.comparison.drying.statements)
    us = Units("us")
    counted = next(one for one in two_visits.comparison.drying.statements if "smallest" in one)
    for one in two_visits.comparison.drying.wet_areas:  # as figures and charts have them
        assert f"{one.visit} {us.area(one.area_m2)} (" in us.sentence(counted)
    assert "not changes of a moisture content" in said
    assert {"All 81 readings of visit v1", "All 81 readings of visit v2"} <= set(tables(content))
    assert two_visits.equipment is not None
    found = tables(content)
    assert len(found["Machines"].rows) == len(two_visits.equipment.placement.moves)
    assert {row[0] for row in found["Before machines are moved"].rows} == {"☐"}


def test_one_visit_tells_nothing_of_drying(findings: Findings) -> None:
    """No comparison, no section."""
    assert "Drying over the visits" not in titles(content_of(findings))


def test_a_zone_says_whether_it_is_contested(findings: Findings) -> None:
    """In a column of its own, with what the word means."""
    table = tables(content_of(findings))["Wet zones"]
    at = [one.title for one in table.columns].index("Standing")
    assert [row[at] for row in table.rows] == list(findings.study.zones["standing"])
    assert ("Contested" in table.note) == ("contested" in set(findings.study.zones["standing"]))


def test_tests_of_one_reason_stand_in_one_row(findings: Findings) -> None:
    """A hole read at several depths is told apart by depth and day, the reason said once."""
    rows = tables(content_of(findings))["Tests that do not speak for the floor"].rows
    reasons = [row[2] for row in rows]
    assert len(set(reasons)) == len(reasons)
    told = " ".join(row[0] for row in rows)
    assert findings.decision is not None
    unjudged = [test for test in findings.decision.judged if not test.judged]
    assert unjudged
    assert all(f"{test.entry.hole} at" in told for test in unjudged)


def test_a_floor_in_feet_is_told_in_feet_unless_another_language_is_asked_for(
    findings: Findings,
) -> None:
    """In English as measured; other languages are metric; what is asked for goes first."""
    survey = dataclasses.replace(findings.study.survey, units="us")
    study = dataclasses.replace(findings.study, survey=survey)
    for options, us in (
        (ReportOptions(), True),
        (ReportOptions(units="metric"), False),
        (ReportOptions(language="de"), False),
        (ReportOptions(language="de", units="us"), True),
    ):
        assert Material(study, options).wording.us is us


def test_a_drawing_that_floats_is_named_by_its_number(findings: Findings) -> None:
    """The words of a section say which figure they mean, wherever the page sets it."""
    content = compose(Material(findings.study, supplement=Supplement(decision=findings.decision)))
    for title in ("Set-out", "Check of the map"):
        (section,) = [one for one in content.sections if one.title == title]
        floating = [one for one in section.blocks if isinstance(one, Picture)]
        words = plain(" ".join(b.text for b in section.blocks if isinstance(b, Paragraph)))
        assert all(one.number in words for one in floating), title
