"""Places that changed by more than noise explains are told where the map evens them out."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from shapely.geometry import Polygon, box

from moisturemap.drying.single_places import NONE, single_places
from moisturemap.floorplan import FloorPlan, Room

PLAN = FloorPlan((Room("hall", box(0, 0, 30, 20)),), ())
UNSHOWN = {"dried": Polygon(), "rose": Polygon()}


def field(along_wall: float, everywhere: float = 0.0, common_sd: float = 1.4) -> Any:
    """A change of noise 2 on a grid of 0.8 m, with a column of its own along the west wall."""
    points = np.stack(np.meshgrid(np.arange(0.4, 30, 0.8), np.arange(0.4, 20, 0.8)), -1)
    points = points.reshape(-1, 2)
    values = np.random.default_rng(3).normal(everywhere, 2.0, len(points))
    values[points[:, 0] < 0.8] += along_wall
    return SimpleNamespace(points=points, values=values, reading_sd=2.0, common_sd=common_sd)


@pytest.mark.parametrize(("along_wall", "verb"), [(-13.0, "fell"), (13.0, "rose")])
def test_a_column_that_changed_is_told(along_wall: float, verb: str) -> None:
    """Twelve to fourteen units on one column in 38: nearly all places, with room and greatest."""
    found = single_places([field(along_wall)], UNSHOWN, PLAN, 0.05)
    at_wall = found.points[:, 0] < 0.8
    assert at_wall.sum() >= 23
    assert (~at_wall).sum() <= 3
    assert f"The reading {verb} by more than noise explains at " in found.sentence
    assert "in hall" in found.sentence
    assert found.floor_of().covers(Polygon(found.points[at_wall][:1].repeat(3, 0)).centroid)


def test_noise_and_drift_are_no_change() -> None:
    """Neither the scatter of the readings nor a meter that drifted as much as meters do."""
    assert single_places([field(0.0)], UNSHOWN, PLAN, 0.05) is NONE
    assert single_places([field(0.0, everywhere=-2.5)], UNSHOWN, PLAN, 0.05) is NONE
    assert NONE.floor_of().is_empty


def test_what_the_map_shows_is_not_told_twice() -> None:
    """Places inside floor mapped as fallen are left to the map."""
    shapes = {**UNSHOWN, "dried": box(0, 0, 1, 20)}
    found = single_places([field(-13.0)], shapes, PLAN, 0.05)
    assert not (found.points[:, 0] < 0.8).any()
