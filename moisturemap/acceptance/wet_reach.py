"""How far a test speaks for wet floor, whatever zones the map made of it.

Method: ``docs/method/acceptance.md``, rule 10.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.geostat import spacing_of
from moisturemap.survey import CONTESTED, USED_FLAGS
from moisturemap.zones import MappedVisit
from moisturemap.zones.standing_out import (
    BESIDE_M,
    BESIDE_SPACINGS,
    LEAST_READINGS,
    clear_level,
    far_above,
)
from moisturemap.zones.wettest_part import TOP_SHARE

Array = NDArray[np.float64]


@dataclass(frozen=True)
class WetReadings:
    """Readings of a scan by their height above the usual floor.

    Attributes
    ----------
    places : ndarray, shape (n, 2)
        Where they were taken [m].
    value, height : ndarray, shape (n,)
        As read, and above what usual floor reads [reading units].
    wet : ndarray of bool, shape (n,)
        Those clearly above the wet level, or far above the floor.
    room : ndarray of str, shape (n,)
    within_m : float
        A test this near stands at a reading [m].
    """

    places: Array
    value: Array
    height: Array
    wet: NDArray[np.bool_]
    room: NDArray[np.str_]
    within_m: float

    def beyond(self, tests: Array, reach: float) -> NDArray[np.intp]:
        """Return the wet readings of which no test speaks, the highest first.

        A test speaks for those within reach of it that are not far higher than what it stands on:
        it has three quarters of their height at least.

        Parameters
        ----------
        tests : ndarray, shape (k, 2)
            Places of valid tests [m].
        reach : float
            How far a test speaks for wet floor [m].
        """
        at, left = cKDTree(self.places), self.wet.copy()
        for test in tests:
            beside = at.query_ball_point(test, self.within_m)
            if beside:
                top = float(self.height[beside].max())
                near = np.hypot(*(self.places - test).T) <= reach
                left &= ~(near & (TOP_SHARE * self.height <= top))
        found = np.flatnonzero(left)
        return found[np.argsort(-self.value[found], kind="stable")]


def wet_readings(study: MappedVisit) -> WetReadings | None:
    """Return the readings of a scan by height; None of a scan too thin to tell wet floor.

    What left the map as a thing and what may be one is not among them: other rules ask for it.
    """
    used = study.readings[study.readings["flag"].isin(USED_FLAGS)].dropna(subset=["x", "y"])
    if len(used) < LEAST_READINGS:
        return None
    value = used["value"].to_numpy(dtype=float)
    usual, bar = far_above(study, value)
    clear = clear_level(study)
    wet = value > (bar if clear is None else min(bar, clear))
    wet &= (used["flag"] != CONTESTED).to_numpy()
    places = used[["x", "y"]].to_numpy(dtype=float)
    within = max(BESIDE_M, BESIDE_SPACINGS * spacing_of(np.unique(places, axis=0)))
    room = used["room"].to_numpy(dtype=str)
    return WetReadings(places, value, value - usual, wet, room, within)
