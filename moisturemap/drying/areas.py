"""Areas that stay wet and areas that grow wetter, as polygons with a sentence.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.special import ndtr
from shapely.geometry.base import BaseGeometry

from moisturemap.anomalies import Anomalies
from moisturemap.drying.change_map import ChangeMap, shown_score
from moisturemap.drying.discovery import discoveries
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.place_words import place_in_room
from moisturemap.floorplan import Domain, FloorPlan
from moisturemap.mapping import MoistureSurface
from moisturemap.mapping.bands import area_above

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

AREA_COLUMNS = (
    "area",
    "kind",
    "room",
    "domain",
    "area_m2",
    "level",
    "change",
    "change_sd",
    "rate",
    "rate_sd",
    "peak_change",
    "x",
    "y",
    "anomaly",
    "sentence",
    "geometry",
)
"""``area`` is "N1", "N2" for stagnant (not drying), "R1", "R2" for rising; ``level`` is the mean
reading now, ``change`` since the first visit, ``rate`` a week, each with its sd; ``x``, ``y`` is
where it rises most, or falls least, and ``peak_change`` the change there; ``anomaly`` names a
flagged line or spot it lies on, else ""."""

FEWEST_CELLS = 4
SMALLEST_READINGS = 4.0
"""An area is at least this many squares of the reading grid."""

LONGEST_HALF_LIFE = 365.0
"""Half-lives beyond this are not worth a number [days]."""

WET_AT_START = 0.5
MOST_AVERAGED = 120
"""Most cells of an area that are averaged (our choice, for pace)."""


@dataclass(frozen=True)
class Trend:
    """What the areas are drawn from.

    Attributes
    ----------
    change : ChangeMap
        First to latest visit.
    rate : ChangeMap
        Over all visits, a week.
    first, latest : MoistureSurface
        With the wet level.
    dry_level : float
        Reading of dry floor.
    level : float
        The wet level.
    spacing : float
        Of the readings [m].
    """

    change: ChangeMap
    rate: ChangeMap
    first: MoistureSurface
    latest: MoistureSurface
    dry_level: float
    level: float
    spacing: float


def specific_rate(trend: Trend) -> tuple[Array, Array]:
    """Return excess over dry floor, mean of first and latest visit, and its sd, both (ny, nx)."""
    first, latest = trend.first.dataset, trend.latest.dataset
    excess = 0.5 * (first["mean"].to_numpy() + latest["mean"].to_numpy()) - trend.dry_level
    sd = 0.5 * np.hypot(first["sd"].to_numpy(), latest["sd"].to_numpy())
    return np.maximum(excess, 0.0), sd


def reference_rate(trend: Trend, options: DryingOptions) -> tuple[float, float]:
    """Return the specific rate below which a place is slow, and that of the wet floor [1/week].

    The median, over cells that were wet on the first visit, of fall a week over excess; a place is
    slow below ``slow_share`` of it, or below the rate of ``slow_half_life_days``, whichever is
    the faster.
    """
    excess, _ = specific_rate(trend)
    rate = trend.rate.dataset["mean"].to_numpy()
    wet = (trend.first.dataset["p_wet"].to_numpy() > WET_AT_START) & (excess > 0)
    wet &= np.isfinite(rate)
    floor = float(np.median(-rate[wet] / excess[wet])) if wet.any() else 0.0
    least = 7.0 * np.log(2.0) / options.slow_half_life_days
    return max(options.slow_share * floor, least), floor


def stagnant_score(trend: Trend, options: DryingOptions) -> Array:
    """Return a score above 0 where the floor is wet now and shown to dry slowly, (ny, nx).

    One-sided: rate + k excess > 0 with k the slow specific rate. The slope over time and the mean
    over time of one place have independent errors, so their variances add. The tests of all cells
    that are wet now go through Benjamini and Hochberg's procedure.
    """
    slow, _ = reference_rate(trend, options)
    excess, excess_sd = specific_rate(trend)
    rate = trend.rate.dataset["mean"].to_numpy()
    sd = np.hypot(trend.rate.dataset["sd"].to_numpy(), slow * excess_sd)
    z = (rate + slow * excess) / np.maximum(sd, 1e-12)
    latest = trend.latest.dataset
    wet = (latest["mean"].to_numpy() - trend.level) / np.maximum(latest["sd"].to_numpy(), 1e-12)
    p_value = np.where((wet > 0) & np.isfinite(z), ndtr(-z), np.nan)
    shown = discoveries(p_value, options.discovery)
    least = float(z[shown].min()) if shown.any() else np.inf
    # a rising place is not stagnant: its outline stops where the rise is shown
    score = np.minimum(
        np.minimum(z - least, wet), np.minimum(-shown_score(trend.change.dataset, 1), 1e6)
    )
    return np.where(np.isfinite(z) & np.isfinite(wet), score, np.nan)


def find_areas(
    trend: Trend, plan: FloorPlan, found: Anomalies | None, options: DryingOptions
) -> gpd.GeoDataFrame:
    """Find stagnant and rising areas; columns ``AREA_COLUMNS``, largest first in each kind."""
    rows = []
    for kind, letter, shape in (
        ("rising", "R", trend.change.shapes["rose"]),
        ("stagnant", "N", _outline(trend, plan, stagnant_score(trend, options))),
    ):
        parts = large_parts(trend.latest.domains, shape, trend.latest.grid.spacing, trend.spacing)
        pieces = sorted(parts, key=lambda pair: -pair[1].area)
        for number, (domain, geometry) in enumerate(pieces, start=1):
            row = _measured(trend, plan, domain, geometry)
            row |= {
                "area": f"{letter}{number}",
                "kind": kind,
                "anomaly": _anomaly_at(geometry, found),
            }
            row["sentence"] = _sentence(row, trend, options)
            rows.append(row)
    return gpd.GeoDataFrame(rows, columns=list(AREA_COLUMNS), geometry="geometry")


def _outline(trend: Trend, plan: FloorPlan, score: Array) -> BaseGeometry:
    """Outline of the cells with a score above 0."""
    known = np.isfinite(trend.rate.dataset["mean"].to_numpy()) & ~np.isnan(score)
    values = np.where(known, np.clip(score, -50.0, 50.0), np.nan)
    if not (values >= 0).any():
        return shapely.Polygon()
    return area_above(trend.latest.on_cells(values), plan, 0.0)


def large_parts(
    domains: Sequence[Domain], area: BaseGeometry, cell: float, spacing: float
) -> Iterator[tuple[str, BaseGeometry]]:
    """Yield domain and outline of each connected part that is large enough.

    Parameters
    ----------
    domains : sequence of Domain
    area : geometry
        [m]
    cell, spacing : float
        Side of a cell, and distance of the readings [m].
    """
    smallest = max(FEWEST_CELLS * cell**2, SMALLEST_READINGS * spacing**2)
    for domain in domains:
        for piece in _polygons(domain.geometry.intersection(area)):
            if piece.area >= smallest:
                yield domain.key, piece


def _polygons(geometry: BaseGeometry) -> list[shapely.Polygon]:
    parts = getattr(geometry, "geoms", [geometry])
    return [one for one in parts if one.geom_type == "Polygon" and one.area > 0]


def _measured(trend: Trend, plan: FloorPlan, domain: str, geometry: BaseGeometry) -> dict[str, Any]:
    grid = trend.latest.grid
    x, y = np.meshgrid(grid.x, grid.y)
    inside = shapely.contains_xy(geometry, x, y) & np.isfinite(
        trend.rate.dataset["mean"].to_numpy()
    )
    if not inside.any():
        inside = (
            np.asarray(
                np.hypot(x - geometry.centroid.x, y - geometry.centroid.y) < 2 * grid.spacing
            )
            & grid.inside
        )
    level = trend.latest.dataset["mean"].to_numpy()
    cells = np.column_stack([x[inside], y[inside]])
    chosen = cells[np.linspace(0, len(cells) - 1, min(len(cells), MOST_AVERAGED)).astype(int)]
    change, change_sd = trend.change.fields[domain].average(chosen)
    rate, rate_sd = trend.rate.fields[domain].average(chosen)
    strongest = int(np.nanargmax(trend.rate.dataset["mean"].to_numpy()[inside]))
    peak = cells[strongest]
    room = plan.room_at(*map(float, peak))
    return {
        "room": room.name if room else "",
        "domain": domain,
        "area_m2": float(geometry.area),
        "level": float(np.nanmean(level[inside])),
        "change": change,
        "change_sd": change_sd,
        "rate": rate,
        "rate_sd": rate_sd,
        "x": float(peak[0]),
        "y": float(peak[1]),
        "peak_change": float(trend.change.dataset["mean"].to_numpy()[inside][strongest]),
        "place": place_in_room(plan, geometry.centroid),
        "geometry": geometry,
    }


def _anomaly_at(geometry: BaseGeometry, found: Anomalies | None) -> str:
    """Name of a flagged line or spot that runs through the core of an area, else ""."""
    if found is None or found.table.empty:
        return ""
    reach = max(0.1, 0.25 * float(np.sqrt(geometry.area)))
    table = found.table[found.table["kind"].isin(["line", "spot"])]
    near = table[table.geometry.distance(geometry.centroid) <= reach]
    return str(near["anomaly"].iloc[0]) if len(near) else ""


def _sentence(row: dict[str, Any], trend: Trend, options: DryingOptions) -> str:
    z = 1.6448536269514722
    change, sd, rate = row["change"], row["change_sd"], row["rate"]
    where = f"{row['area_m2']:.1f} m2 {row['place']}"
    on = f" It lies on {row['anomaly']}, flagged as a line or spot." if row["anomaly"] else ""
    moved = f"{change:+.1f} (90% interval {change - z * sd:+.1f} to {change + z * sd:+.1f})"
    first, last = trend.change.visits[0], trend.change.visits[-1]
    if row["kind"] == "rising":
        return (
            f"Rising: {where} read {moved} from {first} to {last}, {rate:+.1f} a week, and "
            f"{row['peak_change']:+.1f} at ({row['x']:.1f}, {row['y']:.1f}). Readings "
            "rise so where water arrives: a possible active leak. A pipe or metal by itself reads "
            f"the same on every visit. Find and stop the source before drying on.{on}"
        )
    _, floor = reference_rate(trend, options)
    pace = _half_life(floor)
    return (
        f"Not drying: {where} read {moved} from {first} to {last}, {rate:+.1f} a week, and is "
        f"still above the wet level{pace}. Either no dry air reaches it, a source keeps feeding "
        "it, or another material or metal only reads high there: test it, move air there, and look "
        f"for a source if the next visit shows no fall.{on}"
    )


def _half_life(specific: float) -> str:
    days = 7.0 * np.log(2.0) / specific if specific > 0 else np.inf
    if days > LONGEST_HALF_LIFE:
        return "; the wet floor as a whole hardly dries either"
    return f", while the wet floor as a whole halves its excess in about {days:.0f} days"
