"""Compare the visits of a floor: what dried, what did not, and when it would be dry.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moisturemap.drying.air import DRIVE_COLUMNS, air_sentences, air_table
from moisturemap.drying.areas import AREA_COLUMNS, Trend, find_areas, reference_rate
from moisturemap.drying.change_map import ChangeMap, Floor, step_sentence
from moisturemap.drying.changes import Changes, find_changes, floor_of, spacing_of_places
from moisturemap.drying.depth_evidence import DepthTest
from moisturemap.drying.dry_level import DryLevel, find_dry_level
from moisturemap.drying.feature import FEATURE_COLUMNS, judge_features
from moisturemap.drying.forecast import Forecast
from moisturemap.drying.leak import ActiveLeak, find_leak
from moisturemap.drying.levels import flagged_places, map_like
from moisturemap.drying.log_findings import LogFindings, find_in_logs, logged_depths
from moisturemap.drying.mean_change import MEAN_COLUMNS, mean_changes, mean_sentences
from moisturemap.drying.not_read import NOTHING, NotRead
from moisturemap.drying.noted import latest_notes
from moisturemap.drying.offset import doubt_sentences
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.part_lower import as_read_before
from moisturemap.drying.rises import Rise
from moisturemap.drying.series import VisitSeries
from moisturemap.drying.slab_clock import depth_sentences
from moisturemap.drying.wet_area import WetArea, wet_area_words, wet_areas
from moisturemap.drying.zero_before import (
    level_then,
    no_zone_sentence,
    still_wet_sentence,
)
from moisturemap.drying.zone_forecasts import (
    ForecastInputs,
    forecast_zones,
    with_rises_beside,
)
from moisturemap.geostat import beside, work_through
from moisturemap.mapping import KrigedField, MoistureSurface
from moisturemap.survey import LoggerSeries, MachineLog
from moisturemap.zones import MappedVisit, WetZones

Array = NDArray[np.float64]
Progress = Callable[[str, float], None] | None


@dataclass(frozen=True)
class DryingProgress:
    """What several visits show about the drying of a floor.

    Attributes
    ----------
    series : VisitSeries
    levels : tuple of MoistureSurface
        The map of each visit, on the scale of the latest.
    wet : WetZones
        Of the latest visit.
    change, step, rate : ChangeMap or None
        First to latest visit; the visit before to the latest (None with two visits); slope a week
        over all visits (None without times). All None with one visit.
    means : pandas.DataFrame
        Columns ``MEAN_COLUMNS``: mean change of the floor and of each zone.
    areas : geopandas.GeoDataFrame
        Columns ``AREA_COLUMNS``: stagnant and rising areas.
    features : pandas.DataFrame
        Columns ``FEATURE_COLUMNS``: flagged lines and spots.
    wet_areas : tuple of WetArea
        One a visit; empty without a wet level.
    dry_level : DryLevel or None
    rises : tuple of Rise
        What rose between any two consecutive visits; empty with fewer than three.
    leak : ActiveLeak or None
        Signs that water still arrives; to be said before anything else.
    forecasts : tuple of Forecast
        One a zone, then the floor where every zone has one.
    air : pandas.DataFrame
        Columns ``AIR_COLUMNS``.
    drives : pandas.DataFrame
        Columns ``DRIVE_COLUMNS``; empty without calibrated tests.
    logs : LogFindings
        Of loggers and machines between the visits.
    not_read : NotRead
        Wet floor of earlier visits that was not read since.
    statements : tuple of str
        What the reader is told, in order.
    notes : tuple of str
        What was assumed, set aside or could not be done.
    """

    series: VisitSeries
    levels: tuple[MoistureSurface, ...]
    wet: WetZones
    change: ChangeMap | None = None
    step: ChangeMap | None = None
    rate: ChangeMap | None = None
    means: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(MEAN_COLUMNS)))
    areas: gpd.GeoDataFrame = field(default_factory=lambda: _no_areas())
    features: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=list(FEATURE_COLUMNS))
    )
    wet_areas: tuple[WetArea, ...] = ()
    dry_level: DryLevel | None = None
    rises: tuple[Rise, ...] = ()
    leak: ActiveLeak | None = None
    forecasts: tuple[Forecast, ...] = ()
    air: pd.DataFrame = field(default_factory=lambda: air_table(()))
    drives: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(DRIVE_COLUMNS)))
    logs: LogFindings = field(default_factory=LogFindings)
    not_read: NotRead = NOTHING
    statements: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def stagnant(self) -> gpd.GeoDataFrame:
        """Areas that are wet and do not dry."""
        return self.areas[self.areas["kind"] == "stagnant"]

    @property
    def rising(self) -> gpd.GeoDataFrame:
        """Areas that grow wetter."""
        return self.areas[self.areas["kind"] == "rising"]


@dataclass(frozen=True)
class FloorRecords:
    """What was recorded besides readings.

    Attributes
    ----------
    tests : tuple of DepthTest
        Humidity at depth by valid calibrated tests; they sharpen the forecasts.
    loggers : tuple of LoggerSeries
        Those in holes sharpen forecasts like tests; those in the air tell what it was meanwhile.
    machine_logs : tuple of MachineLog
    """

    tests: tuple[DepthTest, ...] = ()
    loggers: tuple[LoggerSeries, ...] = ()
    machine_logs: tuple[MachineLog, ...] = ()


def compare(
    series: VisitSeries,
    latest: MappedVisit,
    *,
    records: FloorRecords = FloorRecords(),
    options: DryingOptions | None = None,
    progress: Progress = None,
    changes: Changes | None = None,
) -> DryingProgress:
    """Compare visits.

    Parameters
    ----------
    series : VisitSeries
        Oldest first; the last is the latest visit.
    latest : MappedVisit
    records : FloorRecords
    options : DryingOptions, optional
    progress : callable, optional
        Called with a phrase and a fraction from 0 to 1; may raise ``Cancelled``.
    changes : Changes, optional
        Between these visits on the cells of this map, where they are at hand.

    Returns
    -------
    DryingProgress

    Raises
    ------
    Cancelled
        When ``progress`` raises it.
    """
    options = options or DryingOptions()
    known = (*records.tests, *logged_depths(series, records.loggers))
    records = replace(records, tests=known)
    say = progress or (lambda phrase, fraction: None)
    floor = _floor(series, latest) if changes is None else changes.floor
    say("mapping earlier visits", 0.05)
    if len(series.clean) < 2:
        told = ("There is one visit: what dries shows from the second visit on.",)
        levels = (latest.moisture,)
        areas = _wet_areas(series, levels, latest, options)
        result = replace(_begun(series, levels, latest, floor), wet_areas=areas)
        return _with_logs(_told(result, latest, told), records)
    mapped = _mapped if changes is None else _mapped_since(changes)
    result = mapped(series, latest, floor, options, say)
    say("looking for what does not dry", 0.8)
    result, why = _foreseen(result, latest, floor, records, options)
    return _with_logs(_concluded(result, latest, why, options), records)


def _mapped(
    series: VisitSeries,
    latest: MappedVisit,
    floor: Floor,
    options: DryingOptions,
    say: Callable[[str, float], None],
) -> DryingProgress:
    """Map the earlier visits, and beside them what changed."""

    def look() -> tuple[Changes, pd.DataFrame]:
        found = find_changes(floor, series, options)
        return found, mean_changes(found.change, floor, latest.wet.zones, options)

    with beside(look) as looked:
        earlier = _earlier(series, latest, floor, range(len(series.clean) - 1), say)
        found, means = looked(lambda: say("differencing visits", 0.5))
    result = _begun(series, (*earlier, latest.moisture), latest, floor)
    return replace(result, means=means, **_maps(found))


def _mapped_since(changes: Changes) -> Callable[..., DryingProgress]:
    """Return what maps the earlier visits where it is known what changed."""

    def mapped(
        series: VisitSeries,
        latest: MappedVisit,
        floor: Floor,
        options: DryingOptions,
        say: Callable[[str, float], None],
    ) -> DryingProgress:
        count = len(series.clean) - 1
        shared = count - max(0, count - AS_MEANS) // 2

        def look() -> tuple[MoistureSurface, ...]:
            return _earlier(series, latest, floor, range(shared), lambda phrase, done: None)

        with beside(look) as looked:
            later = _earlier(series, latest, floor, range(shared, count), say)
            # what they share is found once for the forecasts as well
            means = mean_changes(changes.change, floor, latest.wet.zones, options)
            earlier = looked(lambda: say("mapping earlier visits", 0.5))
        result = _begun(series, (*earlier, *later, latest.moisture), latest, floor)
        return replace(result, means=means, **_maps(changes))

    return mapped


AS_MEANS = 2
"""Maps of earlier visits that take as long as the mean changes, which are found beside them."""


def _maps(found: Changes) -> dict[str, Any]:
    """Return what changed by its names in ``DryingProgress``."""
    return {name: getattr(found, name) for name in ("change", "step", "rate", "rises")}


def _begun(
    series: VisitSeries, levels: tuple[MoistureSurface, ...], latest: MappedVisit, floor: Floor
) -> DryingProgress:
    """Return what is known of the visits one by one."""
    ids = [one.id for one in series.visits]
    notes = (*series.notes, *_stray_notes(floor), *_scale_notes(floor, ids))
    shown = as_read_before(levels, series.clean)
    return DryingProgress(series, shown, latest.wet, air=air_table(series.visits), notes=notes)


def _floor(series: VisitSeries, latest: MappedVisit) -> Floor:
    surface = latest.moisture
    known = {
        key: one.embedding for key, one in surface.fields.items() if isinstance(one, KrigedField)
    }
    return floor_of(series, surface.domains, surface.grid, latest.survey.plan, known)


def _earlier(
    series: VisitSeries,
    latest: MappedVisit,
    floor: Floor,
    visits: Sequence[int],
    say: Callable[[str, float], None],
) -> tuple[MoistureSurface, ...]:
    """Map some of the visits before the latest."""
    flagged = flagged_places(latest.found)
    levels: list[MoistureSurface] = []

    def mapped(index: int) -> MoistureSurface:
        clean = series.clean[index]
        strays = [
            (x, y)
            for panel in floor.panels.values()
            for visit, x, y, _ in panel.strays
            if visit == clean.visit.id
        ]
        left_out = np.concatenate([flagged, np.array(strays).reshape(-1, 2)])
        return map_like(latest.moisture, clean, series.offsets[index], left_out)

    def report(done: float) -> None:
        say("mapping earlier visits", 0.05 + 0.45 * done)

    work_through(visits, mapped, levels.append, report)
    return tuple(levels)


def _wet_areas(
    series: VisitSeries,
    levels: Sequence[MoistureSurface],
    latest: MappedVisit,
    options: DryingOptions,
) -> tuple[WetArea, ...]:
    if latest.wet.level.value is None:
        return ()
    return wet_areas(series, levels, level_then(series, latest), options)


def _foreseen(
    maps: DryingProgress,
    latest: MappedVisit,
    floor: Floor,
    records: FloorRecords,
    options: DryingOptions,
) -> tuple[DryingProgress, str]:
    """Add wet areas, what does not dry and forecasts to the maps, and say why some are left out."""
    change, rate, level = maps.change, maps.rate, latest.wet.level.value
    if level is not None:
        reference = latest.survey.scan.dry_reference
        maps = replace(maps, dry_level=find_dry_level(maps.series, maps.levels, reference, options))
    dry, why = maps.dry_level, ""
    if change is None or rate is None or not change.known or not rate.known:
        why = (
            "Without times that differ no rate can be worked out, so stagnant areas "
            "and forecasts are left out."
        )
    elif level is None or dry is None:
        why = _why_no_level(latest.wet, level)
    if change is None or rate is None or level is None or dry is None or why:
        wet = _wet_areas(maps.series, maps.levels, latest, options)
        return replace(maps, wet_areas=wet), why
    ends = (maps.levels[0], maps.levels[-1])
    trend = Trend(change, rate, *ends, dry.value, level, spacing_of_places(floor))
    found = ForecastInputs(
        maps.levels, maps.series, change, dry, records.tests, records.loggers, maps.rises
    )

    def look() -> tuple[tuple[WetArea, ...], gpd.GeoDataFrame, pd.DataFrame]:
        wet = _wet_areas(maps.series, maps.levels, latest, options)
        return wet, *_left_behind(trend, latest, floor, maps.series, options)

    with beside(look) as looked:
        forecasts = forecast_zones(found, latest, options)
        wet, areas, features = looked(lambda: None)
    forecasts = with_rises_beside(forecasts, areas, maps.rises, latest, options)
    return replace(maps, wet_areas=wet, areas=areas, features=features, forecasts=forecasts), ""


def _left_behind(
    trend: Trend, latest: MappedVisit, floor: Floor, series: VisitSeries, options: DryingOptions
) -> tuple[gpd.GeoDataFrame, pd.DataFrame]:
    """Find areas that do not dry, and judge flagged lines and spots by how the floor dried."""
    areas = find_areas(trend, latest.survey.plan, latest.found, options)
    _, specific = reference_rate(trend, options)
    kept = float(np.exp(-max(specific, 0.0) * float(np.ptp(series.days)) / 7.0))
    return areas, judge_features(latest.found, floor, series, trend.change, kept)


def _concluded(
    maps: DryingProgress, latest: MappedVisit, why_no_forecast: str, options: DryingOptions
) -> DryingProgress:
    """Say what was found, and look for signs that water still arrives."""
    change = maps.change
    statements = [still_wet_sentence(maps.series, maps.levels, latest)]
    statements += [change.sentence] if change is not None else []
    statements += mean_sentences(maps.means, maps.series, options)
    if maps.step is not None and maps.step.known:
        statements.append(step_sentence(maps.step))
    statements.append(why_no_forecast)
    if latest.wet.level.value is not None and maps.wet.zones.empty:
        statements.append(no_zone_sentence(maps.series))
    statements += [*maps.areas["sentence"], *maps.features["sentence"]]
    statements += [text for one in maps.forecasts for text in (one.sentence, one.look_back) if text]
    rooms = tuple(str(room) for room in maps.wet.zones["room"])
    statements += depth_sentences(latest.survey.plan, rooms)
    mapped = sum(change.area_m2.values()) if change is not None else 0.0
    leak = find_leak(maps.areas, maps.features, maps.rises, mapped)
    return _told(replace(maps, leak=leak), latest, statements)


def _with_logs(found: DryingProgress, records: FloorRecords) -> DryingProgress:
    """Add what loggers and machine logs tell."""
    wet = [one.area_m2 for one in found.wet_areas]
    area = sum(wet) / len(wet) if wet else 0.0
    logs = find_in_logs(found.series, records.loggers, records.machine_logs, found.forecasts, area)
    return replace(found, logs=logs, statements=(*found.statements, *logs.statements))


def _why_no_level(wet: WetZones, level: float | None) -> str:
    if level is None:
        return (
            f"No wet level is known, so wet area, stagnant areas and forecasts are left out. "
            f"{wet.level.explanation}"
        )
    return (
        "Nothing tells what this floor dries to (no readings on floor taken as dry, no part of the "
        "floor that read low on every visit): give the reading of dry floor for a forecast."
    )


def _told(result: DryingProgress, latest: MappedVisit, statements: Sequence[str]) -> DryingProgress:
    wet = [_wet_area_sentence(result.wet_areas)] if result.wet_areas else []
    leak = () if result.leak is None else (result.leak.sentence, *result.leak.steps)
    doubt = doubt_sentences(result.series.offsets)
    noted = [one.sentence for one in latest_notes(latest.visit, latest.survey)]
    said = (*leak, *noted, *doubt, *wet, *filter(None, statements), *air_sentences(result.air))
    return replace(result, statements=said)


def _wet_area_sentence(areas: Sequence[WetArea]) -> str:
    each = ", ".join(map(wet_area_words, areas))
    return f"Expected floor above the wet level, the smallest patches counted, by visit: {each}."


def _stray_notes(floor: Floor) -> tuple[str, ...]:
    return tuple(
        f"Visit {visit}: {value:g} at ({x:.2f}, {y:.2f}) fits neither this place on other visits "
        "nor its neighbours and is left out of the comparison."
        for panel in floor.panels.values()
        for visit, x, y, value in panel.strays
    )


def _scale_notes(floor: Floor, visits: Sequence[str]) -> tuple[str, ...]:
    """Say how many places read at an end of the scale: their change is a bound, not a number."""
    count = sum(int(panel.censored.any(axis=1).sum()) for panel in floor.panels.values())
    lasting = sum(int(panel.censored.all(axis=1).sum()) for panel in floor.panels.values())
    if not count or len(visits) < 2:
        return ()
    stayed = f"; {lasting} of them on every visit, where nothing can be seen" if lasting else ""
    return (
        f"{count} places read at an end of the scale on some visit: their change is not known "
        f"and is filled in from their neighbours{stayed}.",
    )


def _no_areas() -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame({name: [] for name in AREA_COLUMNS}, geometry="geometry")
