"""Water that machines took out, against what the weighed courses say left the floor.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from moisturemap.drying.forecast import Forecast
from moisturemap.drying.mixture import CourseMixture
from moisturemap.survey import MachineLog

Array = NDArray[np.float64]

WATER_KG_M3 = 60.0
WATER_LOG_SD = 0.35
"""Water that a cubic metre of wet concrete gives off down to the room's humidity [kg/m3], and its
log-sd (from memory: sorption curves of w/c 0.4 to 0.7 give 40 to 90 between 97 and 50 %RH)."""

FACTORS = np.exp(WATER_LOG_SD * np.array([-1.28, -0.52, 0.0, 0.52, 1.28]))
"""Middles of five equal parts of the normal distribution (0.1, 0.3, 0.5, 0.7, 0.9)."""


@dataclass(frozen=True)
class WaterBalance:
    """Litres that machines took out, beside those the courses say left the floor.

    Attributes
    ----------
    begin, end : datetime
        First and latest visit.
    taken_l : float
        By all machines with a log [l].
    machines : tuple of str
    left_l, low_l, high_l : float
        What left the wet floor by the courses of slabs, and its 90% interval [l]; NaN where no
        zone has a forecast.
    area_m2 : float
        Wet floor these are for [m2].
    sentence : str
    """

    begin: datetime
    end: datetime
    taken_l: float
    machines: tuple[str, ...]
    left_l: float
    low_l: float
    high_l: float
    area_m2: float
    sentence: str


def water_balance(
    logs: Sequence[MachineLog],
    forecasts: Sequence[Forecast],
    area_m2: float,
    span: tuple[datetime, datetime],
) -> WaterBalance | None:
    """Set the litres of the machines against the floor; None where no log tells litres.

    Parameters
    ----------
    logs : sequence of MachineLog
    forecasts : sequence of Forecast
        Of the zones, with their weighed courses.
    area_m2 : float
        Mean wet area over the visits [m2].
    span : tuple of datetime
        First and latest visit.

    Returns
    -------
    WaterBalance or None
        [l]
    """
    begin, end = span
    taken = {one.machine: one.total("litres", begin, end) for one in logs}
    told = {name: litres for name, litres in taken.items() if litres is not None}
    if not told:
        return None
    parts = [
        (one.mixture, float(one.course.days[-1]))
        for one in forecasts
        if one.mixture is not None and one.course is not None
    ]
    total = float(sum(told.values()))
    middle, low, high = (math.nan,) * 3
    if parts and area_m2 > 0.0:
        middle, low, high = _left(parts, area_m2)
    said = _sentence(total, tuple(told), (middle, low, high), area_m2, span)
    return WaterBalance(begin, end, total, tuple(told), middle, low, high, area_m2, said)


def _left(
    parts: Sequence[tuple[CourseMixture, float]], area_m2: float
) -> tuple[float, float, float]:
    """Median and 5% and 95% points of the litres that left the floor, by the slab members."""
    litres, weights = [], []
    for mixture, until in parts:
        loss, weight = mixture.depth_loss(until)
        litres.append(np.outer(loss, FACTORS).ravel() * WATER_KG_M3 * area_m2)
        weights.append(np.repeat(weight / weight.sum() / FACTORS.size, FACTORS.size))
    value, weight = np.concatenate(litres), np.concatenate(weights)
    order = np.argsort(value)
    share = np.cumsum(weight[order]) / weight.sum()
    at = np.searchsorted(share, [0.5, 0.05, 0.95]).clip(0, value.size - 1)
    middle, low, high = value[order][at]
    return float(middle), float(low), float(high)


def _sentence(
    taken: float,
    machines: tuple[str, ...],
    left: tuple[float, float, float],
    area_m2: float,
    span: tuple[datetime, datetime],
) -> str:
    begin, end = span
    one = len(machines) == 1
    head = (
        f"{' and '.join(machines)} took out {_litres(taken)} between {begin:%Y-%m-%d} and "
        f"{end:%Y-%m-%d}."
    )
    bound = (
        " That is an upper bound of what left the floor: "
        + ("the machine" if one else "the machines")
        + " also collected water of the room air, of walls and of contents."
    )
    _, low, high = left
    if not math.isfinite(low):
        return f"{head}{bound} Without a forecast the share of the floor cannot be told."
    model = (
        f" By diffusion between {_litres(low)} and {_litres(high)} left the {area_m2:.0f} m2 of "
        "wet floor (90% interval)."
    )
    if taken < low:
        return (
            f"{head}{model} Less was taken out than the floor is thought to have lost: some went "
            "with the air of the room, or the floor dries more slowly than thought."
        )
    return f"{head}{bound}{model}"


def _litres(value: float) -> str:
    """Litres to a tenth below 10, whole above, and 0 where there is less than half a tenth."""
    if value < 0.05:
        return "0 l"
    return f"{value:.1f} l" if value < 9.95 else f"{value:.0f} l"
