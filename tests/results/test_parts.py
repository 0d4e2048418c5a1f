"""A large floor in parts."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box

import moisturemap as mm
from moisturemap.bundles import Study
from moisturemap.floorplan import Room
from moisturemap.results.parts import _near, on_rooms, parts_of
from moisturemap.workflow.demo import demo_plans


def grid_of_rooms(across: int, up: int) -> list[Room]:
    """Return rooms of 4 by 5 m side by side."""
    return [
        Room(f"{row}.{column}", box(4 * column, 5 * row, 4 * column + 3.9, 5 * row + 4.9))
        for row in range(up)
        for column in range(across)
    ]


@settings(max_examples=40, deadline=None)
@given(st.integers(1, 30), st.integers(1, 12), st.integers(1, 20))
def test_every_room_is_in_one_part_and_no_part_is_crowded(across: int, up: int, most: int) -> None:
    """Nothing is lost or shown twice, and neighbours stay together."""
    rooms = grid_of_rooms(across, up)
    parts = parts_of(rooms, most)
    assert sorted(room.name for part in parts for room in part) == sorted(r.name for r in rooms)
    assert len(parts) == -(-len(rooms) // most)
    # Shares of like count: rounding may leave one room over for each cut that is nested.
    assert max(map(len, parts)) <= most + np.ceil(np.log2(len(parts) + 1))


@pytest.fixture(scope="module")
def flat() -> Study:
    """Return an invented flat of five rooms."""
    return mm.study(mm.read_survey(demo_plans() / "flat"))


@pytest.mark.thorough
def test_parts_hold_the_wet_floor_of_the_whole(flat: Study) -> None:
    """What is cut for the drawing adds up to the rooms' own share of each zone."""
    rooms = flat.survey.plan.rooms
    parts = [on_rooms(flat, [room]) for room in rooms]
    within = flat.zones.intersection(flat.survey.plan.outline).area.sum()
    assert sum(part.zones.area.sum() for part in parts) == pytest.approx(within, rel=1e-6)
    assert sum(len(part.readings) for part in parts) == len(flat.readings)
    assert sum(len(part.drill_plan) for part in parts) == len(flat.drill_plan)
    assert all(len(part.survey.plan.rooms) == 1 for part in parts)


def test_a_part_holds_the_tests_in_its_rooms_alone() -> None:
    """Names of holes drilled elsewhere stood at the edge of its map, where nothing was drilled."""
    tests = pd.DataFrame(
        {"hole": ["T1", "T2", "T3"], "x": [1.0, 6.0, np.nan], "y": [1.0, 1.0, 1.0]}
    )
    assert [*_near(tests, box(0, 0, 4, 4))["hole"]] == ["T1", "T3"]
    assert [*_near(tests, box(4, 0, 8, 4))["hole"]] == ["T2", "T3"]
