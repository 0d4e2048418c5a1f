"""Things in the floor that a meter answers to, as nodes with cover and strength."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy import ndimage
from scipy.spatial import cKDTree

from .raster import Raster

NODE = 0.02  # m between nodes of a thing
FIELD_CELL = 0.02  # m
FIELD_REACH = 0.8  # m in plan beyond which a node counts for nothing
COVERS = np.geomspace(0.002, 0.25, 14)  # m
LEAST_LIFT = 0.002  # of scale
MOST = 0.9  # of scale: where the answer to metal levels off
REFERENCE_COVER, REFERENCE_FOOTPRINT = 0.03, 0.10  # m


@dataclass(frozen=True)
class Thing:
    """One thing in the floor.

    ``geometry`` in plan (shapely, m), ``size`` diameter or longer side (m), ``depth`` mean cover
    over its upper face (m), ``nodes`` (k, 2), ``cover`` (k,) m and ``weight`` (k,), which is the
    strength of each node in metres of 15 mm copper pipe.
    """

    kind: str
    geometry: shapely.Geometry
    size: float
    depth: float
    nodes: np.ndarray
    cover: np.ndarray
    weight: np.ndarray


@dataclass(frozen=True)
class MeterField:
    """How the meter's field reaches a node: K = 1 / (1 + (r/reach)^power), over its footprint.

    r is the distance in space from a place under the meter to the node; K is averaged over a
    Gaussian ``footprint`` (sd, m). ``gain`` is the part of the scale that a long 15 mm copper pipe
    under 30 mm cover adds right above it, for a footprint of 0.10 m.
    """

    reach: float
    power: float
    footprint: float
    gain: float

    def table(self, footprint: float | None = None) -> tuple[np.ndarray, np.ndarray]:
        """Distances in plan (m,) and K (covers, m) averaged over the footprint."""
        sd = self.footprint if footprint is None else footprint
        half = round((FIELD_REACH + 0.2) / FIELD_CELL)
        axis = np.arange(-half, half + 1) * FIELD_CELL
        plan2 = axis[:, None] ** 2 + axis[None, :] ** 2
        rows = []
        for cover in COVERS:
            r = np.sqrt(plan2 + cover**2)
            k = 1.0 / (1.0 + (r / self.reach) ** self.power)
            seen = ndimage.gaussian_filter(k, sd / FIELD_CELL, truncate=5, mode="nearest")
            rows.append(seen[half, half:])
        return axis[half:], np.array(rows)

    def unit(self) -> float:
        """Sum of K along a metre-wise straight pipe at the reference cover and footprint, m."""
        plan, k = self.table(REFERENCE_FOOTPRINT)
        at_cover = np.array([np.interp(REFERENCE_COVER, COVERS, column) for column in k.T])
        keep = plan <= FIELD_REACH
        return float(2 * np.trapezoid(at_cover[keep], plan[keep]))

    def answer(self, things: tuple[Thing, ...], points: np.ndarray) -> np.ndarray:
        """Sum what the things add at places (n, 2), part of scale, before it levels off."""
        total = np.zeros(len(points))
        if not things or not len(points):
            return total
        plan, table = self.table()
        tree = cKDTree(points)
        for thing in things:
            total += self._one(thing, tree, len(points), plan, table)
        total *= self.gain / self.unit()
        return total

    def lift(self, thing: Thing, raster: Raster) -> float:
        """Median over the floor of what a thing adds: 0 unless it lies under nearly all of it."""
        cells = np.argwhere(raster.inside)
        cells = cells[:: max(len(cells) // 300, 1)]
        places = np.column_stack([raster.x[cells[:, 1]], raster.y[cells[:, 0]]])
        low, middle = np.quantile(self.answer((thing,), places), (0.15, 0.5))
        return float(middle) if middle > LEAST_LIFT and low > 0.4 * middle else 0.0

    def _one(
        self, thing: Thing, tree: cKDTree, n: int, plan: np.ndarray, table: np.ndarray
    ) -> np.ndarray:
        near = tree.query_ball_point(thing.nodes, FIELD_REACH)
        counts = np.fromiter((len(found) for found in near), int, len(near))
        if not counts.sum():
            return np.zeros(n)
        node = np.repeat(np.arange(len(near)), counts)
        place = np.concatenate([np.asarray(found, int) for found in near])
        away = np.hypot(*(tree.data[place] - thing.nodes[node]).T)
        column = away / FIELD_CELL
        row = np.interp(thing.cover, COVERS, np.arange(len(COVERS)))[node]
        k = ndimage.map_coordinates(table, [row, column], order=1, mode="nearest")
        return np.bincount(place, weights=k * thing.weight[node], minlength=n)


def level_lift(lifts: tuple[float, ...]) -> float:
    """Linear answer by which things under the whole floor lift it, levelled off."""
    return MOST * float(np.tanh(sum(lifts) / MOST))


def added_by(
    field: MeterField, things: tuple[Thing, ...], lifts: tuple[float, ...], places: np.ndarray
) -> np.ndarray:
    """Linear answer (n,) that things add at places, over the lift of the whole floor."""
    return MOST * np.tanh(field.answer(things, places) / MOST) - level_lift(lifts)
