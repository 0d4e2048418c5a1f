"""The regular grid of cells that maps are computed on."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from moisturemap.errors import OptionError
from moisturemap.floorplan.domain import Domain
from moisturemap.floorplan.plan import FloorPlan


@dataclass(frozen=True)
class CellGrid:
    """Cell centres over the bounding box of a plan.

    Attributes
    ----------
    x, y : ndarray, shape (nx,) and (ny,)
        Cell centres [m], both ascending.
    room : ndarray of int, shape (ny, nx)
        Index into ``plan.rooms``; -1 outside every room.
    domain : ndarray of int, shape (ny, nx)
        Index into the plan's domains; -1 outside every room.
    spacing : float
        Side of a cell [m].
    """

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    room: NDArray[np.intp]
    domain: NDArray[np.intp]
    spacing: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns (ny, nx)."""
        return self.y.size, self.x.size

    @property
    def inside(self) -> NDArray[np.bool_]:
        """True for cells whose centre lies in a room, shape (ny, nx)."""
        inside: NDArray[np.bool_] = self.room >= 0
        return inside

    def centres(self, where: NDArray[np.bool_] | None = None) -> NDArray[np.float64]:
        """Return the centres [m], shape (m, 2), of the cells where the mask is true."""
        mask = self.inside if where is None else where
        row, column = np.nonzero(mask)
        return np.column_stack([self.x[column], self.y[row]])


STEPS = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
"""Decimal steps a chosen spacing is rounded up to."""

FINEST_M = 0.02
LARGEST_ARRAY = 25_000_000


def make_grid(
    plan: FloorPlan,
    domains: tuple[Domain, ...],
    spacing: float | None = None,
    max_cells: int = 20_000,
) -> CellGrid:
    """Lay a regular grid of square cells over a plan.

    Parameters
    ----------
    plan : FloorPlan
    domains : tuple of Domain
        Domains of the plan.
    spacing : float, optional
        Side of a cell [m]. When None, the finest round figure with at most ``max_cells`` cells
        inside the rooms, and no finer than ``FINEST_M``.
    max_cells : int
        Most cells inside the rooms when the spacing is chosen here.

    Raises
    ------
    OptionError
        When the spacing is not a positive number, or so fine that the grid would not fit in
        memory, or so coarse that no cell lies in any room.
    """
    if spacing is not None:
        _check_spacing(plan, spacing)
        return _lay(plan, domains, float(spacing))
    if max_cells < 1:
        raise OptionError("a grid needs at least one cell", value=max_cells, allowed="1 or more")
    step = _round_up(max(math.sqrt(plan.outline.area / max_cells), FINEST_M, _array_limit(plan)))
    grid = _lay(plan, domains, step)
    while int(grid.inside.sum()) > max_cells:
        step = _round_up(step * 1.02)
        grid = _lay(plan, domains, step)
    return grid


def _check_spacing(plan: FloorPlan, spacing: float) -> None:
    west, south, east, north = plan.bounds
    finest = _array_limit(plan)
    coarsest = max(east - west, north - south)
    if not math.isfinite(spacing) or not finest <= spacing <= coarsest:
        raise OptionError(
            "the spacing of the cells does not suit this plan",
            value=spacing,
            allowed=f"{finest:.3g} to {coarsest:.3g} m",
        )


def _array_limit(plan: FloorPlan) -> float:
    west, south, east, north = plan.bounds
    return math.sqrt((east - west) * (north - south) / LARGEST_ARRAY)


def _round_up(length: float) -> float:
    power = 10.0 ** math.floor(math.log10(length))
    return next(round(s * power, 9) for s in STEPS if s * power >= length * (1 - 1e-9))


def _lay(plan: FloorPlan, domains: tuple[Domain, ...], spacing: float) -> CellGrid:
    west, south, east, north = plan.bounds
    x, y = _centres(west, east, spacing), _centres(south, north, spacing)
    room = np.full((y.size, x.size), -1, dtype=np.intp)
    for index, item in enumerate(plan.rooms):
        _paint(room, x, y, item.polygon, index)
    domain = np.full((y.size, x.size), -1, dtype=np.intp)
    for index, part in enumerate(domains):
        _paint(domain, x, y, part.geometry, index)
    domain[room < 0] = -1
    _claim_strays(domain, room, x, y, domains)
    return CellGrid(x, y, room, domain, spacing)


def _centres(low: float, high: float, spacing: float) -> NDArray[np.float64]:
    first = math.floor(low / spacing + 1e-9)
    last = max(math.ceil(high / spacing - 1e-9), first + 1)
    centres: NDArray[np.float64] = (np.arange(first, last, dtype=np.float64) + 0.5) * spacing
    return centres


def _paint(
    index_of: NDArray[np.intp],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    area: BaseGeometry,
    index: int,
) -> None:
    """Write an index into the still unclaimed cells whose centre the area covers."""
    west, south, east, north = area.bounds
    columns = slice(*np.searchsorted(x, [west - 1e-9, east + 1e-9]))
    rows = slice(*np.searchsorted(y, [south - 1e-9, north + 1e-9]))
    window = index_of[rows, columns]
    if window.size == 0:
        return
    shapely.prepare(area)
    across, up = np.meshgrid(x[columns], y[rows])
    covered = shapely.intersects_xy(area, across, up)
    window[covered & (window < 0)] = index


def _claim_strays(
    domain: NDArray[np.intp],
    room: NDArray[np.intp],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    domains: tuple[Domain, ...],
) -> None:
    """Give cells of a room that fall between domains (on a joint) to the nearest one."""
    row, column = np.nonzero((room >= 0) & (domain < 0))
    if row.size and domains:
        places = shapely.points(x[column], y[row])
        gaps = np.stack([shapely.distance(part.geometry, places) for part in domains])
        domain[row, column] = gaps.argmin(axis=0)
