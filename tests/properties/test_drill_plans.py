"""Drill plans on invented floors: clearances hold whatever lies where."""

from __future__ import annotations

from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, box

from moisturemap.anomalies import ANOMALY_COLUMNS, Anomalies
from moisturemap.drilling import DrillOptions, plan_holes
from moisturemap.floorplan import FloorPlan, PlanLine, Room, Slab
from moisturemap.survey import READING_COLUMNS, Survey, Visit
from moisturemap.zones import MappedVisit, WetLevel, ZoneOptions, find_zones

ROOM = Room("hall", box(0, 0, 7, 5), Slab("concrete", 120.0))


@pytest.fixture(scope="module")
def surface(mapped):
    """A swell in one corner."""
    return mapped(
        FloorPlan((ROOM,)),
        lambda p: 30.0 + 50.0 * np.exp(-0.5 * (p**2).sum(axis=1) / 4.0),
    ).with_wet_level(50.0)


coordinate = st.tuples(st.floats(0.0, 7.0), st.floats(0.0, 5.0))
lines = st.lists(st.tuples(coordinate, coordinate), max_size=5).map(
    lambda pairs: [LineString(pair) for pair in pairs if pair[0] != pair[1]]
)


@pytest.mark.thorough
@settings(max_examples=12, deadline=None)
@given(
    services=lines,
    flagged=lines,
    spots=st.lists(coordinate, max_size=4),
    count=st.integers(1, 12),
    pinned=st.lists(coordinate, max_size=2),
)
def test_no_hole_comes_nearer_than_its_clearance(surface, services, flagged, spots, count, pinned):
    """Flagged with half their footprint, known services, walls, other holes; pins included."""
    plan = FloorPlan((ROOM,), tuple(PlanLine("known-service", line) for line in services))
    rows = [
        dict.fromkeys(ANOMALY_COLUMNS, 0.0)
        | {"anomaly": f"{kind[0].upper()}{i}", "kind": kind, "width_m": 0.2, "geometry": geometry}
        for i, (kind, geometry) in enumerate(
            [("line", line) for line in flagged] + [("spot", Point(spot)) for spot in spots]
        )
    ]
    table = gpd.GeoDataFrame(rows, columns=list(ANOMALY_COLUMNS), geometry="geometry")
    wet = find_zones(surface, WetLevel(50.0, "stated", ""), plan, options=ZoneOptions(draws=100))
    survey = Survey("i", plan, {}, (Visit("v1"),), pd.DataFrame(columns=list(READING_COLUMNS)))
    options = DrillOptions(count=count, pinned=tuple(pinned), places=100, draws=50)
    flags = Anomalies(table, gpd.GeoDataFrame())
    meter = SimpleNamespace(id="scan")
    clean = SimpleNamespace(locations=pd.DataFrame({"room": [ROOM.name]}), instrument=meter)
    mapped = MappedVisit(survey, survey.visits[0], surface.domains, clean, flags, surface, wet)
    found = plan_holes(mapped, options=options)
    holes = found.holes
    assert len(holes) <= max(count, len(pinned))
    near = [(service, 0.3) for service in services] + [(row["geometry"], 0.4) for row in rows]
    for geometry, clearance in near:
        assert holes.empty or holes.distance(geometry).min() >= clearance
    assert holes.empty or holes.distance(ROOM.polygon.boundary).min() >= 0.1
    for index, hole in enumerate(holes.geometry):
        assert holes.geometry.drop(index).distance(hole).min() >= 0.3 or len(holes) == 1
    if len(holes) < count:
        assert any("fewer than the count" in text for text in found.statements)
