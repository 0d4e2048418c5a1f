"""Cleaning sets aside what is unfit, with the reason, and keeps every row."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from shapely.geometry import box

from moisturemap.errors import NotEnoughData, SurveyError
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import READING_COLUMNS, Instrument, Survey, Visit, clean_readings

PLAN = FloorPlan((Room("hall", box(0, 0, 4, 3)), Room("store", box(4.2, 0, 6, 3))))
METER = Instrument("meter", scale=(0.0, 100.0))


def survey(*rows: dict[str, Any], meters: tuple[Instrument, ...] = (METER,)) -> Survey:
    """Return a survey of one visit with the rows, blanks filled in."""
    whole = []
    for number, row in enumerate(rows, start=1):
        blank = {
            "reading": number,
            "visit": "v1",
            "instrument": "meter",
            "x": 1.0,
            "y": 1.0,
            "value": 40.0,
            "censored": "",
            "room": "",
            "label": "",
            "repeat": 0,
            "time": pd.NaT,
            "note": "",
            "source": "a.csv",
            "row": str(number + 1),
        }
        raw = row.get("raw", f"{row.get('value', 40.0):g}")
        whole.append({**blank, "raw": raw, **row})
    frame = pd.DataFrame(whole)
    frame["time"] = pd.to_datetime(frame["time"], utc=True)
    return Survey(
        "test", PLAN, {one.id: one for one in meters}, (Visit("v1"),), frame[list(READING_COLUMNS)]
    )


def flags(given: Survey, **options: Any) -> list[str]:
    return list(clean_readings(given, **options).readings["flag"])


def test_a_plain_reading_is_clear_and_knows_its_room_and_domain() -> None:
    """Two rooms 0.2 m apart on one slab are one domain."""
    clean = clean_readings(survey({}, {"x": 5.0}))
    assert clean.readings["flag"].tolist() == ["clear", "clear"]
    assert clean.readings["reason"].tolist() == ["", ""]
    assert clean.readings["room"].tolist() == ["hall", "store"]
    assert clean.readings["domain"].nunique() == 1


def test_a_reading_off_the_plan_is_set_aside_with_its_distance() -> None:
    """Two metres beyond the end of the store."""
    clean = clean_readings(survey({}, {"x": 8.0}))
    assert clean.readings["flag"].tolist() == ["clear", "off-plan"]
    assert "2.00 m outside" in clean.readings["reason"].iloc[1]
    assert clean.readings["location"].tolist() == [0, -1]


def test_a_reading_just_outside_is_moved_onto_the_edge_and_counted() -> None:
    """Four centimetres are within what plan and tape agree."""
    clean = clean_readings(survey({"x": -0.04}, {"x": -0.06, "y": 2.0}))
    assert clean.readings["flag"].tolist() == ["clear", "off-plan"]
    assert PLAN.rooms[0].polygon.covers(clean.readings.geometry.iloc[0])
    assert any("moved onto its edge" in note for note in clean.notes)


def test_a_reading_in_a_doorway_counts_to_the_nearest_room() -> None:
    """Between two rooms of one slab."""
    clean = clean_readings(survey({"x": 4.08}))
    assert clean.readings["flag"].tolist() == ["clear"]
    assert clean.readings["room"].tolist() == ["hall"]
    assert any("doorway" in note for note in clean.notes)


@pytest.mark.parametrize(
    ("row", "flag"),
    [
        ({"value": 101.0}, "full-scale"),
        ({"value": -1.0}, "out-of-scale"),
        ({"value": np.nan, "raw": "dry"}, "not-numeric"),
        ({"value": np.nan, "raw": ""}, "not-numeric"),
        ({"value": 100.0}, "full-scale"),
        ({"value": 0.0}, "below-scale"),
        ({"value": np.nan, "raw": "OL", "censored": "above"}, "full-scale"),
        ({"value": 60.0, "raw": ">60", "censored": "above"}, "full-scale"),
        ({"value": 999.0, "raw": ">999", "censored": "above"}, "full-scale"),
    ],
)
def test_values_are_judged_by_the_scale(row: dict[str, Any], flag: str) -> None:
    """A full-scale mark stands for the end of the scale."""
    clean = clean_readings(survey({}, {"x": 2.0, **row}))
    assert clean.readings["flag"].iloc[1] == flag
    assert clean.readings["reason"].iloc[1] != ""
    if row.get("raw") == "OL":
        assert clean.readings["value"].iloc[1] == 100.0
        assert clean.locations["censored"].tolist() == ["", "above"]


@pytest.mark.parametrize(("step", "flag"), [(1.0, "out-of-scale"), (0.1, "clear"), (None, "clear")])
def test_less_than_a_step_of_the_display_is_no_reading(step: float | None, flag: str) -> None:
    """0.7 of a meter of whole numbers may be 70 % that a spreadsheet stored, and not dry floor."""
    meter = Instrument("meter", scale=(0, 100), step=step)
    clean = clean_readings(survey({}, {"x": 2.0, "value": 0.7}, meters=(meter,)))
    assert clean.readings["flag"].iloc[1] == flag


def test_full_scale_without_a_stated_scale_is_at_or_above_the_highest_reading() -> None:
    """A bound that cannot be wrong, and it is said."""
    meter = Instrument("meter")
    row = {"x": 2.0, "value": np.nan, "raw": "OL", "censored": "above"}
    clean = clean_readings(survey({"value": 73.0}, row, meters=(meter,)))
    assert clean.readings["value"].tolist() == [73.0, 73.0]
    assert clean.readings["flag"].tolist() == ["clear", "full-scale"]
    assert any("not stated" in note for note in clean.notes)


def test_a_copied_row_is_a_duplicate_and_a_differing_one_a_repeat() -> None:
    """Same place and value of the same file."""
    given = survey({}, {}, {"x": 2.0}, {"x": 2.0, "value": 44.0}, {"x": 3.0})
    assert flags(given) == ["clear", "duplicate", "clear", "clear", "clear"]


@pytest.mark.parametrize(
    "second",
    [
        {"repeat": 2},
        {"time": "2026-03-04T10:00Z"},
        {"source": "b.csv"},
        {"value": 41.0},
    ],
)
def test_what_states_that_it_was_read_again_is_a_repeat(second: dict[str, Any]) -> None:
    """Another number, time, file or value."""
    assert flags(survey({"repeat": 1}, second)) == ["clear", "clear"]


def test_equal_values_are_repeats_where_everything_was_read_more_than_once() -> None:
    """Three readings a place without numbers: 40, 40, 41 keeps all three."""
    rows = [{"x": float(x), "value": v} for x in (1, 2, 3) for v in (40.0, 40.0, 41.0 + x)]
    assert flags(survey(*rows)) == ["clear"] * 9


def test_a_file_pasted_twice_is_not_taken_for_repeats() -> None:
    """Every value equal: copies."""
    rows = [{"x": x, "value": 40 + 3 * x} for x in (0.5, 1.0, 1.5, 2.0)]
    assert flags(survey(*rows, *rows)) == ["clear"] * 4 + ["duplicate"] * 4


def test_repeats_give_the_noise_by_pooling_variances_within_spots() -> None:
    """Pairs differing by 1, 2, 0, 3, 1, 2: s = sqrt(19 / 12) = 1.2583, worked by hand."""
    rows = []
    for k, difference in enumerate((1, -2, 0, 3, -1, 2)):
        rows += [
            {"x": 0.5 * k + 0.5, "value": 50.0 + 5 * k, "repeat": 1},
            {"x": 0.5 * k + 0.5, "value": 50.0 + 5 * k + difference, "repeat": 2},
        ]
    clean = clean_readings(survey(*rows))
    assert clean.repeat_pairs == 6
    assert clean.repeat_sd == pytest.approx(np.sqrt(19 / 12))
    assert clean.locations["n"].tolist() == [2] * 6
    assert clean.locations["value"].iloc[0] == 50.5


def test_a_spot_with_one_repeat_at_full_scale_is_a_bound() -> None:
    """Its mean is at or above, and it tells nothing of the noise."""
    clean = clean_readings(survey({"value": 90.0, "repeat": 1}, {"value": 100.0, "repeat": 2}))
    assert clean.locations["censored"].tolist() == ["above"]
    assert clean.repeat_sd is None


def test_two_meters_are_never_merged() -> None:
    """The one with most readings is used unless the other is named."""
    other = Instrument("other", scale=(0.0, 999.0))
    given = survey(
        {}, {"x": 2.0}, {"x": 3.0, "instrument": "other", "value": 400.0}, meters=(METER, other)
    )
    clean = clean_readings(given)
    assert clean.readings["flag"].tolist() == ["clear", "clear", "other-instrument"]
    assert any("never merged" in note for note in clean.notes)
    assert flags(given, instrument="other") == ["other-instrument"] * 2 + ["clear"]
    with pytest.raises(SurveyError, match="third"):
        clean_readings(given, instrument="third")


@pytest.mark.parametrize(
    ("values", "step"),
    [
        ((40.0, 41.0, 44.0), 1.0),
        ((40.0, 45.0, 60.0), 5.0),
        ((40.0, 40.5, 42.0), 0.5),
        ((40.1, 40.2, 43.7), 0.1),
        ((40.12345678, 41.3377123, 44.0), 0.0),
        ((40.0,), 0.0),
    ],
)
def test_the_step_of_the_scale_is_found_from_the_values(
    values: tuple[float, ...], step: float
) -> None:
    """The largest step all values lie on; 0 when they lie on none."""
    clean = clean_readings(survey(*[{"x": 0.5 + k, "value": v} for k, v in enumerate(values)]))
    assert clean.step == pytest.approx(step)


def test_a_stated_step_is_kept() -> None:
    """The survey knows better."""
    meter = Instrument("meter", scale=(0.0, 100.0), step=0.5)
    assert clean_readings(survey({}, {"x": 2.0, "value": 41.0}, meters=(meter,))).step == 0.5


def test_a_visit_without_readings_is_refused_plainly() -> None:
    """Tests alone make no map."""
    given = survey({"visit": "v0"})
    with pytest.raises(NotEnoughData, match="v1"):
        clean_readings(given, "v1")


def test_a_room_stated_that_is_not_the_room_of_the_place_is_noted() -> None:
    """The plan is followed."""
    clean = clean_readings(survey({"room": "store"}))
    assert clean.readings["room"].tolist() == ["hall"]
    assert any("'store'" in note and "'hall'" in note for note in clean.notes)


def test_the_survey_itself_is_left_as_it_was() -> None:
    """Cleaning copies."""
    given = survey({"x": -0.04}, {"value": np.nan, "raw": "OL", "censored": "above"})
    before = given.readings.copy()
    clean_readings(given)
    pd.testing.assert_frame_equal(given.readings, before)


@pytest.mark.parametrize(
    ("value", "others", "step", "kept"),
    [
        (7.4, 11, 1.0, False),
        (7.4, 11, None, True),
        (7.4, 11, 0.1, True),
        (7.4, 3, 1.0, True),
        (82.5, 11, 1.0, True),
        (31.3, 11, 1.0, True),
        (74.0, 11, 1.0, True),
    ],
)
def test_a_decimal_point_that_slipped_is_no_dry_reading(value, others, step, kept) -> None:
    """A display of whole steps shows no 7.4; of many such values each is a mean of several."""
    rows = [{"x": 0.2 + 0.3 * k, "value": 40.0 + k} for k in range(others)]
    meter = Instrument("meter", scale=(0.0, 100.0), step=step)
    clean = clean_readings(survey({"x": 2.0, "y": 2.0, "value": value}, *rows, meters=(meter,)))
    assert (clean.readings["flag"].iloc[0] == "clear") is kept
    assert (clean.readings["flag"].iloc[1:] == "clear").all()
