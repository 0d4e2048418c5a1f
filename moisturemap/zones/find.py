"""Find the wet zones of a surface."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt
from scipy.special import ndtr
from shapely.geometry.base import BaseGeometry

from moisturemap.anomalies import Anomalies
from moisturemap.floorplan import FloorPlan
from moisturemap.geostat import Covariance
from moisturemap.mapping import MoistureSurface
from moisturemap.zones.even_part import even_part
from moisturemap.zones.hint import source_hint
from moisturemap.zones.options import ZoneOptions
from moisturemap.zones.outline import Patch, above, by_domain, patches
from moisturemap.zones.statement import unmapped_statement, zones_statement
from moisturemap.zones.uncertain import (
    CERTAIN,
    UncertainPlaces,
    score,
    thresholds,
    uncertain_places,
)
from moisturemap.zones.zones import ZONE_COLUMNS, WetLevel, WetZones

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Progress = Callable[[str, float], None] | None

STILL_WET = 0.5
"""A zone of which no more than this share stays wet without contested readings is contested."""

RANGES = {
    "exponential": 2.995732273553991,
    "matern32": 2.738871456691915,
    "matern52": 2.6469004546668544,
    "spherical": 1.0,
}
"""Distance at which the correlation has fallen to 0.05, in lengths; the end of a spherical one."""

MOST_AVERAGED = 300
"""Most cells a zone's mean is block-averaged over; more change no digit."""


@dataclass(frozen=True)
class _Scene:
    """What every zone is measured against."""

    surface: MoistureSurface
    level: float
    plan: FloorPlan
    flagged: gpd.GeoDataFrame | None
    z: Array
    places: UncertainPlaces
    sure_score: float
    interval: float
    if_things: Array | None
    full_scale: float


def find_zones(
    surface: MoistureSurface,
    level: WetLevel,
    plan: FloorPlan,
    *,
    anomalies: Anomalies | None = None,
    if_things: Array | None = None,
    options: ZoneOptions | None = None,
    progress: Progress = None,
) -> WetZones:
    """Find the wet zones of a surface, with their confidence.

    Parameters
    ----------
    surface : MoistureSurface
    level : WetLevel
        With value None there are no zones, and the statement says why.
    plan : FloorPlan
    anomalies : Anomalies, optional
        Lets a hint name a flagged line the zone follows.
    if_things : ndarray, shape (ny, nx), optional
        Mean of the map as it were without the contested readings; tells which zones are contested.
    options : ZoneOptions, optional
    progress : callable, optional

    Notes
    -----
    Outlines follow P(wet) = 0.5, where the mean equals the level. The sure and the possible set
    hold with simultaneous confidence, counted over conditional draws (Bolin and Lindgren 2015, JRSS
    B 77, 85-106) at no more than ``options.places`` places: only cells that could go either way
    are drawn, on a grid coarser than the map when they are many.
    """
    options = options or ZoneOptions()
    say = progress or (lambda phrase, fraction: None)
    if level.value is None:
        return _none(level, options, level.explanation)
    if not surface.fields:
        return _none(level, options, unmapped_statement(level.value))
    say("drawing the surface where it could go either way", 0.1)
    z = score(surface, level.value)
    places = uncertain_places(surface, z, options)
    sure_score, dry_score = thresholds(places, level.value, options.confidence)
    say("outlining wet zones", 0.6)
    wet = above(surface, plan, surface.levelled_mean, level.value)
    sure = above(surface, plan, z, max(sure_score, 0.0))
    possible = above(surface, plan, z, min(dry_score, 0.0))
    flagged = None if anomalies is None else anomalies.table
    scene = _Scene(
        surface,
        level.value,
        plan,
        flagged,
        z,
        places,
        sure_score,
        options.interval,
        if_things,
        np.inf if options.scale is None else options.scale[1],
    )
    kept, small = _large_enough(patches(surface, plan, wet), scene, options)
    zones = _table(kept, small, scene)
    small_areas = [float(patch.geometry.area) for patch, _ in small]
    say("wet zones outlined", 1.0)
    sure_frame, possible_frame = _frame(surface, sure), _frame(surface, possible)
    apart = [one.rooms for one in surface.domains if one.key in surface.unlevelled]
    statement = zones_statement(
        level.value,
        zones,
        (sure_frame, possible_frame),
        small_areas,
        options,
        tuple(room for rooms in apart for room in rooms),
    )
    return WetZones(
        level, zones, sure_frame, possible_frame, options.confidence, statement, tuple(small_areas)
    )


