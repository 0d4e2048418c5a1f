"""The spatial view: how likely any place exceeds the limit, given the tests.

It answers another question than the tests do, rests on a model of the floor between them, and never
makes a floor pass: it says where the next test is worth most.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.verdict import limit_value
from moisturemap.calibration import CalibrationCurve
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.geostat import Covariance
from moisturemap.survey import Limit
from moisturemap.zones import MappedVisit

Array = NDArray[np.float64]

LEAST_TESTS = 3
CELLS = 300
"""Cells of a slab at which the floor is drawn."""

SPREADS, DRAWS = 20, 60
"""Draws of what is not known of the field, and of the field for each of them."""

ASSUMED_LENGTH_M = 2.0
"""Length of the exponential covariance without a scan [m]; project choice."""

PRIOR_SHARE, PRIOR_TESTS = 0.04, 3
"""Spread of results over a floor before any test, as a share of the limit (3 %RH at 80 %RH), and
how many tests that opinion is worth; project choice."""


@dataclass(frozen=True)
class ChanceView:
    """Chance of exceeding the limit away from the tests.

    Attributes
    ----------
    chance_any : float
        That any cell of the floor exceeds its limit.
    expected_share : float
        Expected share of the floor that does.
    cells : pandas.DataFrame
        ``x, y, room, chance``: of each cell. A low chance is no pass.
    how : str
        What it rests on.
    """

    chance_any: float
    expected_share: float
    cells: pd.DataFrame
    how: str


@dataclass(frozen=True)
class KnownField:
    """A Gaussian field with known trend values, covariance and noise.

    Attributes
    ----------
    points, cells : ndarray, shape (n, 2) and (m, 2)
        [m]
    point_trend, cell_trend : ndarray, shape (n, p) and (m, p)
        Drift columns.
    noise_sd : ndarray, shape (n,)
        Standard uncertainty of the tests.
    """

    points: Array
    cells: Array
    point_trend: Array
    cell_trend: Array
    noise_sd: Array

    def draws(
        self,
        values: Array,
        covariance: Covariance,
        count: int,
        rng: np.random.Generator,
        coefficients: Array | None = None,
    ) -> Array:
        """Draw the noise-free field at the cells given the tests, shape (count, m).

        Coefficients of the trend are drawn by generalised least squares unless given.
        """
        system = covariance.between(self.points, self.points) + np.diag(self.noise_sd**2)
        across = covariance.between(self.cells, self.points)
        solved = np.linalg.solve(system, np.column_stack([values, self.point_trend, across.T]))
        width = self.point_trend.shape[1]
        weights = solved[:, 1 + width :].T
        left = self.cell_trend - weights @ self.point_trend
        spread = covariance.between(self.cells, self.cells) - weights @ across.T
        if coefficients is None:
            precision = self.point_trend.T @ solved[:, 1 : 1 + width]
            coefficients = np.linalg.solve(precision, self.point_trend.T @ solved[:, 0])
            spread = spread + left @ np.linalg.solve(precision, left.T)
        mean = weights @ values + left @ coefficients
        jitter = 1e-8 * covariance.variance * np.eye(len(self.cells))
        root = np.linalg.cholesky(spread + jitter)
        return np.asarray(mean + rng.standard_normal((count, len(mean))) @ root.T)


def chance_view(
    tests: Sequence[JudgedTest],
    limits: dict[str, Limit | None],
    plan: FloorPlan,
    study: MappedVisit | None,
    curves: Sequence[CalibrationCurve],
    *,
    seed: int,
) -> ChanceView | None:
    """Draw the floor between the tests, slab by slab; None with fewer than 3 tests on each."""
    rng = np.random.default_rng(seed)
    frames, hows, never, left_out = [], [], 1.0, []
    for rooms in _slabs(plan, limits):
        names = [room.name for room in rooms]
        own = [t for t in tests if t.judged and t.entry.room in rooms and t.entry.place]
        limit = limits[names[0]]
        if limit is None or len(own) < LEAST_TESTS:
            left_out += names
            continue
        curve = _curve_for(own, curves, names)
        cells, above, how = _draw_slab(own, rooms, limit_value(limit), study, curve, rng)
        never *= 1.0 - float(above.any(axis=1).mean())
        frames.append(cells.assign(chance=above.mean(axis=0)))
        hows.append(f"{', '.join(names)}: {how}")
    if not frames:
        return None
    table = pd.concat(frames, ignore_index=True)
    share = float(np.average(table["chance"], weights=table["area"]))
    if left_out:
        hows.append(f"left out for want of {LEAST_TESTS} judged tests: {', '.join(left_out)}")
    return ChanceView(1.0 - never, share, table.drop(columns="area"), "; ".join(hows))


def _slabs(plan: FloorPlan, limits: dict[str, Limit | None]) -> list[list[Room]]:
    groups: dict[object, list[Room]] = {}
    for room in plan.rooms:
        slab = room.slab
        key = (slab.base, slab.thickness_mm, slab.open_faces, slab.pour, limits[room.name])
        groups.setdefault(key, []).append(room)
    return list(groups.values())


def _curve_for(
    tests: Sequence[JudgedTest], curves: Sequence[CalibrationCurve], rooms: list[str]
) -> CalibrationCurve | None:
    quantity = tests[0].entry.method.quantity
    for curve in curves:
        if curve.earned and curve.quantity == quantity and set(rooms) <= set(curve.rooms):
            return curve
    return None


def _draw_slab(
    tests: Sequence[JudgedTest],
    rooms: list[Room],
    limit: float,
    study: MappedVisit | None,
    curve: CalibrationCurve | None,
    rng: np.random.Generator,
) -> tuple[pd.DataFrame, NDArray[np.bool_], str]:
    """Cells of a slab, and in each draw whether they exceed the limit, shape (draws, cells)."""
    cells = _cells(rooms)
    points = np.array([test.entry.place for test in tests], dtype=float)
    values = np.array([test.value for test in tests], dtype=float)
    noise = np.array([test.spread.expanded / 2 for test in tests])
    places = cells[["x", "y"]].to_numpy()
    point_trend, cell_trend = np.ones((len(points), 1)), np.ones((len(places), 1))
    how = "1 test" if len(tests) == 1 else f"{len(tests)} tests"
    scan = None if curve is None or study is None else _scan(study, np.vstack([points, places]))
    if scan is not None:
        point_trend = np.column_stack([point_trend, scan[: len(points)]])
        cell_trend = np.column_stack([cell_trend, scan[len(points) :]])
        how += " and the scan, which they follow closely enough"
    shape, words = _shape(study, rooms)
    known = KnownField(points, places, point_trend, cell_trend, noise)
    above = []
    for variance in _variances(values, point_trend, limit, rng):
        field = Covariance(shape.kind, variance, shape.length)
        above.append(known.draws(values, field, DRAWS, rng) > limit)
    return cells, np.vstack(above), f"{how}; {words}"


def _variances(values: Array, trend: Array, limit: float, rng: np.random.Generator) -> Array:
    """Draws of the variance of the field: scaled inverse chi-square, prior and residuals."""
    coefficients = np.linalg.lstsq(trend, values, rcond=None)[0]
    residual = float(((values - trend @ coefficients) ** 2).sum())
    prior = PRIOR_TESTS * (PRIOR_SHARE * limit) ** 2
    freedom = PRIOR_TESTS + values.size - trend.shape[1]
    return np.asarray((prior + residual) / rng.chisquare(freedom, SPREADS))


def _shape(study: MappedVisit | None, rooms: list[Room]) -> tuple[Covariance, str]:
    """Covariance of the scan over these rooms, else the assumed one."""
    names = {room.name for room in rooms}
    if study is not None:
        for domain in study.moisture.domains:
            field = study.moisture.fields.get(domain.key)
            if field is not None and names & set(domain.rooms):
                found = field.covariance
                return found, f"correlation as in the scan ({found.kind}, {found.length:.1f} m)"
    assumed = Covariance("exponential", 1.0, ASSUMED_LENGTH_M)
    return assumed, f"correlation assumed ({assumed.kind}, {assumed.length:.1f} m)"


def _scan(study: MappedVisit, places: Array) -> Array | None:
    """Look the mapped reading up at places, nearest cell; None where nothing is mapped."""
    mean = study.moisture.dataset["mean"].to_numpy()
    grid = study.moisture.grid
    column = np.abs(grid.x[None, :] - places[:, :1]).argmin(axis=1)
    row = np.abs(grid.y[None, :] - places[:, 1:]).argmin(axis=1)
    found = mean[row, column]
    known = ~np.isnan(found)
    if not known.any():
        return None
    for place in np.nonzero(~known)[0]:
        gap = ((places[known] - places[place]) ** 2).sum(axis=1)
        found[place] = found[known][gap.argmin()]
    return np.asarray(found)


def _cells(rooms: list[Room]) -> pd.DataFrame:
    """About ``CELLS`` cells over the rooms: ``x, y, room, area``."""
    area = sum(room.polygon.area for room in rooms)
    side = float(np.sqrt(area / CELLS))
    frames = []
    for room in rooms:
        west, south, east, north = room.polygon.bounds
        across, along = max(1, round((east - west) / side)), max(1, round((north - south) / side))
        x = west + (np.arange(across) + 0.5) * (east - west) / across
        y = south + (np.arange(along) + 0.5) * (north - south) / along
        grid = np.column_stack([one.ravel() for one in np.meshgrid(x, y)])
        inside = shapely.contains_xy(room.polygon, grid[:, 0], grid[:, 1])
        if not inside.any():
            middle = room.polygon.representative_point()
            inside, grid = np.array([True]), np.array([[middle.x, middle.y]])
        own = grid[inside]
        frames.append(
            pd.DataFrame(
                {
                    "x": own[:, 0],
                    "y": own[:, 1],
                    "room": room.name,
                    "area": room.polygon.area / len(own),
                }
            )
        )
    return pd.concat(frames, ignore_index=True)
