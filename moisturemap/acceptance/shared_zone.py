"""Wet zones that lie in rooms of different limits: each limit asks a test of its own part.

Method: docs/method/acceptance.md, rule 10.
"""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd
import shapely
from shapely.geometry import MultiPoint
from shapely.geometry.base import BaseGeometry

from moisturemap.survey import USED_FLAGS, Limit
from moisturemap.zones import MappedVisit
from moisturemap.zones.high_place import HighPlace
from moisturemap.zones.standing_out import BESIDE_M, DRIEST_SHARE
from moisturemap.zones.wettest_part import TOP_SHARE

LEAST_M2 = 0.05
"""A part of a zone smaller than this is the wall or a cell between two rooms; project choice."""


def parts_under_limits(
    study: MappedVisit, limits: Mapping[str, Limit | None]
) -> tuple[HighPlace, ...]:
    """Return the parts of zones to be tested by themselves, as another limit holds there.

    A test in the part under a looser limit says nothing of the part under a stricter one, nor one
    by a method of the limit of another. The looser part is asked by the wettest floor of the zone.

    Parameters
    ----------
    study : MappedVisit
    limits : mapping of str to Limit or None
        By room.
    """
    used = study.readings[study.readings["flag"].isin(USED_FLAGS)].dropna(subset=["x", "y"])
    found: list[HighPlace] = []
    for zone in study.wet.zones.itertuples():
        own = {
            room.name: zone.geometry.intersection(room.polygon)
            for room in study.survey.plan.rooms
            if zone.geometry.intersection(room.polygon).area >= LEAST_M2
        }
        parts: dict[tuple[str, str], dict[float, list[str]]] = {}
        for name in own:
            limit = limits.get(name)
            if limit is not None:
                of_kind = parts.setdefault((limit.method, limit.unit), {})
                of_kind.setdefault(limit.value, []).append(name)
        if sum(map(len, parts.values())) > 1:
            strictest = [of_kind[min(of_kind)] for of_kind in parts.values()]
            found += [_asked(str(zone.zone), names, study, used) for names in strictest]
    return tuple(found)


def _asked(zone: str, names: list[str], study: MappedVisit, used: pd.DataFrame) -> HighPlace:
    """Ask for a test where the part of a zone in some rooms reads wettest."""
    plan, geometry = study.survey.plan, study.wet.zones.set_index("zone").geometry[zone]
    floor: BaseGeometry = shapely.union_all([plan.room(name).polygon for name in names])
    inside = used[used["room"].isin(names)]
    part = geometry.intersection(floor)
    near = shapely.dwithin(shapely.points(inside[["x", "y"]].to_numpy(dtype=float)), part, BESIDE_M)
    own = inside[near].sort_values("value", ascending=False)
    why = f"zone {zone} lies under several limits, the part in {', '.join(names)} under its own"
    if own.empty:
        at = part.representative_point()
        return HighPlace(why, "in that part", names[0], 0.0, None, ((at.x, at.y),), part)
    driest = float(used["value"].quantile(DRIEST_SHARE))
    peak = float(own["value"].iloc[0])
    top = own[own["value"] >= driest + TOP_SHARE * (peak - driest)]
    places = tuple(zip(top["x"].astype(float), top["y"].astype(float), strict=True))
    allowed = MultiPoint(places).buffer(BESIDE_M).intersection(floor)
    room = str(own["room"].iloc[0])
    return HighPlace(why, "where that part reads wettest", room, 0.0, peak, places, allowed)
