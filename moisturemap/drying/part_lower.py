"""Parts of the floor that a visit read lower, dry places and all: not read, as far as drying goes.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from moisturemap.mapping import MoistureSurface
from moisturemap.survey import DOUBTED, CleanReadings, Survey
from moisturemap.zones.part_fell import dry_reading, places_read_lower, usual_drift

Array = NDArray[np.float64]

READ_LOWER = "lies in a part that reads lower, dry floor and all, while the rest stayed"
"""Why such a reading is set aside."""


def without_lower_parts(
    clean: Sequence[CleanReadings], survey: Survey, level: float | None
) -> list[CleanReadings]:
    """Set aside the places of each visit that lie in a part read lower as a whole.

    Parameters
    ----------
    clean : sequence of CleanReadings
        Oldest first, of one meter.
    survey : Survey
    level : float or None
        Wet level [reading units]; nothing is set aside without one.
    """
    if level is None or len(clean) < 2:
        return list(clean)
    scans = [_places(one) for one in clean]
    drift, dry = usual_drift(clean[-1], scans[-1][:, 2]), dry_reading(survey, clean[-1])
    masks, _ = places_read_lower(scans, level, drift, dry)
    return [
        _without(one, mask) if mask.any() else one for one, mask in zip(clean, masks, strict=True)
    ]


def _places(clean: CleanReadings) -> Array:
    return np.asarray(clean.locations[["x", "y", "value"]].to_numpy(dtype=float))


def _without(clean: CleanReadings, lower: NDArray[np.bool_]) -> CleanReadings:
    readings = clean.readings.copy()
    gone = readings["location"].isin(clean.locations.loc[lower, "location"])
    readings.loc[gone, ["flag", "location", "reason"]] = [DOUBTED, -1, READ_LOWER]
    return replace(clean, readings=readings, locations=clean.locations[~lower])


def _lower(clean: CleanReadings) -> pd.DataFrame:
    """Return the readings of a visit that were set aside so."""
    return pd.DataFrame(clean.readings[clean.readings["reason"] == READ_LOWER])


def as_read_before(
    levels: tuple[MoistureSurface, ...], clean: Sequence[CleanReadings]
) -> tuple[MoistureSurface, ...]:
    """Show what was set aside on a visit as the visit before maps it.

    Parameters
    ----------
    levels : tuple of MoistureSurface
        One a visit.
    clean : sequence of CleanReadings
    """
    shown = list(levels)
    for number in range(1, len(shown)):
        lower = _lower(clean[number])[["x", "y"]].to_numpy(dtype=float)
        if not len(lower):
            continue
        now, before = shown[number], shown[number - 1]
        kept = clean[number].locations[["x", "y"]].to_numpy(dtype=float)
        rows, columns = np.nonzero(now.grid.inside)
        cells = np.column_stack([now.grid.x[columns], now.grid.y[rows]])
        apart = [np.asarray(cKDTree(points).query(cells)[0]) for points in (lower, kept)]
        inside = np.zeros(now.grid.shape, dtype=np.bool_)
        inside[rows, columns] = apart[0] < apart[1]
        mean, sd = np.where(inside, before.mean, now.mean), np.where(inside, before.sd, now.sd)
        patched = replace(now, mean=mean, sd=sd)
        shown[number] = patched.with_wet_level(now.wet_level, now.unlevelled)
    return tuple(shown)


def read_lower(clean: CleanReadings) -> bool:
    """Whether a part of a visit was set aside so."""
    return not _lower(clean).empty


def lower_sentence(clean: CleanReadings) -> str:
    """Say which part of a visit was set aside so; "" for none.

    Parameters
    ----------
    clean : CleanReadings
    """
    lower = _lower(clean)
    if lower.empty:
        return ""
    rooms = ", ".join(dict.fromkeys(lower["room"].astype(str)))
    (x0, y0), (x1, y1) = (getattr(lower[["x", "y"]], one)() for one in ("min", "max"))
    return (
        f"On {clean.visit.id} {len(lower)} readings in {rooms}, between ({x0:.2f}, {y0:.2f}) and "
        f"({x1:.2f}, {y1:.2f}), are lower by one amount, dry floor and all, while the rest "
        "stayed: another pad, pressure or setting as likely as drying. That fall is not counted as "
        "drying, and the floor there counts as it was read before: read that part again as on the "
        "visits before."
    )


def zone_read_lower(clean: CleanReadings, zone: BaseGeometry, name: str) -> str:
    """Say that a zone lies in such a part and has no latest day; "" where it does not.

    Parameters
    ----------
    clean : CleanReadings
        Of the latest visit.
    zone : shapely geometry
        [m]
    name : str
        Of the zone.
    """
    lower = _lower(clean)
    if lower.empty or not shapely.intersects_xy(zone, lower["x"], lower["y"]).any():
        return ""
    return (
        f"Zone {name} lies in a part that reads lower on {clean.visit.id}, dry floor and all, so "
        "no latest day is given. Read that part again as on the visits before."
    )
