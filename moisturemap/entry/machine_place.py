"""Where a machine may stand: in a room."""

from __future__ import annotations

from shapely.geometry import Point

from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan

WALL_M = 0.02
"""A machine this near to a room stands in it [m]: places are typed to the centimetre."""


def check_machine_place(plan: FloorPlan | None, x: float, y: float) -> None:
    """Refuse a machine in a wall or off the plan: nothing would be reckoned within its reach.

    Parameters
    ----------
    plan : FloorPlan or None
        None before it is drawn: then any place will do.
    x, y : float
        [m]

    Raises
    ------
    OptionError
        Naming place and rooms.
    """
    place = Point(x, y)
    if plan is not None and all(one.polygon.distance(place) > WALL_M for one in plan.rooms):
        raise OptionError(
            "this place is in no room",
            value=f"x {x:.2f}, y {y:.2f} m",
            allowed=f"a place in {', '.join(one.name for one in plan.rooms)}",
        )