def _none(level: WetLevel, options: ZoneOptions, statement: str) -> WetZones:
    empty = gpd.GeoDataFrame({"domain": [], "geometry": []}, geometry="geometry")
    zones = gpd.GeoDataFrame({name: [] for name in ZONE_COLUMNS}, geometry="geometry")
    return WetZones(level, zones, empty, empty.copy(), options.confidence, statement)


def _frame(surface: MoistureSurface, area: BaseGeometry) -> gpd.GeoDataFrame:
    parts = by_domain(surface, area)
    return gpd.GeoDataFrame(
        {"domain": [domain.key for domain, _ in parts], "geometry": [part for _, part in parts]},
        geometry="geometry",
    )


def practical_range(model: Covariance) -> float:
    """Distance at which the correlation of the field has fallen to 0.05 [m]; a spherical's end."""
    return RANGES[model.kind] * model.length


def smallest_zone(surface: MoistureSurface, patch: Patch, options: ZoneOptions) -> float:
    """Area below which a patch cannot be told from the roughness of the map [m2].

    Four map cells, the square a reading stands for, and the square of a quarter of the field's
    practical range (project choice), whichever is largest.
    """
    if options.smallest_m2 is not None:
        return options.smallest_m2
    model = surface.fields[patch.domain.key].covariance
    spacing = options.reading_spacing_m or 0.0
    return max(4.0 * surface.grid.spacing**2, spacing**2, (practical_range(model) / 4.0) ** 2)


def _large_enough(
    found: list[Patch], scene: _Scene, options: ZoneOptions
) -> tuple[list[tuple[Patch, Mask]], list[tuple[Patch, Mask]]]:
    """Split patches, with their cells, into those large enough or surely wet and the others."""
    kept, small = [], []
    for patch in found:
        cells = _cells(scene.surface, patch)
        sure = cells & (scene.z >= scene.sure_score)
        cell = scene.surface.grid.spacing**2
        large = patch.geometry.area >= smallest_zone(scene.surface, patch, options)
        surely = sure.sum() >= 4 and patch.geometry.area >= 4 * cell
        if cells.any() and (large or surely):
            kept.append((patch, cells))
        else:
            small.append((patch, cells))
    return kept, small


def _cells(surface: MoistureSurface, patch: Patch) -> Mask:
    """Return the map cells whose centre lies in a patch, shape (ny, nx)."""
    grid = surface.grid
    west, south, east, north = patch.geometry.bounds
    columns = np.flatnonzero((grid.x >= west) & (grid.x <= east))
    rows = np.flatnonzero((grid.y >= south) & (grid.y <= north))
    inside = np.zeros(grid.shape, dtype=bool)
    if columns.size and rows.size:
        shapely.prepare(patch.geometry)
        x, y = np.meshgrid(grid.x[columns], grid.y[rows])
        inside[np.ix_(rows, columns)] = shapely.contains_xy(patch.geometry, x, y)
    return np.asarray(inside & grid.inside & np.isfinite(surface.mean))


def _table(
    kept: list[tuple[Patch, Mask]], small: list[tuple[Patch, Mask]], scene: _Scene
) -> gpd.GeoDataFrame:
    mean = scene.surface.mean
    kept = sorted(kept, key=lambda item: -float(mean[item[1]].max()))
    catchment = _catchments([*kept, *small], scene)
    rows = [_measured(index, *item, catchment, scene) for index, item in enumerate(kept)]
    return gpd.GeoDataFrame(rows, columns=list(ZONE_COLUMNS), geometry="geometry")


def _catchments(found: list[tuple[Patch, Mask]], scene: _Scene) -> NDArray[np.intp]:
    """Assign cells to the nearest patch of their domain, -1 where none is near.

    Near is a quarter of the field's practical range, beyond which wet floor in a draw is another
    patch, not this one grown.
    """
    domain = scene.surface.grid.domain
    owner = np.full(domain.shape, -1, dtype=np.intp)
    label = np.full(domain.shape, -1, dtype=np.intp)
    for index, (_, mask) in enumerate(found):
        label[mask] = index
    for index, part in enumerate(scene.surface.domains):
        here = (label >= 0) & (domain == index)
        if not here.any():
            continue
        away, (row, column) = distance_transform_edt(~here, return_indices=True)
        reach = practical_range(scene.surface.fields[part.key].covariance) / 4.0
        near = (domain == index) & (away * scene.surface.grid.spacing <= reach)
        owner[near] = label[row, column][near]
    return owner


