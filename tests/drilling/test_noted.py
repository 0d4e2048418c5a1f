"""What a drawing notes of the floor below counts as a note of the scan does."""

from __future__ import annotations

import pandas as pd
import pytest
from shapely.geometry import Point, box

from moisturemap.drilling.clearance import KNOWN_SERVICE_M
from moisturemap.drilling.noted import (
    noted_obstacles,
    noted_on,
    noted_warnings,
    notes_of,
    told_without_place,
)
from moisturemap.drilling.options import DrillOptions
from moisturemap.floorplan import FloorPlan, PlanLine, Room
from moisturemap.survey import Survey, Visit


def test_a_text_of_the_drawing_is_kept_clear_of_as_a_service_and_told() -> None:
    """An area to keep clear is no text, and stays as it is."""
    lines = (
        PlanLine("keep-clear", Point(2, 5), "PT tendon here"),
        PlanLine("keep-clear", box(0, 0, 1, 1), "stairs"),
    )
    noted = noted_on(FloorPlan((Room("hall", box(0, 0, 8, 6)),), lines))
    assert noted == [(2.0, 5.0, "PT tendon here")]
    (kept,) = noted_obstacles(noted, DrillOptions())
    assert kept.embedded
    assert kept.clearance >= KNOWN_SERVICE_M
    (told,) = noted_warnings(noted, [])
    assert "'PT tendon here' at x 2.00 m, y 5.00 m" in told


def noted_floor(*notes: str, tests: str = "", **more: object) -> Survey:
    """Forty places read, the first with notes, and a test with one."""
    rows = [{"x": float(k), "y": 1.0, "note": note} for k, note in enumerate(notes)]
    rows += [{"x": float(k), "y": 1.0, "note": ""} for k in range(len(notes), 40)]
    plan = FloorPlan((Room("hall", box(0, 0, 40, 6)),))
    test = pd.DataFrame([{"x": 3.0, "y": 3.0, "note": tests, "hole": "H1"}])
    given = {"name": "Invented", "plan": plan, "instruments": {}, "visits": (Visit("v1"),), **more}
    return Survey(readings=pd.DataFrame(rows), tests=test, **given)


@pytest.mark.parametrize("note", ["foul", "svp", "lecky", "GPR hit", "15mm cu", "busbar", "X", "?"])
def test_a_word_nobody_knows_is_kept_clear_of(note: str) -> None:
    """It may name a service: no list of their names is ever complete."""
    found = notes_of(noted_floor(note))
    assert [one[2] for one in (*found.services, *found.unknown)] == [note]
    told = noted_warnings(found.services, found.unknown)
    assert f"{note!r} at x 0.00 m, y 1.00 m" in told[0]


@pytest.mark.parametrize(
    "note", ["by the door", "wet to touch", "foul (cleared: A. B., 2026-03-02)"]
)
def test_a_note_known_to_be_harmless_is_not(note: str) -> None:
    """Nor one that tells of wet floor, nor one that somebody cleared up by name and day."""
    found = notes_of(noted_floor(note))
    assert (found.services, found.unknown) == ([], [])


def test_a_remark_beside_most_readings_is_no_place_to_keep_clear_of() -> None:
    """A remark of the walk would leave no place for a hole."""
    found = notes_of(noted_floor(*["rough"] * 30, "foul"))
    assert [one[2] for one in found.unknown] == ["foul"]
    assert len(found.others) == 30


def test_what_a_test_met_is_told_at_its_place() -> None:
    """A note of what the drill met counts as one of the scan does."""
    found = notes_of(noted_floor(tests="hit pipe at 40 mm, abandoned"))
    assert found.services == [(3.0, 3.0, "hit pipe at 40 mm, abandoned")]


def test_notes_without_a_place_are_told_before_any_drilling() -> None:
    """Of visits and of the survey; of files beside it that nobody read, too."""
    visit = Visit("v1", note="gas main under floor along east wall, 1 m off")
    said = told_without_place(
        noted_floor(
            visits=(visit, Visit("v2", note="doors shut")),
            details={"note": "post-tensioned slab"},
            notes=("services.csv lies beside the survey and is not named in it, so it was not.",),
        )
    )
    assert [one[:25] for one in said] == [
        "services.csv lies beside ",
        "Noted on v1: 'gas main un",
        "Noted of the survey: 'pos",
    ]
