"""What happens to each machine, as rows of a table.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from moisturemap.equipment.machine import Machine
from moisturemap.equipment.move_words import crowded_out, described_move, listed_off_plan
from moisturemap.equipment.position_words import along_wall, where_words
from moisturemap.equipment.site import Site
from moisturemap.floorplan import shortest_path

Array = NDArray[np.float64]

MOVE_COLUMNS = (
    "machine",
    "kind",
    "action",
    "x",
    "y",
    "direction_deg",
    "new_x",
    "new_y",
    "new_direction_deg",
    "where",
    "way_m",
    "gain_alone",
    "loss_if_left",
    "serves",
    "sentence",
    "geometry",
)
"""``action`` is "move", "turn", "stay", "bring" or "remove"; ``where`` is the new place in words;
``way_m`` is the walk; ``gain_alone`` is the gain over today when only this machine moves,
``loss_if_left`` what is lost over the whole proposal when it alone is left where it stands, both in
percent of what could be served; geometry is the way to the new place, or a point."""

SAME_PLACE_M = 0.05
"""A machine that moves less than this is turned, not moved [m] (our choice)."""


def move_row(site: Site, machine: int, place: int, target: dict[int, int]) -> dict[str, object]:
    """Describe what happens to one machine; keys of ``target`` are machines, values positions."""
    standing = len(site.machines)
    point, heading = site.positions.points[place], float(site.positions.direction_deg[place])
    today = list(range(standing))
    after = site.share([*target.values()])
    others = [where for who, where in target.items() if who != machine]
    if machine < standing:
        one = site.machines[machine]
        alone = [where if who != machine else place for who, where in enumerate(today)]
        gain = site.share(alone) - site.share(today)
        loss = after - site.share([*others, machine])
        moved = math.hypot(point[0] - one.x, point[1] - one.y)
        action = "stay" if place == machine else "turn" if moved < SAME_PLACE_M else "move"
    else:
        letter = "D" if site.kind == "dehumidifier" else "F"
        name = f"new {letter}{machine - standing + 1}"
        one = Machine(name, site.kind, math.nan, math.nan)
        gain = site.share([*today, place]) - site.share(today)
        loss = after - site.share(others)
        action = "bring"
    row = plain_row(one, action)
    path = _path(site, one, point) if action == "move" else Point(*map(float, point))
    row |= {
        "new_x": float(point[0]),
        "new_y": float(point[1]),
        "new_direction_deg": heading,
        "where": where_words(site.plan, float(point[0]), float(point[1])),
        "way_m": float(path.length),
        "gain_alone": gain,
        "loss_if_left": loss,
        "serves": _served(site, place, others),
        "geometry": path,
    }
    wall = (
        ""
        if math.isnan(heading)
        else along_wall(site.plan, float(point[0]), float(point[1]), heading)
    )
    off = action == "move" and _leaves_wet(site, machine, place)
    row["sentence"] = described_move(row, wall, off_the_wet=off)
    if machine < standing and site.plan.room_at(one.x, one.y) is None:
        row["sentence"] += f" {listed_off_plan(row)}"
    return row


def _leaves_wet(site: Site, machine: int, place: int) -> bool:
    """Whether a dehumidifier is moved farther from what it serves, as it stands on wet floor."""
    if site.kind != "dehumidifier":
        return False
    return site.mean_way([place]) > site.mean_way([machine])


def plain_row(one: Machine, action: str, *, crowded: bool = False) -> dict[str, Any]:
    """Begin a row: the machine as it stands; ``crowded`` where it is wanted but finds no place."""
    heading = math.nan if one.direction_deg is None else one.direction_deg
    where = Point(one.x, one.y) if math.isfinite(one.x) else Point()
    row: dict[str, object] = {
        "machine": one.name,
        "kind": one.kind,
        "action": action,
        "x": one.x,
        "y": one.y,
        "direction_deg": heading,
        "new_x": one.x,
        "new_y": one.y,
        "new_direction_deg": heading,
        "where": "",
        "way_m": 0.0,
        "gain_alone": 0.0,
        "loss_if_left": 0.0,
        "serves": "",
        "geometry": where,
    }
    row["sentence"] = crowded_out(row) if crowded else described_move(row, "")
    return row


def _path(site: Site, one: Machine, point: Array) -> BaseGeometry:
    way = shortest_path(site.space, (one.x, one.y), (float(point[0]), float(point[1])))
    return way if way is not None else LineString([(one.x, one.y), tuple(map(float, point))])


def _served(site: Site, place: int, others: Sequence[int]) -> str:
    """Say which wet places a machine serves better than the others do."""
    rest = site.service[list(others)].max(axis=0) if others else np.zeros(site.service.shape[1])
    mine = (site.service[place] > rest) & (site.service[place] > 0)
    if not mine.any():
        return ""
    weight = np.where(mine, site.demand.weight, 0.0)
    names = sorted(
        {str(z) for z in site.demand.zone[mine] if z},
        key=lambda name: -float(weight[site.demand.zone == name].sum()),
    )
    said = [f"zone {name}" for name in names[:3]] or ["wet floor outside the zones"]
    if (site.demand.stagnant & mine).any():
        said.append("floor that does not dry")
    return " and ".join(said)
