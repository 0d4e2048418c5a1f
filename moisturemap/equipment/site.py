"""One kind of machine on one floor: the positions it may take, and how each serves.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from moisturemap.equipment.demand import Demand
from moisturemap.equipment.facility import worth
from moisturemap.equipment.machine import Machine
from moisturemap.equipment.placement_options import PlacementOptions
from moisturemap.equipment.position import TURNS, Positions, at_machines, find_positions
from moisturemap.equipment.score import PlacementScore
from moisturemap.equipment.service import by_nearness, by_stream, off_the_wet, ways
from moisturemap.floorplan import FloorPlan

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Site:
    """One kind of machine on one floor.

    Attributes
    ----------
    kind : str
    plan : FloorPlan
    space : geometry
        Where air can go [m].
    machines : tuple of Machine
        As they stand today.
    positions : Positions
        Those of today's machines first.
    way : ndarray, shape (positions, places)
        Way of the air from the wet places [m]; inf where none leads.
    service : ndarray, shape (positions, places)
    full : float
        What a place served best would have.
    demand : Demand
    notes : tuple of str
    in_the_way : frozenset of int
        Machines that stand in a keep-clear area and cannot stay.
    """

    kind: str
    plan: FloorPlan
    space: BaseGeometry
    machines: tuple[Machine, ...]
    positions: Positions
    way: Array
    service: Array
    full: float
    demand: Demand
    notes: tuple[str, ...]
    in_the_way: frozenset[int] = frozenset()

    @classmethod
    def of(
        cls,
        plan: FloorPlan,
        space: BaseGeometry,
        machines: tuple[Machine, ...],
        kind: str,
        demand: Demand,
        options: PlacementOptions,
    ) -> Site:
        """Lay out positions, today's first, and work out how each serves each wet place."""
        free, notes = find_positions(plan, space, kind, options.cable_m)
        now = at_machines(machines)
        blocked, said = _in_the_way(plan, machines)
        if kind == "air-mover":
            now = _with_best_turn(space, now, demand, options.throw_m)
            free = _turned(now, blocked, free)
        positions = Positions(
            np.concatenate([now.points, free.points]),
            np.concatenate([now.direction_deg, free.direction_deg]),
        )
        way = ways(space, positions, demand.points)
        if kind == "air-mover":
            service, full = by_stream(way, positions, demand.points, options.throw_m), 1.0
        else:
            full = float(way[np.isfinite(way)].max()) if np.isfinite(way).any() else 0.0
            # a little more, so that the farthest place reached counts for more than one not reached
            full = max(1.05 * full, 1e-6)
            service = by_nearness(way, full)
        service = service * off_the_wet(positions, demand.points)
        return cls(
            kind,
            plan,
            space,
            machines,
            positions,
            way,
            service,
            full,
            demand,
            (*notes, *said),
            blocked,
        )

    def where_it_stands(self, machine: int) -> NDArray[np.intp]:
        """Positions of a machine that leave it where it stands, turned or not, shape (k,).

        Parameters
        ----------
        machine : int

        Returns
        -------
        ndarray of int, shape (k,)
        """
        points = self.positions.points
        return np.flatnonzero((points == points[machine]).all(axis=1))

    def share(self, chosen: Sequence[int]) -> float:
        """Percent of what could be served that a choice serves."""
        best = self.full * float(self.demand.weight.sum())
        return 100.0 * worth(self.service, self.demand.weight, tuple(chosen)) / best

    def reached(self, chosen: Sequence[int]) -> Mask:
        """Wet places that air of a choice reaches at all, shape (places,)."""
        if not len(chosen):
            return np.zeros(len(self.demand.points), dtype=bool)
        return np.asarray(np.isfinite(self.way[list(chosen)]).any(axis=0))

    def mean_way(self, chosen: Sequence[int]) -> float:
        """Mean way from the wet places reached to the nearest machine [m]; NaN when none is."""
        here = self.reached(chosen)
        weight = self.demand.weight[here]
        if not weight.sum() > 0.0:
            return float("nan")
        nearest = self.way[list(chosen)].min(axis=0)[here]
        return float(nearest @ weight / weight.sum())

    def score(self, chosen: Sequence[int], exact: bool) -> PlacementScore:
        """Compare a choice with today's positions."""
        today = tuple(range(len(self.machines)))
        before, after = self.share(today), self.share(chosen)
        lost = [
            100.0 * float(self.demand.weight[~self.reached(one)].sum() / self.demand.weight.sum())
            for one in (today, chosen)
        ]
        if self.kind == "air-mover":
            now = before if self.machines else float("nan")
            return PlacementScore(self.kind, "%", now, after, after - before, exact, *lost)
        return PlacementScore(
            self.kind,
            "m",
            self.mean_way(today),
            self.mean_way(chosen),
            after - before,
            exact,
            *lost,
        )


def _with_best_turn(
    space: BaseGeometry, now: Positions, demand: Demand, throw_m: float
) -> Positions:
    """Give machines without a direction the one that serves most from where they stand."""
    headings = now.direction_deg.copy()
    turns = np.arange(TURNS) * 360.0 / TURNS
    for index in np.flatnonzero(np.isnan(headings)):
        around = Positions(np.repeat(now.points[index : index + 1], TURNS, axis=0), turns)
        way = ways(space, around, demand.points)
        service = by_stream(way, around, demand.points, throw_m)
        headings[index] = turns[int((service @ demand.weight).argmax())]
    return Positions(now.points, headings)


def _turned(now: Positions, blocked: frozenset[int], free: Positions) -> Positions:
    """Add to free positions those of machines turned where they stand."""
    stay = [index for index in range(len(now.points)) if index not in blocked]
    turns = np.arange(TURNS) * 360.0 / TURNS
    return Positions(
        np.concatenate([np.repeat(now.points[stay], TURNS, axis=0), free.points]),
        np.concatenate([np.tile(turns, len(stay)), free.direction_deg]),
    )


def _in_the_way(
    plan: FloorPlan, machines: tuple[Machine, ...]
) -> tuple[frozenset[int], tuple[str, ...]]:
    """Return the machines that stand in a keep-clear area, and a sentence on each."""
    clear = [line.geometry for line in plan.lines_of("keep-clear")]
    found = frozenset(
        index
        for index, one in enumerate(machines)
        if any(area.intersects(Point(one.x, one.y)) for area in clear)
    )
    return found, tuple(
        f"{machines[index].name} stands in an area to be kept clear: move it out."
        for index in sorted(found)
    )
