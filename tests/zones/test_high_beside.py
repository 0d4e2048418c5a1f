"""A leak below the usual reading of the rest of the floor is told from what lies around it."""

from __future__ import annotations

from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely.geometry import Point, box

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import Instrument
from moisturemap.zones.high_beside import high_beside

LEAK = (9.5, 6.5)


def bump(x, y, height):
    return height * np.exp(-((x - LEAK[0]) ** 2 + (y - LEAK[1]) ** 2) / 1.6)


def read(value, rooms=None, flag="clear"):
    """A floor of 12 by 8 m read every metre under a level that nothing reaches."""
    x, y = (one.ravel() for one in np.meshgrid(np.arange(0.5, 12), np.arange(0.5, 8)))
    noise = np.random.default_rng(4).normal(0.0, 1.0, x.size)
    room = np.full(x.size, "hall", dtype=object) if rooms is None else rooms(x, y)
    table = pd.DataFrame({"x": x, "y": y, "value": (value(x, y) + noise).round(), "room": room})
    table["flag"] = np.where(np.hypot(x - LEAK[0], y - LEAK[1]) < 0.1, flag, "clear")
    level = SimpleNamespace(value=60.0)
    empty = SimpleNamespace(dry_reference=())
    return SimpleNamespace(
        readings=table,
        visit=empty,
        clean=SimpleNamespace(repeat_sd=None, step=1.0, instrument=Instrument("meter")),
        wet=SimpleNamespace(level=level, unsure=Point(), zones=gpd.GeoDataFrame(geometry=[])),
        survey=SimpleNamespace(plan=FloorPlan((Room("hall", box(0, 0, 12, 8)),)), scan=empty),
    )


def drifting(x, y):
    return 36.0 - 4.0 * y


def graded(x, y):
    return 44.0 - 1.6 * x


def carpeted(x, y):
    return np.where(x > 6.0, 8.0, 32.0)


def even(x, y):
    return np.full(x.size, 32.0)


FLOORS = [drifting, graded, carpeted]


@pytest.mark.parametrize("flag", ["clear", "stray", "contested"])
@pytest.mark.parametrize("floor", FLOORS)
def test_a_leak_on_low_floor_is_asked_a_test_where_it_stands(floor, flag) -> None:
    """The floor at the other end reads as high: it says nothing of the leak."""
    (asked,) = high_beside(read(lambda x, y: floor(x, y) + bump(x, y, 26.0), flag=flag))
    assert asked.places[0] == LEAK
    assert all(np.hypot(x - LEAK[0], y - LEAK[1]) <= 1.0 for x, y in asked.places)


def test_rooms_are_held_against_themselves() -> None:
    """A room of another pour reads lower throughout, and its leak lower than the first room."""

    def rooms(x, y):
        return np.where(x > 6.0, "annex", "hall").astype(object)

    found = high_beside(read(lambda x, y: carpeted(x, y) + bump(x, y, 20.0), rooms))
    assert [one.places[0] for one in found] == [LEAK]


@pytest.mark.parametrize("floor", [*FLOORS, even])
def test_floor_without_a_leak_asks_nothing(floor) -> None:
    """Neither a slope, nor the edge of a carpet, nor noise is a leak."""
    assert not high_beside(read(floor))


def test_what_stands_above_the_level_is_left_to_other_rules() -> None:
    """Nor is the foot of such floor asked a test of its own."""
    assert not high_beside(read(lambda x, y: even(x, y) + bump(x, y, 45.0)))
