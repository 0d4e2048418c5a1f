"""What water a slab meets, and when: the boundary conditions of a simulated history."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Feed:
    """Water, vapour or room air that cells of histories meet for a time.

    Attributes
    ----------
    share : ndarray, shape (rows, n)
        Which cells meet it: 1, a share, or 0.
    film : ndarray, shape (rows,)
        Coefficient of exchange [mm/day].
    humidity : ndarray, shape (rows,)
        Of what is met (fraction).
    start, end : ndarray, shape (rows,)
        [days]
    period : ndarray, shape (rows,), optional
        Length of a cycle [days]; 0 meets it all the time.
    duty : ndarray, shape (rows,), optional
        Share of each cycle.
    phase : ndarray, shape (rows,), optional
        Where in its cycle a history starts, 0 to 1.
    """

    share: Array
    film: Array
    humidity: Array
    start: Array
    end: Array
    period: Array | None = None
    duty: Array | None = None
    phase: Array | None = None

    def active(self, now: float, then: float) -> Array:
        """Share of a step during which it is met, shape (rows,)."""
        overlap = np.minimum(self.end, then) - np.maximum(self.start, now)
        on = np.clip(overlap / (then - now), 0.0, 1.0)
        if self.period is None or self.duty is None or self.phase is None:
            return on
        length = np.maximum(self.period, 1e-6)
        first = _met(now / length + self.phase, self.duty)
        last = _met(then / length + self.phase, self.duty)
        return np.asarray(on * np.clip((last - first) * length / (then - now), 0.0, 1.0))


def _met(turns: Array, duty: Array) -> Array:
    """Cycles met up to a number of turns: the first share of each."""
    whole = np.floor(turns)
    return np.asarray(whole * duty + np.minimum(turns - whole, duty))


@dataclass(frozen=True)
class Feeds:
    """All feeds of a set of histories; the ``exchange`` of :func:`moisturemap.slab.follow`."""

    feeds: Sequence[Feed]

    def __call__(self, now: float, then: float) -> tuple[Array, Array]:
        """Return coefficient [mm/day] and humidity of what each cell meets, shape (rows, n)."""
        total = np.zeros_like(self.feeds[0].share)
        drawn = np.zeros_like(total)
        for feed in self.feeds:
            met = feed.share * (feed.film * feed.active(now, then))[:, None]
            total += met
            drawn += met * feed.humidity[:, None]
        return total, np.where(total > 0.0, drawn / np.maximum(total, 1e-12), 0.0)
