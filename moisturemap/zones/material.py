"""Of which material a wet level is, and the floor it tells nothing of.

What a material reads when dry is its own. Method: docs/method/zones.md, "One level, one material".
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from moisturemap.floorplan import FloorPlan, domains
from moisturemap.survey import Survey
from moisturemap.zones.zones import WetLevel


def unlevelled_domains(level: WetLevel | None, plan: FloorPlan) -> tuple[str, ...]:
    """Return the keys of domains of another material than a wet level is of.

    Rooms whose material nobody stated count as of the level's.

    Parameters
    ----------
    level : WetLevel or None
    plan : FloorPlan
    """
    if level is None or level.value is None or not level.base:
        return ()
    return tuple(
        one.key
        for one in domains(plan)
        if base_of(plan, one.rooms[0]) and not _alike(base_of(plan, one.rooms[0]), level.base)
    )


def levels_by_domain(level: WetLevel | None, plan: FloorPlan) -> dict[str, float]:
    """Return the wet level of each domain that it holds for.

    Parameters
    ----------
    level : WetLevel or None
    plan : FloorPlan
    """
    if level is None or level.value is None:
        return {}
    others = unlevelled_domains(level, plan)
    return {one.key: level.value for one in domains(plan) if one.key not in others}


def base_of(plan: FloorPlan, room: str) -> str:
    """Material of a room; "" of none and where it is not stated."""
    return next((one.slab.base.strip() for one in plan.rooms if one.name == room), "")


def no_level_words(rooms: Sequence[str]) -> str:
    """Say of rooms without a wet level that wet floor may be unseen there; "" without any."""
    if not rooms:
        return ""
    return (
        f"No wet level for {', '.join(rooms)}: no wet zone is drawn there, and wet floor may be "
        "unseen."
    )


def _alike(base: str, other: str) -> bool:
    return base.strip().casefold() == other.strip().casefold()


def one_level_for(survey: Survey, base: str = "") -> str:
    """Say what the one level of a survey tells nothing of; "" where all was read on one material.

    What a material reads when dry is its own: a level of one hides wet floor of another, or draws
    dry floor as wet.

    Parameters
    ----------
    survey : Survey
    base : str
        Material the level is of; "" where nobody says.
    """
    places = survey.readings[["x", "y"]].to_numpy(dtype=float)
    names: dict[str, list[str]] = {}
    for room in survey.plan.rooms:
        if room.slab.base and shapely.intersects_xy(room.polygon, *places.T).any():
            names.setdefault(room.slab.base.strip().lower(), []).append(room.name)
    others = [name for name in names if not _alike(name, base)]
    if base and others:
        of = " and ".join(f"{', '.join(names[one])} ({one})" for one in others)
        return (
            f"No wet level for {of}: the one used is of {base}, and what one "
            "material reads when dry tells nothing of another. No wet zone is drawn there, and "
            "wet floor there may be unseen: test where it reads highest, and keep a survey of "
            "that material with dry readings of its own."
        )
    if len(others) < 2:
        return ""
    return (
        f"One wet level is held against {' and '.join(names)}, which read differently when dry: "
        "wet floor of one may stay below it, dry floor of another above. Say in [scan] base which "
        "of them it is of, and keep a survey of each material, with a level of its own."
    )
