"""What a hole keeps clear of."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
from shapely.geometry import LineString, Point, box

from moisturemap.drilling import DrillOptions
from moisturemap.drilling.clearance import flagged_obstacles
from moisturemap.floorplan import FloorPlan, Room

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
