"""Rooms out of loose lines."""

import pytest
from shapely.geometry import LineString

from moisturemap.floorplan import areas_between


def walls_of_a_room(gap):
    """Four walls of a 4 x 3 m room that miss each other by a gap."""
    return [
        LineString([(0, 0), (4 - gap, 0)]),
        LineString([(4, 0), (4, 3 - gap)]),
        LineString([(4, 3), (gap, 3)]),
        LineString([(0, 3), (0, gap)]),
    ]


@pytest.mark.parametrize("gap", [0.0, 0.001, 0.008, 0.019])
def test_gaps_up_to_the_stated_width_are_closed(gap):
    """The area changes by no more than the gap along the walls."""
    (area,) = areas_between(walls_of_a_room(gap), 0.020)
    assert area.area == pytest.approx(12, abs=14 * gap + 1e-9)


def test_wider_gaps_stay_open():
    """A door is no drawing fault."""
    assert areas_between(walls_of_a_room(0.05), 0.020) == []


def test_partition_that_stops_short_of_a_wall_parts_the_room():
    """It misses the walls by 12 mm, or runs 12 mm past them."""
    for short in (0.012, -0.012):
        partition = LineString([(1.5, short), (1.5, 3 - short)])
        areas = areas_between([*walls_of_a_room(0), partition], 0.020)
        assert sorted(a.area for a in areas) == pytest.approx([4.5, 7.5], abs=1e-3)


def test_lines_without_length_and_nothing_at_all_enclose_nothing():
    """No area, no error."""
    assert areas_between([], 0.02) == []
    assert areas_between([LineString([(0, 0), (0, 0)])], 0.02) == []
