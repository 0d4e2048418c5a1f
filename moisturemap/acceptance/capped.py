"""Readings a meter could not tell the height of, below the wet level: ">55" under a level of 60."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely

from moisturemap.geostat import spacing_of
from moisturemap.survey import USED_FLAGS
from moisturemap.zones import MappedVisit
from moisturemap.zones.high_place import HighPlace
from moisturemap.zones.standing_out import NEIGHBOURS, groups

INSTEAD = "read there again on a range that reaches above the wet level"


def capped(study: MappedVisit) -> tuple[HighPlace, ...]:
    """Return the places outside the zones that read at or above an end below the wet level.

    What was read there may be anything above; a test at one says nothing of the next.

    Parameters
    ----------
    study : MappedVisit
    """
    level, readings = study.wet.level.value, study.readings.dropna(subset=["x", "y", "value"])
    if level is None or readings.empty:
        return ()
    used = readings[readings["flag"].isin(USED_FLAGS)]
    own = used[(used["censored"] == "above") & (used["value"] <= level)]
    places = own[["x", "y"]].to_numpy(dtype=float)
    own = own[~shapely.intersects_xy(study.wet.zones.union_all(), *places.T)]
    near = NEIGHBOURS * spacing_of(np.unique(used[["x", "y"]].to_numpy(dtype=float), axis=0))
    found = []
    for group in groups(own[["x", "y"]].to_numpy(dtype=float), near):
        rows = own.iloc[group]
        least, x, y = float(rows["value"].min()), float(rows["x"].iloc[0]), float(rows["y"].iloc[0])
        count = "1 reading is" if len(rows) == 1 else f"{len(rows)} readings are"
        why = (
            f"{count} only known to be at or above {least:g}, around ({x:.2f}, {y:.2f}), and may be"
            f" above the wet level {level:g}"
        )
        one = HighPlace(why, "there", value=least, places=((x, y),))
        found.append(one if len(rows) == 1 else replace(one, instead=INSTEAD))
    return tuple(found)
