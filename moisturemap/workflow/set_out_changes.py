"""What another plan would change in the set-out of holes that were issued."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shapely.geometry import Point

from moisturemap.drilling import set_out
from moisturemap.floorplan import FloorPlan
from moisturemap.survey import IssuedHole


@dataclass(frozen=True)
class SetOutChange:
    """An issued hole whose tape distances another plan changes.

    Attributes
    ----------
    hole : str
    before, after : tuple of (str, float)
        Walls or corners and the tape distances [m] from them; empty where none fix the place or
        it lies in no room.
    """

    hole: str
    before: tuple[tuple[str, float], ...]
    after: tuple[tuple[str, float], ...]


def set_out_changes(
    before: FloorPlan,
    after: FloorPlan,
    holes: Sequence[IssuedHole],
    moved: Mapping[str, tuple[float, float]] | None = None,
) -> list[SetOutChange]:
    """Return the holes that get other distances from the walls.

    Parameters
    ----------
    before, after : FloorPlan
    holes : sequence of IssuedHole
        Those withdrawn are left out.
    moved : mapping, optional
        By how much holes move along with a part of the plan, by name [m].
    """
    found = []
    for hole in holes:
        if hole.withdrawn:
            continue
        dx, dy = (moved or {}).get(hole.hole, (0.0, 0.0))
        then, now = _tapes(before, hole.x, hole.y), _tapes(after, hole.x + dx, hole.y + dy)
        if then != now:
            found.append(SetOutChange(hole.hole, then, now))
    return found


def _tapes(plan: FloorPlan, x: float, y: float) -> tuple[tuple[str, float], ...]:
    room = next((one for one in plan.rooms if one.polygon.intersects(Point(x, y))), None)
    if room is None:
        return ()
    tape = set_out(room, x, y)
    pairs = ((tape.from_a, tape.distance_a), (tape.from_b, tape.distance_b))
    return tuple((name, distance) for name, distance in pairs if name)
