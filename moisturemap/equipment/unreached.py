"""Wet floor that no machine serves, and why.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from moisturemap.equipment.air_space import is_shut
from moisturemap.equipment.placement_options import PlacementOptions
from moisturemap.equipment.site import Site
from moisturemap.floorplan import FloorPlan

Mask = NDArray[np.bool_]

WORTH_SAYING = 0.5
"""Percent of the wet floor's need from which unreached floor is said."""

AT_DOOR_M = 0.4
"""A door this near to a room leads into it [m]."""

CAUSES = {
    "closed-door": "the door {doors} is closed",
    "no-door": "no door is drawn to it",
    "power": "no power point lies within {cable:g} m of cable",
    "machines": "there are fewer machines than parts of the floor",
}

ADVICE = {
    "closed-door": "open it and keep it open",
    "no-door": "draw the open door in the plan if there is one",
    "power": "have a competent person lead power there from a protected circuit",
    "machines": "bring one more, or dry one part after the other",
}


@dataclass(frozen=True, slots=True)
class UnreachedFloor:
    """A room with wet floor that the air of no machine of a kind reaches.

    Attributes
    ----------
    kind : str
        Of the machines.
    room : str
    share_pct : float
        Of the wet floor's need [%].
    causes : tuple of str
        Of ``CAUSES``.
    words, advice : str
        The causes in words, and what to do.
    sentence : str
    """

    kind: str
    room: str
    share_pct: float
    causes: tuple[str, ...]
    words: str
    advice: str
    sentence: str


def unreached_floor(
    site: Site, chosen: list[int], options: PlacementOptions
) -> tuple[UnreachedFloor, ...]:
    """Name the rooms whose wet floor no proposed machine reaches, and why.

    Of air movers: the rooms beside whose wet floor none can stand, because no power is near.

    Parameters
    ----------
    site : Site
    chosen : list of int
        Positions proposed.
    options : PlacementOptions
    """
    mover = site.kind == "air-mover"
    lost = _out_of_any_stream(site) if mover else ~site.reached(chosen)
    if not chosen or not lost.any():
        return ()
    points, weight = site.demand.points, site.demand.weight
    found = []
    for room in site.plan.rooms:
        shapely.prepare(room.polygon)
        here = lost & shapely.intersects_xy(room.polygon, points[:, 0], points[:, 1])
        share = 100.0 * float(weight[here].sum() / weight.sum())
        if share < WORTH_SAYING:
            continue
        doors = _closed_doors(site.plan, room.name, options)
        causes = _causes(site, room.name, here, doors)
        if mover:
            causes = (*(one for one in causes if one in ("closed-door", "no-door")), "power")
        words = " and ".join(
            CAUSES[one].format(doors=", ".join(doors), cable=options.cable_m) for one in causes
        )
        advice = "; or ".join(ADVICE[one] for one in causes)
        sentence = _sentence(site.kind, room.name, share, words, advice)
        found.append(UnreachedFloor(site.kind, room.name, share, causes, words, advice, sentence))
    return tuple(found)


def _sentence(kind: str, name: str, share: float, words: str, advice: str) -> str:
    mover = kind == "air-mover"
    what = "Not in the stream of any air mover" if mover else "Not reached"
    end = "" if mover else " It is left out of the distances."
    return (
        f"{what}: the wet floor of {name}, {share:.0f}% of the need, because {words}. "
        f"What to do: {advice}.{end}"
    )


def unreached_sentences(lost: Sequence[UnreachedFloor]) -> tuple[str, ...]:
    """Say the rooms that the same keeps a kind of machine out of in one sentence.

    A room that the same keeps both kinds out of is said once.
    """
    dry = {(one.room, one.causes) for one in lost if one.kind == "dehumidifier"}
    alike: dict[tuple[str, str, str], list[UnreachedFloor]] = {}
    for one in lost:
        if one.kind == "dehumidifier" or (one.room, one.causes) not in dry:
            alike.setdefault((one.kind, one.words, one.advice), []).append(one)
    return tuple(
        _sentence(
            kind, ", ".join(one.room for one in here), sum(o.share_pct for o in here), words, advice
        )
        for (kind, words, advice), here in alike.items()
    )


def _out_of_any_stream(site: Site) -> Mask:
    """Wet places that no position within the cable serves; none where power is not limited."""
    free = site.service[len(site.machines) :]
    if not site.plan.lines_of("power-point") or not len(free):
        return np.zeros(len(site.demand.points), dtype=bool)
    return np.asarray(free.max(axis=0) <= 0.0)


def _closed_doors(plan: FloorPlan, room: str, options: PlacementOptions) -> tuple[str, ...]:
    outline = plan.room(room).polygon
    return tuple(
        door.name or "without a name"
        for door in plan.lines_of("door")
        if is_shut(door.name, options.closed_doors) and door.geometry.distance(outline) <= AT_DOOR_M
    )


def _has_door(plan: FloorPlan, room: str) -> bool:
    """Whether a door is drawn between a room and another one."""
    outline = plan.room(room).polygon
    others = [one.polygon for one in plan.rooms if one.name != room]
    return not others or any(
        door.geometry.distance(outline) <= AT_DOOR_M
        and any(door.geometry.distance(one) <= AT_DOOR_M for one in others)
        for door in plan.lines_of("door")
    )


def _causes(site: Site, room: str, here: Mask, doors: tuple[str, ...]) -> tuple[str, ...]:
    """Tell why the places of a room are not reached."""
    causes = []
    if doors:
        causes.append("closed-door")
    elif not _has_door(site.plan, room):
        causes.append("no-door")
    free = site.way[len(site.machines) :][:, here]
    if not np.isfinite(free).any():
        causes.append("power")
    elif not causes:
        causes.append("machines")
    return tuple(causes)
