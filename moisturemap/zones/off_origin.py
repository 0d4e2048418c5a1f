"""A scan whose readings lie off the plan along one side, and would not, moved by a little.

Method: docs/method/acceptance.md, rule 10.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from moisturemap.geostat import spacing_of
from moisturemap.zones.high_place import HighPlace
from moisturemap.zones.mapped_visit import MappedVisit
from moisturemap.zones.standing_out import LEAST_READINGS

LEAST_OFF = 3
"""Fewer readings off the plan are slips of their own; project choice."""

SHIFTS = (0.5, 1.0, 1.5, 2.0)
"""Moves looked at, in spacings; project choice."""

SIDES = ((1, 0, "east"), (-1, 0, "west"), (0, 1, "north"), (0, -1, "south"))
"""Ways a scan may have to be moved, by plan north."""


def off_origin(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Return the readings of a scan that all lie on the plan once the whole scan is moved.

    Its zones then lie as far from where they are drawn, and so does what was tested in them.

    Parameters
    ----------
    study : MappedVisit
    """
    table = study.readings
    table = table[table["instrument"] == study.clean.instrument.id].dropna(subset=["x", "y"])
    off = (table["flag"] == "off-plan").to_numpy()
    if off.sum() < LEAST_OFF or len(table) < LEAST_READINGS:
        return ()
    places = table[["x", "y"]].to_numpy(dtype=float)
    spacing, floor = spacing_of(np.unique(places, axis=0)), study.survey.plan.outline
    for share in SHIFTS:
        for x, y, side in SIDES:
            move = share * spacing
            if not _all_on(floor, places + np.array([x, y]) * move):
                continue
            why = (
                f"{int(off.sum())} readings lie in no room of the plan, and all {len(table)} would"
                f" lie on it moved {side} by {move:.2g} m or more: the origin of the scan may be"
                " wrong, and the zones then lie elsewhere"
            )
            instead = "put their places or the plan right"
            first = tuple(places[off][0].tolist())
            return (HighPlace(why, "", places=(first,), instead=instead),)
    return ()


def _all_on(floor: shapely.Geometry, places: NDArray[np.float64]) -> bool:
    return bool(shapely.intersects_xy(floor, *places.T).all())
