"""Whatever a survey holds, the project file gives it back."""

import dataclasses
import tempfile
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely.geometry import box

from moisturemap import store
from moisturemap.floorplan import FloorPlan, Room, SitePlace, Slab
from moisturemap.survey import Instrument, Limit, ScanSettings, Survey, Visit

TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
EASTING = st.floats(-1e9, 1e9)
NUMBER = st.floats(allow_nan=False, allow_infinity=False, width=64)
MOMENT = st.datetimes(datetime(1990, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC))
SLABS = st.builds(
    Slab,
    base=TEXT,
    thickness_mm=st.none() | st.floats(0, 3000),
    drying_faces=st.sampled_from([1, 2]),
    heated=st.booleans(),
    placed=st.none() | st.dates(),
    pour=TEXT,
)
VISITS = st.builds(
    Visit,
    id=st.just("v1"),
    started=st.none() | MOMENT,
    operator=TEXT,
    air_temperature_c=st.none() | st.floats(-60, 90),
    dry_reference=st.lists(NUMBER, max_size=3).map(tuple),
)
METERS = st.builds(
    Instrument,
    id=st.just("m1"),
    scale=st.none() | st.tuples(NUMBER, NUMBER),
    serial=TEXT,
    certificate=TEXT,
    uncertainty=st.none() | st.floats(0, 1e6),
)


@st.composite
def tables(draw: st.DrawFn) -> pd.DataFrame:
    """Readings with missing values, odd text and a column of nobody's."""
    rows = draw(
        st.lists(
            st.tuples(NUMBER, NUMBER, st.floats(width=64), TEXT, TEXT, st.none() | MOMENT),
            max_size=6,
        )
    )
    frame = pd.DataFrame(rows, columns=["x", "y", "value", "raw", "note", "time"])
    frame["time"] = pd.to_datetime(frame["time"], utc=True)
    frame["reading"] = range(1, len(frame) + 1)
    frame["visit"], frame["repeat"], frame["of nobody"] = "v1", 0, frame["raw"]
    return frame.astype(
        {"x": float, "y": float, "value": float, "raw": "str", "note": "str", "visit": "str"}
    )


@st.composite
def surveys(draw: st.DrawFn) -> Survey:
    """Small surveys of one room and one visit."""
    value = st.floats(0.01, 1e6)
    limit = st.builds(Limit, st.just("in-situ-rh"), value, st.just("% RH"), TEXT)
    return Survey(
        draw(TEXT),
        FloorPlan((Room(draw(TEXT), box(0, 0, 3, 2), draw(SLABS)),)),
        {"m1": draw(METERS)},
        (draw(VISITS),),
        draw(tables()),
        scan=ScanSettings(draw(st.none() | NUMBER)),
        limit=draw(st.none() | limit),
        room_limits=draw(st.dictionaries(TEXT, limit, max_size=2)),
        notes=draw(st.lists(TEXT, max_size=2).map(tuple)),
        details={"client": draw(TEXT)},
        units=draw(st.sampled_from(("metric", "us"))),
        timezone=draw(st.sampled_from(("", "Asia/Kolkata", "-03:30"))),
        site=draw(st.none() | st.builds(SitePlace, st.tuples(EASTING, EASTING), TEXT)),
    )


@pytest.mark.thorough
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(survey=surveys())
def test_a_survey_packed_and_read_is_the_same_survey(survey: Survey) -> None:
    """Every field, every cell, every type."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.gpkg"
        store.pack(survey, path, "A. Tester")
        back = store.read_project(path)
        with store.open_project(path) as project:
            assert project.verify().intact
            first = project.survey(at=project.head().number)
    for found in (back, first):
        for field in dataclasses.fields(Survey):
            expected, there = getattr(survey, field.name), getattr(found, field.name)
            if isinstance(expected, pd.DataFrame):
                pd.testing.assert_frame_equal(there, expected)
            elif field.name not in ("folder", "provenance"):
                assert there == expected, field.name
