"""How far a test stands from the depth at which rules judge a slab."""

from __future__ import annotations

import math
from collections.abc import Hashable

import pandas as pd

from moisturemap.floorplan import FloorPlan
from moisturemap.slab import EQUIVALENT_DEPTH


def off_rule_depth(tests: pd.DataFrame, plan: FloorPlan) -> list[float | None]:
    """Return for each test how far it is from the depth ASTM F2170 names [mm].

    The depth is 40% of the thickness of a slab that dries from one face, 20% from two; None
    where depth, thickness or room are not known. The thickness at the test itself counts first.
    """
    return [_off(row, plan) for row in tests.to_dict("records")]


def _off(row: dict[Hashable, object], plan: FloorPlan) -> float | None:
    depth, x, y = (_number(row.get(name)) for name in ("depth_mm", "x", "y"))
    if depth is None or x is None or y is None:
        return None
    room = plan.room_at(x, y)
    slab = room.slab if room else None
    if slab is None:
        return None
    thickness = _number(row.get("thickness_mm")) or slab.thickness_mm
    share = EQUIVALENT_DEPTH.get(slab.open_faces or 0)
    return None if thickness is None or share is None else abs(depth - share * thickness)


def _number(value: object) -> float | None:
    number = float(value) if isinstance(value, int | float) else math.nan
    return None if math.isnan(number) else number
