"""Humidity at depth over the visits: what loggers in holes and tests read, place by place.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moisturemap.drying.compare import DryingProgress
from moisturemap.survey import TEST_METHODS, Limit, Survey

Array = NDArray[np.float64]


@dataclass(frozen=True)
class DepthCourse:
    """Humidity at one place and depth over time.

    Attributes
    ----------
    name : str
        Logger, or hole of the tests.
    depth_mm : float
        [mm]
    day, rh, low, high : ndarray, shape (n,)
        Days since the first visit; mean, lowest and highest humidity [%RH].
    logged : bool
        By a logger, else by tests.
    tests : tuple of str
        Keys of the tests, one for each day; empty of a logger.
    """

    name: str
    depth_mm: float
    day: Array
    rh: Array
    low: Array
    high: Array
    logged: bool
    tests: tuple[str, ...] = ()


def depth_courses(drying: DryingProgress, survey: Survey) -> list[DepthCourse]:
    """Return what loggers in holes and tests read at depth, the shallowest first.

    Empty where nothing was followed: no logger in a hole over two days, and no tests at two depths
    or on two days.

    Parameters
    ----------
    drying : DryingProgress
    survey : Survey
        Its tests.

    Returns
    -------
    list of DepthCourse
    """
    start = drying.series.visits[0].started
    if start is None:
        return []
    tested = _tested(survey, start)
    followed = sum(one.day.size for one in tested) > 1
    found = [*_logged(drying.logs.curves), *(tested if followed else [])]
    return sorted(found, key=lambda one: (one.depth_mm, one.name))


def _logged(curves: pd.DataFrame) -> list[DepthCourse]:
    inside = curves[(curves["place"] == "hole") & curves["rh_pct"].notna()]
    found = []
    for name, rows in inside.groupby("logger", sort=False):
        if len(rows) > 1:
            mean, low, high = (
                rows[column].to_numpy(dtype=float)
                for column in ("rh_pct", "rh_low_pct", "rh_high_pct")
            )
            # a day's mean stands at its middle
            day = rows["day"].to_numpy(dtype=float) + 0.5
            depth = float(rows["depth_mm"].iloc[0])
            found.append(DepthCourse(str(name), depth, day, mean, low, high, logged=True))
    return found


def _tested(survey: Survey, start: datetime) -> list[DepthCourse]:
    table = survey.tests
    humid = [key for key, method in TEST_METHODS.items() if method.quantity.unit == "%RH"]
    deep = table["method"].isin(humid) & table["value"].notna() & (table["depth_mm"] > 0.0)
    timed = [isinstance(one, datetime) and not pd.isna(one) for one in table["read"]]
    found = []
    for _, rows in table[deep & np.array(timed, dtype=bool)].groupby(["hole", "depth_mm"]):
        day = np.array([(one - start).total_seconds() / 86_400.0 for one in rows["read"]])
        order = np.argsort(day)
        rh = rows["value"].to_numpy(dtype=float)[order]
        hole, depth = str(rows["hole"].iloc[0]), float(rows["depth_mm"].iloc[0])
        tests = tuple(str(rows["test"].iloc[at]) for at in order)
        found.append(DepthCourse(hole, depth, day[order], rh, rh, rh, logged=False, tests=tests))
    return found


def humidity_limits(survey: Survey) -> list[tuple[str, Limit]]:
    """Return limits of humidity, each value once with the rooms it holds for; the floor's first.

    Parameters
    ----------
    survey : Survey

    Returns
    -------
    list of (str, Limit)
        Names of the rooms, "" for the floor.
    """
    found = [("", survey.limit)] if survey.limit is not None else []
    found += list(survey.room_limits.items())
    by_value: dict[float, tuple[list[str], Limit]] = {}
    for room, limit in found:
        if limit.unit == "%RH":
            by_value.setdefault(limit.value, ([], limit))[0].append(room)
    return [("" if "" in rooms else ", ".join(rooms), limit) for rooms, limit in by_value.values()]
