"""Anomalies found on invented floors."""

from __future__ import annotations

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely.geometry import box

from moisturemap.anomalies import ANOMALY_COLUMNS, ANOMALY_KINDS, DetectOptions, detect
from moisturemap.errors import Cancelled, OptionError
from moisturemap.floorplan import FloorPlan, Room, domains
from moisturemap.survey import (
    CONTESTED,
    USED_FLAGS,
    CleanReadings,
    Instrument,
    Visit,
    clean_readings,
)
from moisturemap.synthetic import FloorRecipe, make_floor


def flagged(floor, found):
    """Truth and flags side by side, in the order of the survey."""
    last = floor.survey.readings["visit"] == floor.survey.visits[-1].id
    return floor.disturbance[last] / floor.recipe.noise_sd, found.readings["anomaly"] != ""


def test_a_high_reading_beside_which_a_low_one_was_set_aside_stays_in_the_map():
    """Two values of one place contradict: with the low one out, the high one may not go too."""
    survey = make_floor(FloorRecipe(width=6.0, depth=4.5, spacing=0.25, plumes=()), 3).survey
    readings, visit = survey.readings, survey.visits[-1].id
    place = readings[readings["visit"] == visit].iloc[[200]]
    for added in (1, 0):
        high = place.assign(value=95.0)
        rows = [readings, high] if added else [readings.drop(place.index), high]
        table = pd.concat(rows, ignore_index=True)
        parts = domains(survey.plan)
        clean = clean_readings(replace(survey, readings=table), visit, domains=parts)
        here = detect(clean, survey.plan, parts).readings.query("value == 95.0").iloc[0]
        assert here["flag"] == ("contested" if added else "stray")


def test_a_pipe_is_found_as_a_line_near_where_it_lies(searched):
    """Kind, place, strength and length."""
    floor, found = searched(pipes=1)
    pipe = floor.services[0]
    line = found.table[found.table["kind"] == "line"].iloc[0]
    assert line.geometry.hausdorff_distance(pipe.geometry) < 0.6
    assert line.strength == pytest.approx(pipe.strength, rel=0.3)
    assert line.width_m == pytest.approx(pipe.width, rel=0.4)
    assert "locate before drilling" in line.sentence


def test_its_readings_are_flagged_and_few_others(searched):
    """Recall above 4 noise sd, clean readings kept."""
    floor, found = searched(pipes=1)
    off, marks = flagged(floor, found)
    assert marks[off >= 4].mean() >= 0.9
    assert marks[np.abs(off) < 1].mean() <= 0.02


def test_a_bent_pipe_is_one_line_with_a_bend(searched):
    """Linking of straight runs."""
    floor, found = searched(seed=4, bent_pipes=1)
    line = found.table[found.table["kind"] == "line"].iloc[0]
    assert len(line.geometry.coords) == 3
    assert "bend" in line.sentence
    assert line.geometry.hausdorff_distance(floor.services[0].geometry) < 0.7


def test_a_box_is_a_spot(searched):
    """Several readings about one place."""
    floor, found = searched(boxes=1)
    spot = found.table[found.table["kind"] == "spot"].iloc[0]
    assert spot.geometry.distance(floor.services[0].geometry) < 0.2
    assert spot.readings >= 2


def test_mis_keyed_values_are_strays(searched):
    """One reading each, above or below its neighbours."""
    floor, found = searched(seed=3, strays=2)
    strays = found.table[found.table["kind"] == "stray"]
    assert len(strays) == 2
    assert (strays["readings"] == 1).all()
    wrong = floor.survey.readings.loc[floor.cause == "stray", "reading"]
    named = found.readings.loc[found.readings["flag"] == "stray", "reading"]
    assert set(named) == set(wrong)
    assert strays["sentence"].str.contains("read it again").all()


def test_a_lone_value_whose_repeats_agree_is_a_spot():
    """Not mis-keyed when it was read twice."""
    rng = np.random.default_rng(2)
    x, y = (part.ravel() for part in np.meshgrid(np.arange(0.2, 5, 0.3), np.arange(0.2, 4, 0.3)))
    value = 40 + rng.normal(0, 1.5, x.size)
    value[90] += 25
    clean = readings_of(np.append(x, x[90]), np.append(y, y[90]), np.append(value, value[90] + 1))
    plan = FloorPlan((Room("hall", box(0, 0, 5, 4)),))
    found = detect(clean, plan, domains(plan))
    assert list(found.table["kind"]) == ["spot"]
    assert (found.readings["flag"] == "spot").sum() == 2


