"""Calibrated humidity at depth, as far as it tells the courses of a zone apart.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.drying.air_history import AirHistory
from moisturemap.drying.courses import Courses
from moisturemap.errors import OptionError
from moisturemap.slab import near_surface

Array = NDArray[np.float64]

EXCESS_SD = 0.07
"""sd of the excess at depth, as a share of that before drying: a probe's 2 %RH, the slab's scatter
and an unknown start together (our choice; 3 %RH of 45 %RH is 0.07)."""

ROOM_RH_PCT = 50.0
"""Room air where none is recorded [%RH] (our choice)."""


@dataclass(frozen=True, slots=True)
class DepthTest:
    """A humidity read in a hole in or beside a zone.

    Attributes
    ----------
    x, y : float
        [m]
    day : float
        Since the first visit [days]; below 0 before it.
    depth_mm : float
        Below the top face [mm].
    rh_pct : float
        [%RH]
    air_rh_pct : float
        Of the room [%RH].
    """

    x: float
    y: float
    day: float
    depth_mm: float
    rh_pct: float
    air_rh_pct: float = ROOM_RH_PCT

    def __post_init__(self) -> None:
        for name in ("rh_pct", "air_rh_pct"):
            value = getattr(self, name)
            if not 0.0 <= value <= 100.0:
                message = f"{name} is a relative humidity"
                raise OptionError(message, value=value, allowed="0 to 100 %RH")
        if not self.depth_mm > 0.0:
            message = "the depth of a test is below the top face"
            raise OptionError(message, value=self.depth_mm, allowed="above 0 mm")


def depth_prior(tests: Sequence[DepthTest], courses: Courses, air: AirHistory) -> Array | None:
    """Log weight of each member from tests at depth; None without any.

    A slab says what stands at a depth; an exponential does not. Exponentials get the mean weight of
    the slabs, so that tests choose among slabs and not between slabs and exponentials.
    """
    if not tests:
        return None
    library = near_surface()
    start = library.start[courses.slab]
    log = np.zeros(courses.slab.size)
    for test in tests:
        expected, share = courses.humidity(max(test.day, 0.0), test.depth_mm, air)
        room = test.air_rh_pct / 100.0
        excess = (test.rh_pct / 100.0 - room) / np.maximum(start - room, 0.05)
        apart = (excess - expected) / EXCESS_SD
        # a slab thinner than the hole is deep is not this slab
        log += np.where(share <= 1.05, -0.5 * apart**2, -20.0)
    top = float(log.max())
    mean = top + float(np.log(np.mean(np.exp(log - top))))
    others = np.full(courses.held.size - courses.slab.size, mean)
    return np.asarray(np.concatenate([log, others]) - mean)
