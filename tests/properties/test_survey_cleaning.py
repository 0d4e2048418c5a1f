"""Nothing is lost in cleaning, whatever was read."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, Room, domains
from moisturemap.survey import (
    CLEANING_FLAGS,
    READING_COLUMNS,
    USED_FLAGS,
    Instrument,
    Survey,
    Visit,
    clean_readings,
)

PLAN = FloorPlan((Room("hall", box(0, 0, 4, 3)), Room("store", box(4.2, 0, 6, 3))))
PARTS = domains(PLAN)

ROWS = st.lists(
    st.tuples(
        st.sampled_from([-9.0, -0.03, 0.0, 1.0, 1.0004, 2.5, 4.1, 5.0, 6.02, 99.0]),
        st.sampled_from([0.0, 1.0, 2.999, 3.0, 7.0]),
        st.sampled_from([np.nan, -5.0, 0.0, 1.0, 40.0, 41.5, 100.0, 1e6]),
        st.sampled_from(["", "", "above", "below"]),
        st.sampled_from(["a", "a", "b"]),
        st.integers(0, 2),
        st.sampled_from(["", "hall", "attic"]),
    ),
    min_size=1,
    max_size=30,
)


def survey_of(rows: list[tuple[float, float, float, str, str, int, str]], stated: bool) -> Survey:
    names = ["x", "y", "value", "censored", "instrument", "repeat", "room"]
    frame = pd.DataFrame(rows, columns=names)
    frame = frame.assign(
        reading=np.arange(1, len(frame) + 1),
        visit="v1",
        label="",
        note="",
        source="s.csv",
        raw=frame["value"].map(str),
        row=[str(k + 2) for k in range(len(frame))],
        time=pd.Series([pd.NaT] * len(frame), dtype="datetime64[us, UTC]"),
    )
    scale = (0.0, 100.0) if stated else None
    meters = {name: Instrument(name, scale=scale) for name in "ab"}
    return Survey("any", PLAN, meters, (Visit("v1"),), frame[list(READING_COLUMNS)])


@pytest.mark.thorough
@settings(deadline=None, max_examples=25)
@given(ROWS, st.booleans())
def test_every_reading_comes_out_once_with_a_flag_and_a_reason(
    rows: list[tuple[float, float, float, str, str, int, str]], stated: bool
) -> None:
    """Rows out are rows in, in their order; used readings have a spot, a room and a value."""
    survey = survey_of(rows, stated)
    clean = clean_readings(survey, domains=PARTS)
    readings = clean.readings
    assert readings["reading"].tolist() == survey.readings["reading"].tolist()
    assert readings["raw"].tolist() == survey.readings["raw"].tolist()
    assert set(readings["flag"]) <= set(CLEANING_FLAGS)
    assert ((readings["reason"] == "") == (readings["flag"] == "clear")).all()
    used = readings["flag"].isin(USED_FLAGS)
    assert ((readings["location"] >= 0) == used).all()
    assert readings.loc[used, "value"].notna().all()
    assert (readings.loc[used, "domain"] != "").all()
    assert (readings.loc[used, "instrument"] == clean.instrument.id).all()


@pytest.mark.thorough
@settings(deadline=None, max_examples=25)
@given(ROWS, st.booleans())
def test_spots_hold_every_used_reading_once(
    rows: list[tuple[float, float, float, str, str, int, str]], stated: bool
) -> None:
    """Counts and sums agree, and spots are numbered without a gap."""
    clean = clean_readings(survey_of(rows, stated), domains=PARTS)
    used = clean.readings[clean.readings["flag"].isin(USED_FLAGS)]
    assert clean.locations["location"].tolist() == list(range(len(clean.locations)))
    assert clean.locations["n"].sum() == len(used)
    np.testing.assert_allclose(
        (clean.locations["n"] * clean.locations["value"]).sum(), used["value"].sum()
    )
    if len(clean.locations):
        places = clean.locations[["x", "y"]].round(3)
        assert not places.duplicated().any()