def readings_of(x, y, value) -> CleanReadings:
    """Clean readings of one room from bare arrays."""
    _, index = np.unique(np.column_stack([x, y]), axis=0, return_inverse=True)
    frame = pd.DataFrame(
        {
            "reading": np.arange(1, len(x) + 1),
            "x": x,
            "y": y,
            "value": value,
            "room": "hall",
            "domain": "D1",
            "flag": "clear",
            "reason": "",
            "location": index.ravel(),
        }
    )
    pooled = frame.groupby("location").agg(
        x=("x", "first"), y=("y", "first"), value=("value", "mean"), n=("value", "size")
    )
    pooled = pooled.reset_index().assign(censored="", room="hall", domain="D1")
    readings = gpd.GeoDataFrame(frame, geometry=gpd.points_from_xy(x, y))
    return CleanReadings(Visit("v1"), Instrument("s"), readings, pooled, None, 0, 1.0)


@pytest.mark.parametrize("plumes", [(), ("edge",), ("burst",), ("corner",)])
def test_nothing_is_found_on_floors_with_nothing_in_them(searched, plumes):
    """Dry or wet: nothing leaves the map."""
    _, found = searched(seed=2, plumes=plumes)
    assert (found.table["standing"] == "contested").all()
    assert found.readings["flag"].isin(USED_FLAGS).all()
    assert (found.readings["flag"] == CONTESTED).mean() < 0.04


def test_a_wet_zone_over_a_pipe_is_not_eaten(searched):
    """The wettest readings off the pipe stay clear."""
    floor, found = searched(seed=3, pipes=1, plumes=("burst", "edge"), plume_rise=40.0)
    off, marks = flagged(floor, found)
    wet = floor.wet(floor.survey.readings[["x", "y"]].to_numpy())
    assert wet.sum() > 10
    assert marks[wet & (np.abs(off) < 1)].mean() < 0.1
    assert marks[off >= 4].mean() > 0.8


def test_no_reading_is_lost_or_changed(searched):
    """Flags only."""
    floor, found = searched(pipes=1)
    last = floor.survey.readings
    assert list(found.readings["reading"]) == list(last["reading"])
    assert np.array_equal(found.readings["value"], last["value"])


def test_the_table_has_its_columns_and_names_its_readings(searched):
    """Names by kind, counts that agree with the readings."""
    _, found = searched(seed=5, pipes=1, boxes=1, strays=1)
    assert list(found.table.columns) == list(ANOMALY_COLUMNS)
    assert found.table.geometry.is_valid.all()
    for row in found.table.itertuples():
        assert row.kind in ANOMALY_KINDS
        marked = found.readings[found.readings["anomaly"] == row.anomaly]
        assert len(marked) <= row.readings * 2
        assert (marked["flag"] == (row.kind if row.standing == "thing" else CONTESTED)).all()
        assert marked["reason"].str.contains(row.anomaly).all()


def test_sentences_promise_nothing(searched):
    """Likelihoods only."""
    _, found = searched(seed=5, pipes=1, boxes=1, strays=1)
    words = " ".join([*found.table["sentence"], *found.limits, *found.remarks]).lower()
    assert "likely" in words
    for word in ("safe", "certain", "definitely", "guarantee"):
        assert word not in words


def test_mesh_is_found_and_its_pitch_on_the_grid_told(searched):
    """200 mm mesh shows every metre on a 250 mm grid."""
    _, found = searched(seed=2, width=7.0, mesh_pitch=0.2, strength=(6.0, 7.0), footprint=0.06)
    mesh = found.table[found.table["kind"] == "mesh"]
    assert len(mesh) == 1
    assert mesh["width_m"].iloc[0] == pytest.approx(1.0, rel=0.1)


def test_few_readings_are_not_searched_and_this_is_said():
    """A plain sentence instead of a guess."""
    clean = readings_of(np.arange(9) % 3 * 1.0, np.arange(9) // 3 * 1.0, np.arange(9.0))
    plan = FloorPlan((Room("hall", box(-1, -1, 4, 4)),))
    found = detect(clean, plan, domains(plan))
    assert found.table.empty
    assert "too few" in found.limits[0]


def test_equal_readings_are_not_searched():
    """Nothing stands out of a flat field."""
    x, y = (part.ravel() for part in np.meshgrid(np.arange(8.0), np.arange(6.0)))
    plan = FloorPlan((Room("hall", box(-1, -1, 9, 9)),))
    found = detect(readings_of(x, y, np.full(x.size, 40.0)), plan, domains(plan))
    assert found.table.empty
    assert "equal" in found.limits[0]


def test_progress_may_stop_the_search():
    """The caller's exception passes through."""
    floor = make_floor("flat", 1)
    parts = domains(floor.survey.plan)

    def stop(phrase: str, fraction: float) -> None:
        raise Cancelled(phrase)

    with pytest.raises(Cancelled, match="looking for pipes"):
        detect(clean_readings(floor.survey, domains=parts), floor.survey.plan, parts, progress=stop)


@pytest.mark.parametrize(
    "wrong", [{"flag_from": 0.0}, {"footprint_m": 0.0}, {"footprint_m": "wide"}]
)
def test_options_out_of_range_are_refused(wrong):
    """With what is allowed."""
    with pytest.raises(OptionError):
        DetectOptions(**wrong)
