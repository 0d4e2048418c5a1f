"""What a hole keeps clear of."""

from __future__ import annotations

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pytest
from shapely.geometry import LineString, Point, box

from moisturemap.drilling import DrillOptions
from moisturemap.drilling.clearance import (
    beyond_ends,
    flagged_obstacles,
    objections,
    plan_obstacles,
)
from moisturemap.floorplan import FloorPlan, PlanLine, Room

PLAN = FloorPlan((Room("hall", box(0, 0, 10, 8)),))


def _grid(spacing: float) -> np.ndarray:
    x, y = np.arange(spacing / 2, 10, spacing), np.arange(spacing / 2, 8, spacing)
    return np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)


@pytest.mark.parametrize("thing", [LineString([(1, 1), (9, 6.5)]), Point(4.2, 3.3)])
def test_more_is_kept_from_a_thing_the_readings_place_loosely(thing) -> None:
    """On a grid of 1 m a pipe was drawn up to 0.36 m beside its course; invented floors."""
    table = gpd.GeoDataFrame(
        {"anomaly": ["U1"], "kind": ["line"], "width_m": [0.1]}, geometry=[thing]
    )
    kept = {
        spacing: flagged_obstacles(table, PLAN, DrillOptions(), _grid(spacing))[0][0].clearance
        for spacing in (0.25, 0.5, 1.0)
    }
    assert kept[0.25] == pytest.approx(0.35)
    assert kept[0.5] < 0.4
    assert kept[1.0] > 0.55
    swept = np.vstack([_grid(1.0), np.asarray(thing.centroid.coords) + _grid(0.2)[:400] * 0.05])
    near = flagged_obstacles(table, PLAN, DrillOptions(), swept)[0][0].clearance
    assert near <= kept[1.0]
    twice = np.repeat(_grid(1.0), 2, axis=0)
    (again,), _ = flagged_obstacles(table, PLAN, DrillOptions(), twice)
    assert again.clearance == pytest.approx(kept[1.0])


def _service(*corners: tuple[float, float], name: str = "pipe") -> PlanLine:
    return PlanLine("known-service", LineString(corners), name)


def test_a_service_drawn_into_the_floor_goes_on_beyond_its_end() -> None:
    """To the wall, or three metres; the hole beside its continuation is refused and it is said."""
    plan = replace(PLAN, lines=(_service((0, 4), (5, 4)), _service((9.9, 1), (8.5, 1))))
    (_, on), (_, short) = beyond_ends(plan)
    assert list(on.coords) == [(5, 4), (8, 4)]
    assert short.length == pytest.approx(3.0)
    named = objections(plan_obstacles(plan, DrillOptions()), 6.0, 4.1)
    assert any("pipe may go on" in one for one in named)


@pytest.mark.parametrize(
    "lines",
    [
        (_service((0, 4), (10, 4)),),
        (_service((0, 4), (5, 4)), _service((5.1, 4), (5.1, 0), name="drain")),
        (_service((2, 2), (4, 2), (4, 4), (2, 4), (2, 2)),),
        (_service((0.2, 4), (9.8, 4)),),
    ],
)
def test_a_service_that_ends_at_a_wall_or_another_line_ends_there(lines) -> None:
    """A ring has no end."""
    assert beyond_ends(replace(PLAN, lines=lines)) == []


def test_a_wall_drawn_within_a_room_is_kept_clear_of() -> None:
    """As the edge of the room is: a hole lay 0.06 m from it."""
    wall = PlanLine("interior-wall", LineString([(0, 2), (4, 2)]), "partition")
    found = {one.name: one for one in plan_obstacles(replace(PLAN, lines=(wall,)), DrillOptions())}
    assert found["wall partition"].clearance == DrillOptions().wall_clearance_m
