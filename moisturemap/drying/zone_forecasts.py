"""The forecasts of a floor: each zone with what is known of its slab, its air and its tests.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from moisturemap.drying.air_history import AirHistory
from moisturemap.drying.change_map import ChangeMap
from moisturemap.drying.courses import FED_BELOW, KnownSlab
from moisturemap.drying.deep_stop import BESIDE_M, deep_doubt
from moisturemap.drying.depth_evidence import DepthTest
from moisturemap.drying.dry_level import DryLevel
from moisturemap.drying.forecast import Forecast, ForecastBasis, forecast_floor, forecast_zone
from moisturemap.drying.machines_moved import machines_moved
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.part_lower import zone_read_lower
from moisturemap.drying.rises import Rise
from moisturemap.drying.series import VisitSeries
from moisturemap.drying.stop import Stop, find_stop, recorded_air
from moisturemap.drying.zone_course import zone_course
from moisturemap.floorplan import FloorPlan, Slab
from moisturemap.mapping import MoistureSurface
from moisturemap.slab import SlabSpec, outside_model, without_membrane
from moisturemap.survey import LoggerSeries
from moisturemap.zones import MappedVisit

RISING_SHARE = 0.25
"""Share of a zone shown to have risen from which no latest day is given (our choice)."""

UNLISTED_VISITS = 2
"""Visits without machines after one with them, up to which no latest day is given (our choice)."""


@dataclass(frozen=True)
class ForecastInputs:
    """What the comparison of the visits found.

    Attributes
    ----------
    levels : tuple of MoistureSurface
        One a visit.
    series : VisitSeries
    change : ChangeMap
        First to latest visit.
    dry : DryLevel
    tests : tuple of DepthTest
    loggers : tuple of LoggerSeries
        Those in the air of a room tell what it was between the visits.
    rises : tuple of Rise
        Between two consecutive visits.
    """

    levels: tuple[MoistureSurface, ...]
    series: VisitSeries
    change: ChangeMap
    dry: DryLevel
    tests: tuple[DepthTest, ...] = ()
    loggers: tuple[LoggerSeries, ...] = ()
    rises: tuple[Rise, ...] = ()

    def rewetted(self, zone: BaseGeometry) -> tuple[str, str] | None:
        """Return the latest two visits between which a share of a zone is shown to have risen."""
        for one in reversed(self.rises):
            if zone.intersection(one.geometry).area > RISING_SHARE * zone.area:
                return one.begin, one.end
        return None

    def air(self, room: str) -> AirHistory:
        """Return the air of a room between the visits."""
        series = self.series
        common = all("dry-reference" in one.how for one in series.offsets)
        return AirHistory.of(
            recorded_air(series.visits, self.loggers, room), series.days, common=common
        )


def forecast_zones(
    found: ForecastInputs, latest: MappedVisit, options: DryingOptions
) -> tuple[Forecast, ...]:
    """Forecast each wet zone, then the floor where every zone has a forecast.

    Parameters
    ----------
    found : ForecastInputs
    latest : MappedVisit
    options : DryingOptions

    Returns
    -------
    tuple of Forecast
        Empty without a wet level.
    """
    level = latest.wet.level.value
    if level is None:
        return ()
    series, started = found.series, latest.visit.started
    forecasts = []
    for zone in latest.wet.zones.itertuples():
        course = zone_course(str(zone.zone), zone.geometry, found.levels, series, found.change)
        if course is None:
            continue
        basis = ForecastBasis(
            known_slab(latest.survey.plan, str(zone.room), series),
            found.air(str(zone.room)),
            _tests_at(zone.geometry, found.tests),
            zone.geometry.intersection(found.change.shapes["rose"]).area
            > RISING_SHARE * zone.geometry.area,
            started,
            found.rewetted(zone.geometry),
            series.offsets[-1].doubted,
            _stop(series, latest, zone),
        )
        forecast = forecast_zone(course, level, found.dry, options, basis)
        if not forecast.why_open and (said := _deep(series, latest, zone, forecast)):
            basis = replace(basis, stop=Stop("depth", f"No latest day: {said}"))
            forecast = forecast_zone(course, level, found.dry, options, basis)
        forecasts.append(forecast)
    every = len(forecasts) == len(latest.wet.zones)
    whole = forecast_floor(forecasts, options, started) if every else None
    return (*forecasts, whole) if whole is not None else tuple(forecasts)


def with_rises_beside(
    forecasts: tuple[Forecast, ...],
    areas: gpd.GeoDataFrame,
    rises: Sequence[Rise],
    latest: MappedVisit,
    options: DryingOptions,
) -> tuple[Forecast, ...]:
    """Return forecasts in which the floor has no day while part of it outside the zones rose.

    Parameters
    ----------
    forecasts : tuple of Forecast
        Of the zones, then of the floor.
    areas : geopandas.GeoDataFrame
        Those that rose from the first visit on count.
    rises : sequence of Rise
        Those up to the latest visit count.
    latest : MappedVisit
    options : DryingOptions
    """
    if not forecasts or forecasts[-1].zone != "floor" or forecasts[-1].why_open == "rising":
        return forecasts
    rose = areas[areas["kind"] == "rising"]
    places = list(map(str, rose["area"]))
    if not places:
        lately = [one for one in rises if one.end == latest.visit.id]
        zones = latest.wet.zones.union_all()
        places = [one.place for one in lately if not _mostly(one.geometry, zones)]
    if not places:
        return forecasts
    floor = forecast_floor(
        forecasts[:-1], options, latest.visit.started, ", ".join(dict.fromkeys(places))
    )
    return forecasts if floor is None else (*forecasts[:-1], floor)


def _mostly(part: BaseGeometry, zones: BaseGeometry) -> bool:
    """Whether most of a part that rose lies in zones, which tell of it themselves."""
    return bool(part.intersection(zones).area > 0.5 * part.area)


def _deep(series: VisitSeries, latest: MappedVisit, zone: Any, forecast: Forecast) -> str:
    """Return what holes in or beside a zone say against its latest day."""
    where = zone.geometry, str(zone.room)
    return deep_doubt(latest.survey, series.visits, *where, forecast.high)


def _stop(series: VisitSeries, latest: MappedVisit, zone: Any) -> Stop:
    """Return what the records of the latest visit say against a latest day of a zone."""
    room = str(zone.room)
    stop = find_stop(latest.survey, series.visits, room)
    if stop.why:
        return stop
    where, name = zone.geometry, str(zone.zone)
    lower = zone_read_lower(series.clean[-1], where, name)
    if lower:
        return Stop("lower", lower)
    gone = machines_gone(latest, room) or machines_moved(latest, where, name)
    return Stop("machines", gone) if gone else stop


def machines_gone(latest: MappedVisit, room: str = "") -> str:
    """Say that machines of a visit before are not listed on the latest; "" where they are.

    Once three visits list none, what they read tells how it dries without.

    Parameters
    ----------
    latest : MappedVisit
    room : str
        Of the zone: fewer machines there count, too.
    """
    table, now = latest.survey.equipment, latest.visit.id
    ids = [one.id for one in latest.survey.visits]
    ids = ids[: ids.index(now) + 1]
    listed = set(table["visit"])
    last = next((one for one in reversed(ids[:-1]) if one in listed), None)
    if last is None:
        return ""
    if now not in listed:
        if len(ids) - 1 - ids.index(last) > UNLISTED_VISITS:
            return ""
        return (
            f"Machines are listed on {last} and none on {now}: with them it dried faster, so no "
            "latest day is given. List the machines that stand."
        )
    stood, stands = (_counted(table[table["visit"] == one], latest, room) for one in (last, now))
    if not stood - stands:
        return ""
    return (
        f"Fewer machines stand on {now} than on {last}: with them it dried faster, so no latest "
        "day is given."
    )


def _counted(machines: pd.DataFrame, latest: MappedVisit, room: str) -> Counter[tuple[str, bool]]:
    """Count machines by kind, on the floor and in a room."""
    count: Counter[tuple[str, bool]] = Counter()
    for kind, x, y in machines[["kind", "x", "y"]].itertuples(index=False):
        there = latest.survey.plan.room_at(float(x), float(y))
        count[str(kind), False] += 1
        count[str(kind), True] += there is not None and there.name == room
    return count


def known_slab(plan: FloorPlan, room: str, series: VisitSeries) -> KnownSlab:
    """Return what is known of the slab of a room; nothing where the model does not hold for it.

    Gypsum, timber, heated and layered floors dry by other laws: for them the courses of a slab of
    unknown thickness stand in, which are wide.
    """
    names = {one.name for one in plan.rooms}
    if room not in names:
        return KnownSlab()
    slab = plan.room(room).slab
    fed = _fed_below(slab)
    spec = SlabSpec(slab.thickness_mm or 100.0, slab.open_faces, None, slab.base, bool(slab.heated))
    if not slab.thickness_mm or outside_model(spec):
        return KnownSlab(fed_below=fed)
    age = _age(slab.placed, series)
    return KnownSlab(float(slab.thickness_mm), slab.open_faces, age, fed)


def _fed_below(slab: Slab) -> float:
    """Chance that ground or water below keeps the lower face of a slab wet."""
    if slab.on == "suspended" or slab.open_faces == 2:
        return 0.0
    without = not slab.membrane and without_membrane(slab.base)
    return FED_BELOW["none" if without else slab.membrane]


def _age(placed: Any, series: VisitSeries) -> float | None:
    """Days from placing to the first visit; None where either is not known or they cross."""
    started = series.visits[0].started
    if placed is None or started is None:
        return None
    days = float((started.date() - placed).days)
    return days if days > 0.0 else None


def _tests_at(geometry: BaseGeometry, tests: Sequence[DepthTest]) -> tuple[DepthTest, ...]:
    return tuple(
        one
        for one in tests
        if np.isfinite(one.day) and geometry.distance(Point(one.x, one.y)) <= BESIDE_M
    )
