"""Holes where another scan or another meter read high: the map says nothing of that floor."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.drilling.draft import Draft
from moisturemap.drilling.ground import Ground
from moisturemap.drilling.options import Place
from moisturemap.drilling.purpose import Purpose
from moisturemap.floorplan import Domain
from moisturemap.zones.high_place import HighPlace
from moisturemap.zones.read_high import read_high_elsewhere

READ_HIGH = "read-high"


def holes_where_read_high(
    draft: Draft, ground: Ground, domains: tuple[Domain, ...], standing: list[Place]
) -> list[tuple[Purpose, Place]]:
    """Return a place at each such part of the floor without a hole; what cannot have one is told.

    Parameters
    ----------
    draft : Draft
    ground : Ground
    domains : tuple of Domain
        The part of the floor that is planned.
    standing : list of (float, float)
        Holes the plan has by now [m].
    """
    row, column = np.nonzero(ground.clear_cells)
    grid = ground.surface.grid
    clear = np.column_stack([grid.x[column], grid.y[row]])
    found: list[tuple[Purpose, Place]] = []
    for high in read_high_elsewhere(draft.mapped):
        own = draft.on(domains, list(high.places))
        if not own or _tested(high, [*standing, *(place for _, place in found)]):
            continue
        place = _nearest(own, clear, high.within_m)
        if place is None:
            draft.unreached.append(
                "No hole lies where another scan or another meter read high, about x "
                f"{own[0][0]:.2f} m, y {own[0][1]:.2f} m: no place there keeps the clearance. The "
                "verdict asks for a valid test there, and until one stands nothing is known of it."
            )
        else:
            found.append((Purpose(READ_HIGH, high.sentence), place))
    return found


def _tested(high: HighPlace, holes: list[Place]) -> bool:
    """Whether a hole stands where the verdict takes a test for one there."""
    if not holes:
        return False
    return float(np.min(cKDTree(holes).query(np.array(high.places))[0])) <= high.within_m


def _nearest(places: list[Place], clear: NDArray[np.float64], within_m: float) -> Place | None:
    """Return the clear cell (n, 2) nearest to the highest place that has one so near [m]."""
    if not len(clear):
        return None
    for distance, cell in np.column_stack(cKDTree(clear).query(np.array(places))):
        if distance <= within_m:
            return float(clear[int(cell), 0]), float(clear[int(cell), 1])
    return None
