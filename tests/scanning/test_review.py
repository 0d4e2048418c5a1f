"""Each fault a careful colleague would see is remarked where it is, and only there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache

import numpy as np
import pandas as pd
import pytest
from shapely.geometry import Polygon, box

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.scanning import (
    LEVELS,
    LayoutOptions,
    Remark,
    frame_doubt,
    lay_out,
    left_rows,
    review,
)
from moisturemap.survey import (
    READING_COLUMNS,
    Instrument,
    InstrumentCheck,
    ScanSettings,
    Survey,
    Visit,
    clean_readings,
)

START = datetime(2026, 3, 4, 9, tzinfo=UTC)
HALL = Polygon([(0, 0), (9, 0), (9, 4), (5, 4), (5, 7), (0, 7)])
PLAN = FloorPlan((Room("hall", HALL), Room("store", box(9.2, 0, 12, 4))))


def good_survey() -> Survey:
    """Return a survey without a fault: laid out, repeated, checked, with a dry reference."""
    places = lay_out(PLAN, LayoutOptions(spacing=0.5, edge=False, repeats=12)).places
    x, y = places["x"].to_numpy(), places["y"].to_numpy()
    rng = np.random.default_rng(11)
    field = 40 + 25 * np.exp(-((x - 1.5) ** 2 + (y - 1.2) ** 2) / 3) + 1.5 * x - 0.8 * y
    again = (places["purpose"] == "repeat").to_numpy()
    frame = pd.DataFrame(
        {
            "reading": np.arange(1, len(places) + 1),
            "visit": "v1",
            "instrument": "meter",
            "x": x,
            "y": y,
            "value": np.round(field + rng.normal(0, 1, len(x))),
            "raw": "",
            "censored": "",
            "room": places["room"].to_numpy(),
            "label": "",
            "repeat": np.where(again, 2, 1),
            "time": pd.to_datetime([START + timedelta(seconds=12 * k) for k in range(len(x))]),
            "note": "",
            "source": "scan.csv",
            "row": [str(k + 2) for k in range(len(x))],
        }
    )
    check = InstrumentCheck(START - timedelta(minutes=5), "check-block", 50.0, 50.0)
    meter = Instrument("meter", scale=(0.0, 200.0), serial="7", checks=(check,))
    visit = Visit("v1", START, "A. Operator", 20.0, 50.0, 18.0)
    return Survey(
        "good",
        PLAN,
        {"meter": meter},
        (visit,),
        frame[list(READING_COLUMNS)],
        scan=ScanSettings(dry_reference=(35.0, 37.0, 36.0)),
    )


GOOD = good_survey()


def remarks_on(survey: Survey) -> tuple[Remark, ...]:
    return review(survey, clean_readings(survey))


@cache
def remarks_on_the_good_one() -> tuple[Remark, ...]:
    return remarks_on(GOOD)


def with_rows(change: Callable[[pd.DataFrame], pd.DataFrame | None]) -> Survey:
    frame = GOOD.readings.copy()
    changed = change(frame)
    return replace(GOOD, readings=frame if changed is None else changed)


def with_meter(**changed: object) -> Survey:
    return replace(GOOD, instruments={"meter": replace(GOOD.instruments["meter"], **changed)})


def another_visit(later: timedelta) -> Survey:
    """Return the survey with a visit before it that read the same places."""
    both = pd.concat([GOOD.readings.assign(visit="v0"), GOOD.readings], ignore_index=True)
    visits = (replace(GOOD.visits[0], id="v0", started=START + later), *GOOD.visits)
    return replace(GOOD, readings=both, visits=visits)


def grid_row(frame: pd.DataFrame, axis: str, at: float) -> pd.Index:
    """Return the first readings of a row of the hall, in order along it."""
    other = "x" if axis == "y" else "y"
    mine = (frame[axis].round(2) == at) & (frame["room"] == "hall") & (frame["repeat"] == 1)
    return frame[mine].sort_values(other).index


def turn(frame: pd.DataFrame, rows: list[float]) -> None:
    for at in rows:
        row = grid_row(frame, "y", at)
        frame.loc[row, "value"] = frame.loc[row, "value"].to_numpy()[::-1]


def shift(frame: pd.DataFrame) -> None:
    row = grid_row(frame, "y", 1.25)
    values = frame.loc[row, "value"].to_numpy()
    frame.loc[row, "value"] = np.concatenate([values[:3], values[:-3]])


def test_a_good_survey_earns_information_only() -> None:
    """Nothing to put right; what the grid can miss is still said."""
    remarks = remarks_on_the_good_one()
    assert [remark for remark in remarks if remark.level != "info"] == []
    assert any("missed with a chance" in remark.sentence for remark in remarks)


FAULTS: dict[str, tuple[Callable[[], Survey], str, str]] = {
    "room left out": (
        lambda: with_rows(lambda f: f[f["room"] != "store"]),
        "problem",
        "No reading was taken in store",
    ),
    "room hardly read": (
        lambda: with_rows(lambda f: f[(f["room"] != "store") | (f["x"] < 9.8) & (f["y"] < 1)]),
        "warning",
        "Only 2 places were read in store",
    ),
    "gap": (
        lambda: with_rows(lambda f: f[np.hypot(f["x"] - 3, f["y"] - 3.5) > 0.9]),
        "warning",
        "Gap in hall: no reading within",
    ),
    "walls left out": (
        lambda: with_rows(lambda f: f[PLAN_CORE(f)]),
        "warning",
        "of the walls of hall no reading",
    ),
    "x and y swapped": (
        lambda: with_rows(lambda f: f.rename(columns={"x": "y", "y": "x"})),
        "problem",
        "with x and y swapped",
    ),
    "mirrored": (
        lambda: with_rows(lambda f: f.assign(x=12 - f["x"])),
        "problem",
        "x counted from the other end",
    ),
    "feet read as metres": (
        lambda: with_rows(lambda f: f.assign(x=f["x"] / 0.3048, y=f["y"] / 0.3048)),
        "problem",
        "as feet",
    ),
    "millimetres": (
        lambda: with_rows(lambda f: f.assign(x=f["x"] * 1000, y=f["y"] * 1000)),
        "problem",
        "as millimetres",
    ),
    "one row turned": (
        lambda: with_rows(lambda f: turn(f, [1.25])),
        "warning",
        "y = 1.25 m seems to be entered the wrong way round",
    ),
    "every second row turned": (
        lambda: with_rows(lambda f: turn(f, list(np.arange(0.25, 7, 1.0)))),
        "problem",
        "Every second row of constant y",
    ),
    "out of scale": (
        lambda: with_rows(lambda f: f.assign(value=f["value"].where(f.index != 7, 950))),
        "problem",
        "1 reading is above the end of the scale and mapped as full scale",
    ),
    "off the plan": (
        lambda: with_rows(lambda f: f.assign(x=f["x"].where(f.index != 7, 30.0))),
        "problem",
        "1 reading lies outside every room",
    ),
    "copied row": (
        lambda: with_rows(lambda f: pd.concat([f, f.iloc[[3]]], ignore_index=True)),
        "warning",
        "1 reading copies an earlier row and was left out",
    ),
    "much at full scale": (
        lambda: with_rows(lambda f: f.assign(value=f["value"] + 148)),
        "warning",
        "stand at full scale",
    ),
    "no repeats": (
        lambda: with_rows(lambda f: f[f["repeat"] == 1]),
        "warning",
        "No place was read twice",
    ),
    "drift": (
        lambda: with_rows(lambda f: f.assign(value=f["value"] + 6 * (f["repeat"] == 2))),
        "warning",
        "drifted during the scan",
    ),
    "another day": (
        lambda: with_rows(lambda f: f.assign(time=f["time"] + pd.Timedelta(days=3))),
        "warning",
        "more than a day from the start",
    ),
    "stuck meter": (
        lambda: with_rows(lambda f: f.assign(value=40.0)),
        "problem",
        "All readings are 40",
    ),
    "few readings": (
        lambda: with_rows(lambda f: f.iloc[:12]),
        "warning",
        "Only 12 places were read",
    ),
    "no check": (lambda: with_meter(checks=()), "warning", "No check of meter"),
    "old check": (
        lambda: with_meter(checks=(InstrumentCheck(START - timedelta(days=9), "block", 5.0),)),
        "warning",
        "not within a day",
    ),
    "no scale": (lambda: with_meter(scale=None), "warning", "scale of meter is not stated"),
    "no serial": (lambda: with_meter(serial=""), "info", "serial number"),
    "no dry reference": (lambda: replace(GOOD, scan=ScanSettings()), "warning", "known to be dry"),
    "wet dry reference": (
        lambda: replace(GOOD, scan=ScanSettings(dry_reference=(90.0, 92.0))),
        "warning",
        "above half of the floor",
    ),
    "no air": (lambda: replace(GOOD, visits=(Visit("v1", START),)), "info", "air temperature"),
    "two visits at one time": (
        lambda: another_visit(timedelta(0)),
        "warning",
        "v1 and v0 began at the same time",
    ),
    "a visit of another year": (
        lambda: another_visit(timedelta(days=-365)),
        "warning",
        "lies nine months or more from v0 of 2025-03-04: is each year right?",
    ),
    "no times": (lambda: with_rows(lambda f: f.assign(time=pd.NaT)), "info", "carry no time"),
}


def PLAN_CORE(frame: pd.DataFrame) -> pd.Series:
    """Return which readings of the hall stand more than a metre from its walls, and the rest."""
    core = frame["x"].between(1, 8) & frame["y"].between(1, 3) | (frame["room"] != "hall")
    return core | frame["x"].between(1, 4) & frame["y"].between(1, 6)


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_remarked_and_a_good_survey_is_not_accused_of_it(fault: str) -> None:
    """The remark appears with the fault and not without."""
    spoil, level, sentence = FAULTS[fault]
    remarks = remarks_on(spoil())
    found = [remark for remark in remarks if sentence in remark.sentence]
    assert found, [remark.sentence for remark in remarks]
    assert found[0].level == level
    assert not any(sentence in remark.sentence for remark in remarks_on_the_good_one())


def test_the_most_serious_remark_comes_first() -> None:
    """Problems, then warnings, then information."""
    levels = [LEVELS.index(r.level) for r in remarks_on(FAULTS["mirrored"][0]())]
    assert levels == sorted(levels)


def test_a_row_three_places_too_far_is_found_where_the_floor_has_shape() -> None:
    """A shift is only seen against a field that changes along the row."""
    from moisturemap.scanning.row_order import remarks_on_row_order

    x, y = np.meshgrid(np.arange(16) * 0.5, np.arange(10) * 0.5)
    value = 50 + 20 * np.sin(2.2 * x) + np.random.default_rng(2).normal(0, 1, x.shape)
    spots = pd.DataFrame({"x": x.ravel(), "y": y.ravel(), "value": value.ravel(), "room": ""})
    assert remarks_on_row_order(spots) == []
    value[4, 1:] = value[4, :-1].copy()
    spots["value"] = value.ravel()
    remarks = remarks_on_row_order(spots)
    assert [remark.place for remark in remarks] == ["y = 2 m"]
    assert "one place too" in remarks[0].sentence


def test_a_pipe_that_runs_askew_does_not_look_like_a_shifted_row() -> None:
    """Each row agrees with one neighbour when moved, never with both."""
    from moisturemap.scanning.row_order import remarks_on_row_order

    x, y = np.meshgrid(np.arange(16) * 0.5, np.arange(12) * 0.5)
    pipe = 30 * np.exp(-((x - y - 1) ** 2) / 0.1)
    value = 40 + pipe + np.random.default_rng(3).normal(0, 1, x.shape)
    spots = pd.DataFrame({"x": x.ravel(), "y": y.ravel(), "value": value.ravel(), "room": ""})
    assert remarks_on_row_order(spots) == []


def test_clean_invented_floors_are_not_accused_of_turned_rows() -> None:
    """Floors with plumes and pipes, five seeds each."""
    from moisturemap.scanning.row_order import remarks_on_row_order
    from moisturemap.synthetic import FloorRecipe, make_floor

    for recipe in (
        FloorRecipe(plumes=("edge",), spacing=0.4),
        FloorRecipe(outline="columns", pipes=2, spacing=0.5),
    ):
        for seed in range(5):
            clean = clean_readings(make_floor(recipe, seed).survey)
            assert remarks_on_row_order(clean.locations) == []


def test_readings_far_off_the_plan_are_not_taken_for_millimetres():
    """Anything divided by a thousand falls into a corner of the plan; that is no finding."""
    survey = with_rows(lambda frame: frame.assign(x=frame["x"] + 50.0))
    assert not any("another frame" in remark.sentence for remark in remarks_on(survey))


def _grid(plan: FloorPlan, scale: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    places = lay_out(plan, LayoutOptions(spacing=0.5, edge=False, repeats=0)).places
    return places[["x", "y"]].to_numpy() * scale, np.full(len(places), "", dtype=object)


def test_metres_taken_as_feet_fill_a_corner_and_are_doubted() -> None:
    """All of them lie on the plan, so that nothing but what they reach over tells."""
    doubt = frame_doubt(*_grid(PLAN, 0.3048), PLAN)
    assert doubt is not None
    assert "as metres instead of feet, 100% of them lie on the plan" in doubt[1]
    assert frame_doubt(*_grid(PLAN), PLAN) is None


def test_feet_taken_as_metres_and_inches_as_feet_are_named() -> None:
    """Most of them lie off the plan."""
    for scale, name in (
        (1 / 0.3048, "as feet"),
        (12, "as inches instead of feet"),
        (100, "as cent"),
    ):
        doubt = frame_doubt(*_grid(PLAN, scale), PLAN)
        assert doubt is not None
        assert f"another frame: {name}" in doubt[1]


def test_readings_of_one_room_or_one_row_are_no_corner() -> None:
    """A small room of a large plan was read as a whole, or one row of a sweep."""
    small = FloorPlan((Room("cell", box(0, 0, 2.4, 2.4)), Room("hall", box(2.5, 0, 10, 10))))
    cell = FloorPlan(small.rooms[:1])
    assert frame_doubt(*_grid(cell), small) is None
    row = np.column_stack([np.linspace(1, 2, 9), np.full(9, 1.0)])
    assert frame_doubt(row, np.full(9, "", dtype=object), PLAN) is None


def test_a_row_left_out_of_a_grid_is_told() -> None:
    """Its neighbours stand one spacing off, so no empty circle is wide enough to be a gap."""
    x, y = (part.ravel() for part in np.meshgrid(np.arange(0.25, 8, 0.8), np.arange(0.25, 6, 0.8)))
    grid = pd.DataFrame({"x": x, "y": y, "value": 30.0})
    one = FloorPlan((Room("hall", box(0, 0, 8, 6)),))
    assert left_rows(grid, one) == ()
    (told,) = left_rows(grid[(grid["y"] - 3.45).abs() > 0.1], one)
    assert "row of y 3.45 m, 8.0 m long" in told
    (told,) = left_rows(grid[(grid["x"] - 4.25).abs() > 0.1], one)
    assert "row of x 4.25 m" in told
    walled = FloorPlan((Room("hall", box(0, 0, 8, 3)), Room("store", box(0, 3.9, 8, 6))))
    assert left_rows(grid[(grid["y"] - 3.45).abs() > 0.1], walled) == ()
    scattered = grid.assign(y=grid["y"] + np.random.default_rng(1).uniform(-0.4, 0.4, len(grid)))
    assert left_rows(scattered, one) == ()
