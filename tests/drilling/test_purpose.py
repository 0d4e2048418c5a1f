"""The reason told for a hole is one that holds."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "report"))

from kinds import twelve
from shapely.geometry import box

import moisturemap as mm
from moisturemap.drilling.purpose import _apart_words
from moisturemap.drilling.site import outer_walls
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.language import speaking, spoken


def test_a_wall_of_several_rooms_is_named_by_the_room_of_the_hole() -> None:
    """A hole said to be near the south wall of two rooms, and not near that of one of them."""
    plan = FloorPlan((Room("west", box(0, 0, 5, 4)), Room("east", box(5, 0, 10, 4))))
    south = next(wall for wall in outer_walls(plan) if "south wall of west" in wall.names.values())
    assert south.names == {"west": "south wall of west", "east": "south wall of east"}
    assert south.lines["east"].bounds == (5, 0, 10, 0)
    alone = outer_walls(FloorPlan((Room("hall", box(0, 0, 5, 4)),)))
    assert {name for wall in alone for name in wall.names.values()} == {
        f"{side} wall" for side in ("north", "east", "south", "west")
    }


def test_no_hole_beside_another_is_called_the_middle_of_untested_floor(tmp_path: Path) -> None:
    """Of twelve readings two holes lie 0.4 m apart: the second may be the wettest place as well."""
    holes = mm.study(mm.read_survey(twelve(tmp_path))).drill_plan
    close = 0
    for at, one in enumerate(holes.itertuples()):
        others = holes.drop(holes.index[at])
        nearest = float(np.hypot(others["x"] - one.x, others["y"] - one.y).min())
        if nearest < 1.0:
            close += 1
            assert "Middle of the largest part" not in one.why
    assert close


def test_a_hole_near_another_is_not_called_far_from_it() -> None:
    """Pins in a small room were told as far from other holes, the nearest 0.4 m off."""

    class Apart:
        earlier = np.empty((0, 2))

        def __init__(self, distance: float) -> None:
            self.distance = distance

        def nearest(self, place: int, chosen: list[int]) -> float:
            return self.distance

    near, far = (_apart_words(Apart(one), 0, [0, 1]) for one in (0.4, 3.0))  # type: ignore[arg-type]
    assert "far from" not in near
    assert near.endswith("the nearest is 0.4 m off.")
    assert far == "For the floor that lies far from other holes: the nearest is 3.0 m off."


def test_a_hole_is_held_against_holes_of_its_own_kind_of_floor_by_name() -> None:
    """The nearest pin test was told as the nearest hole, with a hole in concrete nearer by."""

    class Apart:
        earlier = np.empty((0, 2))

        def __init__(self, distance: float) -> None:
            self.distance = distance

        def nearest(self, place: int, chosen: list[int]) -> float:
            return self.distance

    near, far, alone = (
        _apart_words(Apart(one), 0, [0], " in timber")  # type: ignore[arg-type]
        for one in (0.4, 6.9, np.inf)
    )
    assert near.startswith("For floor that no other hole in timber is nearer to")
    assert far.startswith("For the floor that lies far from other holes in timber: the nearest")
    assert alone == "The only hole in timber."
    with speaking("de"):
        assert spoken(far).startswith("Für den Boden, der fern von anderen Bohrlöchern in Holz")
