"""The room air between visits, as far as it moves the drying: warmth and changes of humidity.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.slab import temperature_factor
from moisturemap.survey import Visit

Array = NDArray[np.float64]

LEAST_STEP = 0.03
"""Changes of the air's relative humidity below this (fraction) are left out: one reading of the air
is not surer than that (our choice)."""

WARMTH_C = (5.0, 40.0)
"""Temperatures for which the temperature factor of diffusivity is meant [C]."""


@dataclass(frozen=True)
class AirHistory:
    """Warmth and humidity of the room air since a day.

    The air recorded on a visit is taken as that since the visit before: machines are set after the
    readings of a visit, and the next one finds what they made of the air.

    Attributes
    ----------
    until : tuple of float
        Ends of the intervals [days since the first visit]; the last one goes on.
    warmth : tuple of float
        Speed of drying in each interval, over that at 20 C.
    steps : tuple of (float, float)
        Day of each change of the air's relative humidity, and the change (fraction).
    """

    until: tuple[float, ...] = (0.0,)
    warmth: tuple[float, ...] = (1.0,)
    steps: tuple[tuple[float, float], ...] = ()

    @classmethod
    def of(cls, visits: Sequence[Visit], days: Array, *, common: bool = False) -> AirHistory:
        """Take the air from the records of visits.

        Parameters
        ----------
        visits : sequence of Visit
        days : ndarray, shape (visits,)
            Since the first visit.
        common : bool
            True where dry references take out what air does to all floor alike: then changes of
            humidity are in them already, and only the warmth is used.

        Returns
        -------
        AirHistory
        """
        warmth = [_warmth(one) for one in visits[1:]] or [1.0]
        steps: list[tuple[float, float]] = []
        for index in range(1, len(visits)):
            now, before = visits[index].air_rh_pct, visits[index - 1].air_rh_pct
            # what the first visit found is the air it had until then
            if common or now is None or before is None:
                continue
            change = (now - before) / 100.0
            if abs(change) >= LEAST_STEP:
                steps.append((float(days[index - 1]), change))
        return cls(tuple(float(day) for day in days[1:]) or (0.0,), tuple(warmth), tuple(steps))

    def warm_days(self, days: Array) -> Array:
        """Days at 20 C that dry as much as days since the first visit do, same shape.

        Parameters
        ----------
        days : ndarray, shape (k,)
            Since the first visit.

        Returns
        -------
        ndarray, shape (k,)
            By exp[4700 K (1/293.15 - 1/T)] (Bazant and Najjar, Mater. Struct. 5 (1972) 3; from
            memory).
        """
        edges = np.r_[0.0, self.until]
        passed = np.concatenate([[0.0], np.cumsum(np.diff(edges) * self.warmth)])
        beyond = np.maximum(days - edges[-1], 0.0) * self.warmth[-1]
        return np.asarray(np.interp(days, edges, passed) + beyond)

    def since(self, day: float) -> AirHistory:
        """Return the same air counted from a later day.

        Parameters
        ----------
        day : float
            Since the first visit.

        Returns
        -------
        AirHistory
        """
        left = [(u - day, w) for u, w in zip(self.until, self.warmth, strict=True) if u > day]
        left = left or [(0.0, self.warmth[-1])]
        until, warmth = zip(*left, strict=True)
        steps = tuple((when - day, change) for when, change in self.steps if when >= day)
        return AirHistory(until, warmth, steps)


def _warmth(visit: Visit) -> float:
    """Speed of drying at the temperature of the slab, else of the air; 1 where none is recorded."""
    known = visit.slab_temperature_c
    if known is None:
        known = visit.air_temperature_c
    return 1.0 if known is None else temperature_factor(float(np.clip(known, *WARMTH_C)))
