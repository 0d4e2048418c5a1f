"""What humidity at depth says against a day that the surface names.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

import pandas as pd
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from moisturemap.drying.damp_air import dry_humidity
from moisturemap.drying.depth_evidence import ROOM_RH_PCT
from moisturemap.drying.logged_air import mean_between
from moisturemap.drying.slab_clock import depth_half_life
from moisturemap.floorplan import Slab
from moisturemap.slab import USUAL_DIFFUSIVITY, SlabSpec, outside_model
from moisturemap.survey import TEST_METHODS, LoggerSeries, Survey, Visit

BESIDE_M = 0.5
"""A hole this near to a zone tells of its depth [m] (our choice)."""

HOLDS_PCT, APART = 1.0, timedelta(days=3)
"""Humidity of one hole and depth that falls by less between readings so far apart holds [%RH]: half
of a probe's 2 %RH (our choice)."""

_HUMID = [key for key, method in TEST_METHODS.items() if method.quantity.unit == "%RH"]


class DepthReading(NamedTuple):
    """A humidity in a hole of a zone, by a test or a logger."""

    name: str
    depth_mm: float
    when: datetime
    rh_pct: float


def deep_doubt(
    survey: Survey, visits: Sequence[Visit], zone: BaseGeometry, room: str, high: float
) -> str:
    """Say why holes in or beside a zone let no latest day be named; "" where they do.

    The depth holds where one hole reads no lower than days before, and it cannot be dry so soon
    where the slowest part of its excess, halved in the shortest half-life of the slab, is not gone
    by the latest day that the surface names.

    Parameters
    ----------
    survey : Survey
    visits : sequence of Visit
        Oldest first.
    zone : geometry
        [m]
    room : str
        Of the zone.
    high : float
        Latest day, from the latest visit [days].
    """
    latest = visits[-1].started
    since = visits[-2].started if len(visits) > 1 else None
    if latest is None or since is None:
        return ""
    wanted = dry_humidity(survey.room_limits.get(room, survey.limit))
    slab = next((one.slab for one in survey.plan.rooms if one.name == room), None)
    air = visits[-1].air_rh_pct
    for course in _courses(survey, zone, room):
        last = course[-1]
        if last.when < since or last.rh_pct <= wanted:
            continue
        held = _held(course, wanted)
        if held:
            return held
        least = _least_days(last, slab, wanted, ROOM_RH_PCT if air is None else air)
        gone = (last.when - latest).total_seconds() / 86_400.0 + least
        if gone > high:
            return (
                f"{_at(last)}, and {wanted:g} %RH is wanted at most: at that depth the slab comes"
                f" down to it in {least:.0f} days at best, whatever the surface shows."
            )
    return ""


def _held(course: Sequence[DepthReading], wanted: float) -> str:
    last = course[-1]
    before = [one for one in course if last.when - one.when >= APART]
    if not before or last.rh_pct < before[-1].rh_pct - HOLDS_PCT:
        return ""
    was = before[-1]
    return (
        f"{_at(last)}, on {was.when:%Y-%m-%d} {was.rh_pct:.0f} %RH, and {wanted:g} %RH is wanted at"
        " most: the depth does not dry as the surface reads. Look for what keeps it wet."
    )


def _at(one: DepthReading) -> str:
    return f"{one.name} read {one.rh_pct:.0f} %RH at {one.depth_mm:g} mm on {one.when:%Y-%m-%d}"


def _least_days(one: DepthReading, slab: Slab | None, wanted: float, air_rh: float) -> float:
    """Days in which an excess at depth can come down at best; 0 where no model says."""
    if slab is None or not slab.thickness_mm or air_rh >= wanted:
        return 0.0
    spec = SlabSpec(
        slab.thickness_mm, slab.open_faces, None, slab.base, bool(slab.heated), USUAL_DIFFUSIVITY
    )
    if outside_model(spec):
        return 0.0
    return depth_half_life(spec)[0] * math.log2((one.rh_pct - air_rh) / (wanted - air_rh))


def _courses(survey: Survey, zone: BaseGeometry, room: str) -> list[list[DepthReading]]:
    """Return what was read in each hole and depth of a zone, in order of time."""
    found: dict[tuple[str, float], list[DepthReading]] = {}
    for one in (*_tested(survey, zone), *_logged(survey.loggers, zone, room)):
        found.setdefault((one.name, one.depth_mm), []).append(one)
    return [sorted(course, key=lambda one: one.when) for course in found.values()]


def _tested(survey: Survey, zone: BaseGeometry) -> Iterable[DepthReading]:
    table = survey.tests
    deep = table["method"].isin(_HUMID) & table["value"].notna() & (table["depth_mm"] > 0.0)
    columns = ["hole", "depth_mm", "read", "value", "x", "y"]
    for hole, depth, read, value, x, y in table[deep][columns].itertuples(index=False):
        timed = isinstance(read, datetime) and not pd.isna(read)
        if timed and zone.distance(Point(x, y)) <= BESIDE_M:
            yield DepthReading(str(hole), depth, read, value)


def _logged(
    loggers: Sequence[LoggerSeries], zone: BaseGeometry, room: str
) -> Iterable[DepthReading]:
    """Yield the first and the last day's mean of the latest week of each logger in a hole."""
    day = timedelta(days=1)
    for one in loggers:
        if one.place != "hole" or one.depth_mm is None or not _beside(one, zone, room):
            continue
        for end in (max(one.began + day, one.ended - 6 * day), one.ended):
            read = mean_between(one, "rh_pct", end - day, end)
            if read is not None:
                yield DepthReading(f"logger {one.id}", one.depth_mm, end, read)


def _beside(logger: LoggerSeries, zone: BaseGeometry, room: str) -> bool:
    if logger.x is None or logger.y is None:
        return logger.room in ("", room)
    return bool(zone.distance(Point(logger.x, logger.y)) <= BESIDE_M)
