"""What is contested on the grid, settled by the sweeps across it.

A sweep shows the whole profile of what it crosses, so what stands up sharply from what is beside it
is something embedded, and what does not is floor. Method: docs/method/anomalies.md.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.anomalies.calm import CalmFloor, dry_level
from moisturemap.anomalies.decision import standing_swept, with_visits
from moisturemap.anomalies.disc import Disc
from moisturemap.anomalies.finds import Finds
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.rises import what_is_left
from moisturemap.anomalies.rivals import Weighed
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.settle import stub_through, weigh_line, weigh_spot
from moisturemap.anomalies.swept import runs_of

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Index = NDArray[np.intp]

ACROSS_M, PAST_M, LEAST = 0.6, 0.3, 5
"""A reading of a sweep tells of a line this far beside it and past its ends [m], of a spot this far
from it; and so many at least tell anything."""

BESIDE_M, LEAST_BESIDE, AGREES = 0.2, 2, 0.5
"""Readings of sweeps this near to a single one [m] say whether it was a wrong one: so many at
least, and it was if none stands this share as high. On invented floors wet spots and things gave
0.7 and more, wrong readings 0.4 at most."""

MEMBERS_M = 0.3
"""Readings this near to a place are those of a spot there [m]."""

CROSSED = 0.3
"""What gives a place this share of its strength explains what was read there."""

STANDS_OUT = 6.0
"""Where nothing was contested, a sweep is weighed if it rises this high [sd of calm floor]."""


def settled(scene: Scene, swept: Mask, grid: Scene, finds: Finds) -> Finds:
    """Settle what a search of the grid left contested.

    Parameters
    ----------
    scene : Scene
        All readings.
    swept : ndarray of bool, shape (n,)
        Those of sweeps.
    grid : Scene
        The others.
    finds : Finds
        What the search of the grid found.

    Returns
    -------
    Finds
        Of all readings. What no sweep crosses stays as the grid left it.
    """
    calm = replace(finds.calm, base=dry_level(grid, scene.points))
    lone = np.zeros(len(swept))
    doubtful, plain = np.zeros((2, len(swept)), dtype=bool)
    lone[~swept], doubtful[~swept], plain[~swept] = finds.lone, finds.doubtful, finds.plain
    judge = _Judge(scene, calm, swept, lone == 0, list(finds.things))
    judge.lines(finds.contested)
    for one in finds.contested:
        if isinstance(one.shape, Disc):
            judge.spot(np.asarray(one.shape.centre), one)
    for reading in np.flatnonzero(doubtful).tolist():
        if judge.is_wrong(reading):
            doubtful[reading] = False
        elif judge.spot(scene.points[reading], None):
            lone[reading], doubtful[reading] = 0.0, False
    judge.elsewhere()
    rises = what_is_left(scene, calm, judge.values, judge.contested, lone == 0)
    things, contested = tuple(judge.things), tuple(judge.contested)
    rises = rises.shown_floor(judge.told)
    return Finds(calm, things, contested, lone, doubtful, plain, rises, finds.waves)


class _Judge:
    """Weighs what sweeps cross; what is a thing is taken out of the readings."""

    def __init__(
        self, scene: Scene, calm: CalmFloor, swept: Mask, used: Mask, things: list[Weighed]
    ) -> None:
        self.scene, self.calm, self.swept, self.used = scene, calm, swept, used
        self.things, self.contested = things, list[Weighed]()
        self.values = scene.values.copy()
        for one in things:
            self.values -= one.strength * one.shape.rise(scene.points)
        self.seen = cKDTree(scene.points[swept])
        self.told = np.zeros(len(swept), dtype=bool)

    def lines(self, found: tuple[Weighed, ...]) -> None:
        """Settle lines, the likeliest first."""
        waiting = sorted(
            (one for one in found if isinstance(one.shape, Ridge)), key=lambda one: -one.log_odds
        )
        for place, one in enumerate(waiting):
            assert isinstance(one.shape, Ridge)
            if not self._crosses(one.shape):
                self.contested.append(one)
            elif not self._explained(np.asarray(one.shape.centre)):
                others = self.contested + waiting[place + 1 :]
                self._file(self._line(one.shape, others))

    def spot(self, place: Array, known: Weighed | None) -> bool:
        """Settle what stands at a place (2,); False where no sweep tells of it."""
        if self.seen.query_ball_point(place, ACROSS_M, return_length=True) < LEAST:
            if known is not None:
                self.contested.append(known)
            return False
        self._tell(place)
        if self._explained(place):
            return True
        near = self.scene.tree.query_ball_point(place, MEMBERS_M)
        members = np.array(sorted(near), dtype=np.intp)
        used = self.used.copy()
        used[members] = True
        over = self.values - self.calm.base
        spot = weigh_spot(self.scene, self.calm, self.values, used, members, over)
        stub = stub_through(self.scene, self.calm, self.values, used, members)
        tried = [spot] if stub is None else [self._line(stub, []), spot]
        self._file(*tried)
        return True

    def is_wrong(self, reading: int) -> bool:
        """Whether the sweeps beside a single reading do not see what it says."""
        over = self.scene.values - self.calm.base
        near = self.scene.tree.query_ball_point(self.scene.points[reading], BESIDE_M)
        beside = np.array([k for k in near if self.swept[k]], dtype=np.intp)
        if beside.size < LEAST_BESIDE:
            return False
        return bool((np.abs(over[beside]) <= AGREES * abs(over[reading])).all())

    def elsewhere(self) -> None:
        """Weigh what rises in sweeps that cross nothing known."""
        over = self.values - self.calm.base
        for run in runs_of(self.scene.points, self.scene.spacing):
            places = self.scene.points[run]
            known = bool(self.told[run].any())
            for one in self.things + self.contested:
                known = known or bool((one.shape.rise(places) > CROSSED).any())
            peak = run[int(over[run].argmax())]
            if not known and over[peak] > STANDS_OUT * self.calm.sd:
                self.spot(self.scene.points[peak], None)

    def _line(self, ridge: Ridge, others: list[Weighed]) -> Weighed | None:
        return weigh_line(self.scene, self.calm, self.values, self.used, ridge, others)

    def _crosses(self, ridge: Ridge) -> bool:
        along, across = ridge.frame(self.scene.points)
        near = (np.abs(along) <= ridge.extent + PAST_M) & (np.abs(across) <= ACROSS_M) & self.swept
        self.told |= near
        return bool(near.sum() >= LEAST)

    def _tell(self, place: Array) -> None:
        self.told[self.scene.tree.query_ball_point(place, ACROSS_M)] = True

    def _explained(self, place: Array) -> bool:
        """Whether a thing found since explains what stands at a place."""
        return any(one.shape.rise(place[None])[0] > CROSSED for one in self.things)

    def _file(self, *tried: Weighed | None) -> None:
        """Decide: the first that is a thing counts, else the likeliest is contested, or none."""
        found = [with_visits(self.scene, self.calm, one) for one in tried if one is not None]
        named = [(standing_swept(self.scene, self.calm, one), one) for one in found]
        for standing, one in named:
            if standing == "thing":
                self.things.append(one)
                self.values -= one.strength * one.shape.rise(self.scene.points)
                return
        open_ones = [one for standing, one in named if standing == "contested"]
        if open_ones:
            self.contested.append(max(open_ones, key=lambda one: one.log_odds))
