"""Wet floor that a visit soon after read as dry: faster than floor dries.

Method: ``docs/method/acceptance.md``, rule 10.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.geostat import spacing_of
from moisturemap.survey import USED_FLAGS, CleanReadings, Survey, Visit
from moisturemap.zones.high_place import HighPlace
from moisturemap.zones.mapped_visit import MappedVisit
from moisturemap.zones.standing_out import (
    BESIDE_M,
    BESIDE_SPACINGS,
    LEAST_READINGS,
    NEIGHBOURS,
    clear_of,
    groups,
    usual_and_far,
)
from moisturemap.zones.wettest_part import TOP_SHARE

Array = NDArray[np.float64]

_Scan = tuple[str, datetime | None, Array]

SOON = timedelta(hours=72)
"""A scan this soon after another cannot show the same floor dried out; as for calibrated results
(project choice)."""

KEPT_SHARE = 0.5
"""Wet floor keeps this share of its height above the middle of its scan for so long; project
choice."""

FEWEST = 2
"""So many neighbours are wet floor; one high reading that is read again at once was a slip."""


def fell_fast(survey: Survey, study: MappedVisit) -> tuple[HighPlace, ...]:
    """Return places that stood above the wet level and that a scan soon after read far lower.

    Of two scans within ``SOON`` one was of another place, another mode of the meter or another
    floor, and nobody can tell which: neither order nor a clock settles it, a test does.

    Parameters
    ----------
    survey : Survey
    study : MappedVisit
        The map of the latest visit.
    """
    if len(survey.visits) < 2:
        return ()
    level = study.wet.level.value
    return fallen_readings(survey, study.visit, study.clean, study.readings, level)


def fallen_readings(
    survey: Survey,
    visit: Visit,
    clean: CleanReadings,
    readings: pd.DataFrame,
    level: float | None,
) -> tuple[HighPlace, ...]:
    """Return such places where no map is drawn yet.

    Parameters
    ----------
    survey : Survey
    visit : Visit
        The latest.
    clean : CleanReadings
        Of it.
    readings : DataFrame
        Those readings with their ``flag``.
    level : float or None
        Wet level [reading units].
    """
    used = readings[readings["flag"].isin(USED_FLAGS)]
    value = used["value"].to_numpy(dtype=float)
    if len(value) < LEAST_READINGS:
        return ()
    bar = usual_and_far(survey, visit, clean, value)[1]
    bar = bar if level is None else min(bar, clear_of(level, clean))
    scans = scans_of(survey, clean.instrument.id)
    found: tuple[HighPlace, ...] = ()
    for number, (name, began, scan) in enumerate(scans):
        fallen = _fallen(scan, began, scans[number + 1 :], bar)
        near = NEIGHBOURS * spacing_of(scan[:, :2])
        for group in groups(fallen[:, :2], near):
            if len(group) >= FEWEST:
                found += (_asked(fallen[group], float(np.median(scan[:, 2])), name, near),)
    return tuple(sorted(found, key=lambda one: -(one.value or 0.0)))


def scans_of(survey: Survey, instrument: str) -> list[_Scan]:
    """Return name, start and places with the mean of their readings (n, 3) of a meter's scans."""
    own = survey.readings.dropna(subset=["x", "y", "value"])
    own = own[own["instrument"] == instrument]
    scans: list[_Scan] = []
    for visit in survey.visits:
        placed = own[own["visit"] == visit.id].groupby(["x", "y"], as_index=False)["value"].mean()
        if len(placed) >= LEAST_READINGS:
            scans.append((visit.id, visit.started, placed.to_numpy(dtype=float)))
    return scans


def _fallen(scan: Array, began: datetime | None, later: list[_Scan], bar: float) -> Array:
    """Return wet rows of a scan (n, 3) of which the last that read them again was low and soon."""
    high = scan[scan[:, 2] > bar]
    low = np.zeros(len(high), dtype=bool)
    middle = float(np.median(scan[:, 2]))
    reach = max(BESIDE_M, BESIDE_SPACINGS * spacing_of(scan[:, :2]))
    for _, started, again in later:
        apart, at = cKDTree(again[:, :2]).query(high[:, :2])
        # a few places read again may all be wet: their own middle is no dry floor
        rose = again[at, 2] - min(middle, float(np.median(again[:, 2])))
        soon = began is None or started is None or started - began <= SOON
        kept = rose >= KEPT_SHARE * (high[:, 2] - middle)
        low = np.where(apart <= reach, soon & ~kept, low)
    return high[low]


def _asked(group: Array, middle: float, visit: str, near: float) -> HighPlace:
    """Ask for a test where a group of fallen readings (n, 3) stood highest."""
    top = group[np.argsort(-group[:, 2], kind="stable")]
    why = (
        f"{len(group)} readings of visit {visit} above the wet level were read again within"
        " 72 hours, or at no stated time, and had lost more than half of their height: floor hardly"
        " dries so fast, and which scan speaks for it is open"
    )
    line = middle + TOP_SHARE * (top[0, 2] - middle)
    places = tuple((float(x), float(y)) for x, y, value in top if value >= line)
    within = max(BESIDE_M, BESIDE_SPACINGS * near / NEIGHBOURS)
    return HighPlace(why, "at the highest of them", "", within, float(top[0, 2]), places)