def _measured(
    index: int, patch: Patch, cells: Mask, catchment: NDArray[np.intp], scene: _Scene
) -> dict[str, object]:
    surface, grid = scene.surface, scene.surface.grid
    mean = surface.mean
    row, column = np.nonzero(cells)
    top = int(np.argmax(mean[row, column]))
    peak_x, peak_y = float(grid.x[column[top]]), float(grid.y[row[top]])
    chosen = np.linspace(0, row.size - 1, min(row.size, MOST_AVERAGED)).round().astype(int)
    block = np.column_stack([grid.x[column[chosen]], grid.y[row[chosen]]])
    average, average_sd = surface.fields[patch.domain.key].average(block)
    low, high = _area_interval(index, catchment, scene)
    peak_room = surface.grid.room[row[top], column[top]]
    area = float(patch.geometry.area)
    sure = float((cells & (scene.z >= scene.sure_score)).sum() * grid.spacing**2)
    return {
        "zone": zone_name(index),
        "standing": _standing(cells, scene),
        "room": scene.plan.rooms[peak_room].name,
        "rooms": ", ".join(patch.rooms),
        "domain": patch.domain.key,
        "area_m2": area,
        # cells are counted whole and the outline runs through them: neither leaves the other
        # to the square millimetre, so that all who round it on round it alike
        "area_low_m2": round(min(low, area), 6),
        "area_high_m2": round(max(min(high, float(patch.domain.geometry.area)), area), 6),
        "sure_m2": min(sure, area),
        "peak": min(float(mean[row, column][top]), scene.full_scale),
        "peak_x": peak_x,
        "peak_y": peak_y,
        "mean": average,
        "mean_sd": average_sd,
        "confidence": _confidence(cells, scene),
        "hint": _hint(patch, (peak_x, peak_y), scene),
        "geometry": patch.geometry,
    }


def _hint(patch: Patch, peak: tuple[float, float], scene: _Scene) -> str:
    """Say what the shape of a zone suggests: where its water comes from, or that it is none."""
    surface, domain = scene.surface, patch.domain
    where = surface.grid.inside & np.isfinite(surface.mean)
    where &= surface.grid.domain == surface.domains.index(domain)
    cells, mean = surface.grid.centres(where), surface.mean[where]
    source = source_hint(patch.geometry, peak, scene.plan, scene.flagged)
    even = even_part(patch.geometry, domain.geometry, cells, mean)
    return " ".join(words for words in (source, even) if words)


def zone_name(index: int) -> str:
    """Return "A" ... "Z", "AA", "AB" ... for 0, 1, ..."""
    name = ""
    index += 1
    while index:
        index, letter = divmod(index - 1, 26)
        name = chr(ord("A") + letter) + name
    return name


def _standing(cells: Mask, scene: _Scene) -> str:
    """``contested`` where half and more of a zone hangs on contested readings."""
    if scene.if_things is None:
        return "wet"
    left = float((scene.if_things[cells] > scene.level).mean())
    return "contested" if left <= STILL_WET else "wet"


def _confidence(cells: Mask, scene: _Scene) -> float:
    """Probability that at least one place of the zone is wet, over the draws."""
    if (scene.z[cells] >= CERTAIN).any():
        return 1.0
    inside = cells[scene.places.row, scene.places.column]
    if not inside.any():
        return float(ndtr(scene.z[cells].max()))
    return float((scene.places.draws[:, inside] > scene.level).any(axis=1).mean())


def _area_interval(index: int, catchment: NDArray[np.intp], scene: _Scene) -> tuple[float, float]:
    """Interval of the wet area in a zone's surroundings over the draws [m2]."""
    cell = scene.surface.grid.spacing**2
    sure = float((scene.z[catchment == index] >= CERTAIN).sum())
    mine = catchment[scene.places.row, scene.places.column] == index
    wet = scene.places.draws[:, mine] > scene.level
    area = cell * (sure + wet @ scene.places.weight[mine])
    tail = 0.5 * (1.0 - scene.interval)
    low, high = np.quantile(area, [tail, 1.0 - tail])
    return float(low), float(high)
