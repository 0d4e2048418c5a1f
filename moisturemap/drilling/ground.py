"""The ground a part of the floor gives a drill plan: its cells, and where a hole may stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from moisturemap.anomalies import Rises
from moisturemap.drilling.clearance import SETTING_OUT_M, clear_of
from moisturemap.drilling.options import DrillOptions
from moisturemap.floorplan import Domain, FloorPlan
from moisturemap.mapping import MoistureSurface
from moisturemap.zones import WetZones, wettest_cells

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

MOST_LOG_ODDS = 0.0
"""Outside the wet zones no hole stands where the readings speak for something within the clearance
rather than against it, named or not: on invented floors nine in ten such things lie under that
tenth of the floor. In a wet zone they rise as sharply without anything below, and closing it would
leave wet floor untested: there the hole is told to be swept first."""

FIRST, CALM = 4, {4: (-np.inf, 0.0), 2: (-2.0, 1.5), 1: (-1.5, np.inf)}
"""Step of the cells asked first. Where four cells around, twice a step apart, are all below the
first number and differ by less than the second, the log odds between them are taken straight from
theirs (our choice): of 61,000 cells of fourteen invented floors so are seven in ten, those asked
for themselves differ by 0.6 (rms), and none of them speaks for something."""

SHARP_CLEAR_M = 0.4
"""No hole is proposed this near to a reading that stands well above both of its sides, named or
not: a hole in the wettest floor moves to the side of it [m] (our choice)."""


@dataclass(frozen=True)
class Ground:
    """What a site is made from: the domains it covers and the floor no hole may stand on."""

    surface: MoistureSurface
    wet: WetZones
    plan: FloorPlan
    domains: tuple[Domain, ...]
    forbidden: BaseGeometry
    options: DrillOptions
    rises: Mapping[str, Rises] = field(default_factory=dict)
    unread: tuple[str, ...] = ()

    @cached_property
    def cells(self) -> Mask:
        """Map cells of these domains, shape (ny, nx)."""
        keys = {domain.key for domain in self.domains}
        chosen = [i for i, domain in enumerate(self.surface.domains) if domain.key in keys]
        return np.asarray(np.isin(self.surface.grid.domain, chosen) & self.surface.grid.inside)

    @cached_property
    def reachable(self) -> Mask:
        """Those of them that keep clear of what is known, shape (ny, nx)."""
        clear = np.zeros_like(self.cells)
        clear[self.cells] = clear_of(self.forbidden, self.surface.grid.centres(self.cells))
        return clear

    @cached_property
    def log_odds(self) -> Array:
        """Log odds of something hidden too near the reachable cells, shape (ny, nx); else 0."""
        found = np.zeros(self.cells.shape)
        grid = self.surface.grid
        for index, domain in enumerate(self.surface.domains):
            here = self.reachable & (grid.domain == index)
            if domain.key in self.rises and here.any():
                found[here] = self._hidden_in(domain.key, here)
        return found

    def _hidden_in(self, domain: str, cells: Mask) -> Array:
        """Log odds of something hidden too near some cells (ny, nx) of a domain, (m,).

        Of cells finer than the rise over a thing every fourth one is asked first, then those
        between, as far as the ones around are not calm.
        """
        grid = self.surface.grid
        coarse = grid.spacing > self.rises[domain].width
        row, column = np.nonzero(cells)
        found = np.full((cells.shape[0] + FIRST, cells.shape[1] + FIRST), np.nan)
        step = 1 if coarse else FIRST
        while step:
            open_ = np.isnan(found[row, column]) & (row % step == 0) & (column % step == 0)
            at = row[open_], column[open_]
            around = _around(found, at, 2 * step)
            # cells at an edge lack some of the four
            highest, apart = CALM[step]
            calm = (around.max(axis=0) <= highest) & (np.ptp(around, axis=0) <= apart)
            found[at[0][calm], at[1][calm]] = around.mean(axis=0)[calm]
            asked = at[0][~calm], at[1][~calm]
            places = np.column_stack([grid.x[asked[1]], grid.y[asked[0]]])
            found[asked] = self.hidden_at(domain, places)
            step //= 2
        return found[row, column]

    def hidden_at(self, domain: str, places: Array) -> Array:
        """Log odds of something hidden too near places (m, 2) [m] of a domain, (m,)."""
        if domain not in self.rises:
            return np.zeros(len(places))
        return self.rises[domain].log_odds(places, self.options.clearance_m)

    @cached_property
    def off_sharp(self) -> Mask:
        """Reachable cells that no sharp reading lies near, shape (ny, nx).

        Where a zone that is surely wet has no such cell among those that read wettest, those of
        them off readings steeper than wet floor, else all of them, and where they cannot be
        reached the whole zone: wet floor may not go untested. What a sweep has shown is kept clear
        of there too.
        """
        rises = [self.rises[one.key] for one in self.domains if one.key in self.rises]
        centres = self.surface.grid.centres(self.reachable)

        def off(near: list[Array]) -> Mask:
            clear = self.reachable.copy()
            clear[self.reachable] = _off(near, centres)
            return clear

        swept = off([one.peaks for one in rises])
        smooth = swept & off([one.steep() for one in rises])
        found = swept & off([one.sharp() for one in rises])
        for number, top in self.zone_tops:
            zone, sure = self.zone_cells[number]
            if not sure or (top & found).any():
                continue
            if (top & swept).any():
                found |= top & (smooth if (top & smooth).any() else swept)
            elif not (zone & found).any():
                found |= zone & swept
        return found

    @cached_property
    def zones(self) -> gpd.GeoDataFrame:
        """The wet zones of these domains."""
        keys = {domain.key for domain in self.domains}
        return self.wet.zones[self.wet.zones["domain"].isin(keys)]

    @cached_property
    def zone_cells(self) -> list[tuple[Mask, bool]]:
        """Of each wet zone its cells, shape (ny, nx), and whether it is surely wet."""
        centres = self.surface.grid.centres(self.cells)
        found = []
        for outline, standing in zip(self.zones.geometry, self.zones["standing"], strict=True):
            inside = np.zeros_like(self.cells)
            inside[self.cells] = shapely.intersects_xy(outline, *centres.T)
            found.append((inside, standing != "contested"))
        return found

    @cached_property
    def zone_tops(self) -> list[tuple[int, Mask]]:
        """Cells about each peak of each wet zone, shape (ny, nx), with the number of the zone."""
        tops, none = wettest_cells(self.surface, self.wet), (np.zeros_like(self.cells),)
        return [
            (number, top & self.cells)
            for number, name in enumerate(self.zones["zone"])
            for top in tops.get(str(name), none)
        ]

    @cached_property
    def in_zone(self) -> Mask:
        """Those of them that lie in a wet zone, shape (ny, nx)."""
        inside = [np.zeros_like(self.cells), *(one for one, _ in self.zone_cells)]
        return np.asarray(np.any(inside, axis=0))

    @cached_property
    def clear_cells(self) -> Mask:
        """Those of them on which a hole may stand."""
        calm = self.in_zone | (self.log_odds <= MOST_LOG_ODDS)
        return np.asarray(self.off_sharp & calm)


def _around(found: Array, at: tuple[Array, Array], step: int) -> Array:
    """Return what the four cells of a lattice of so many cells around others hold: (4, m)."""
    rows, columns = ((one - one % step, one + -one % step) for one in at)
    return np.array([found[r, c] for r in rows for c in columns])


def _off(near: list[Array], centres: Array) -> Mask:
    """Which places (m, 2) lie far enough from sharp ones."""
    places = np.concatenate([np.empty((0, 2)), *near])
    if not len(places):
        return np.ones(len(centres), dtype=bool)
    away = np.asarray(cKDTree(places).query(centres)[0])
    return np.asarray(away >= SHARP_CLEAR_M + SETTING_OUT_M)
