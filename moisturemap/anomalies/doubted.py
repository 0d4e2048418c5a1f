"""Sweeps that contradict the readings of the grid they pass: they settle nothing.

A sweep is keyed from one end; from the other it puts the wet end of a strip where the floor is dry,
and the dry end over the strip. What a sweep reads must agree with the grid beside it, or one of the
two is wrong. Method: docs/method/anomalies.md, section 5.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.calm import CalmFloor, dry_level, fit_calm
from moisturemap.anomalies.scene import LEAST_GRID, Scene
from moisturemap.anomalies.swept import CROSSES_M, runs_of

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Index = NDArray[np.intp]

ALONG_M = 0.15
"""A reading of the grid is held against those of a sweep this near along it [m]: so far a response
of the usual footprint falls off (our choice)."""

BESIDE = 0.9
"""Readings of the grid on both sides, this near [spacings], bound what lies between them."""

OFF, STEPS, UNEVEN = 6.0, 2.0, 0.3
"""A sweep disagrees by so many noise sd, steps of the display, and this share of what the floor
there stands over dry floor (our choice)."""

PLACES = 2
"""A sweep lower than the grid at so many places is doubted, but for those where another sweep reads
as low; at one the grid may hold a wrong reading, which sweeps are read to find."""

FITS = 0.25
"""It was read from the other end if, turned round, no more than this share of the misfit is left
(our choice)."""


@dataclass(frozen=True, eq=False)
class DoubtedSweep:
    """A sweep that contradicts the grid.

    Attributes
    ----------
    readings : ndarray of int
        Its readings, in the order they were read.
    turned : bool
        Whether it would fit read from the other end.
    low : ndarray of bool
        Which of its readings would draw the floor drier than they may: all of one to be turned.
    sentence : str
        What it is and what to do.
    """

    readings: Index
    turned: bool
    low: Mask
    sentence: str


@dataclass(frozen=True)
class _Place:
    """Grid readings a sweep passes at one place: the readings along it, and the bounds they set.

    ``agreed`` is the lowest that another sweep read there.
    """

    near: Mask
    agreed: float
    low: float
    high: float
    allowed: float

    def off(self, values: Array) -> float:
        """How far the sweep reads beyond what is allowed: negative below the grid [reading]."""
        top, bottom = float(values[self.near].max()), float(values[self.near].min())
        if top < self.low - self.allowed:
            return top - self.low
        return max(bottom - self.high, 0.0) if bottom > self.high + self.allowed else 0.0

    def alone(self, values: Array) -> bool:
        """Whether the sweep reads below the grid and no other sweep does there."""
        return self.off(values) < 0.0 and self.agreed >= self.low - self.allowed


def doubted_sweeps(scene: Scene) -> list[DoubtedSweep]:
    """Find sweeps that contradict the grid they pass.

    Parameters
    ----------
    scene : Scene
        All readings of a domain.
    """
    runs = runs_of(scene.points, scene.spacing)
    swept = np.zeros(len(scene.values), dtype=bool)
    swept[[k for run in runs for k in run]] = True
    if not runs or (~swept).sum() < LEAST_GRID:
        return []
    grid = scene.part(~swept)
    calm = fit_calm(grid)
    dry = dry_level(grid, scene.points) + OFF * calm.sd
    least = dry if scene.level is None else np.full(len(dry), scene.level)
    found = []
    for run in runs:
        other = swept.copy()
        other[run] = False
        places = _places(scene.points[run], grid, calm, scene.part(other))
        found.append(_doubted(scene.points[run], scene.values[run], run, places, least[run]))
    return [one for one in found if one is not None]


def _doubted(
    points: Array, values: Array, run: Index, places: list[_Place], least: Array
) -> DoubtedSweep | None:
    misfit, left = (sum(abs(one.off(read)) for one in places) for read in (values, values[::-1]))
    # turned round, an even sweep stays what it is
    steep = any(one.allowed <= np.ptp(values) for one in places)
    fits = steep and misfit > 0.0 and left <= FITS * misfit
    if not fits and sum(one.alone(values) for one in places) < PLACES:
        return None
    low = np.ones(run.size, dtype=bool) if fits else values <= least
    return DoubtedSweep(run, fits, low, _sentence(points, fits))


def _places(points: Array, grid: Scene, calm: CalmFloor, other: Scene) -> list[_Place]:
    """Return where a sweep at points (k, 2) passes readings of the grid that bound it."""
    way = points[-1] - points[0]
    way = way / np.hypot(*way)
    steps, offset = (points - points[0]) @ way, grid.points - points[0]
    along, aside = offset @ way, offset @ np.array([-way[1], way[0]])
    beside = np.flatnonzero(
        (np.abs(aside) <= BESIDE * grid.spacing)
        & (along >= -ALONG_M)
        & (along <= steps[-1] + ALONG_M)
    )
    close = np.abs(aside) <= CROSSES_M
    found = []
    for k in beside:
        same = beside[np.abs(along[beside] - along[k]) <= ALONG_M]
        both = np.ptp(np.sign(aside[same])) > 0
        same = same[close[same]] if close[same].any() else same
        if k != same[0] or not (both or close[k]):
            continue
        near = np.abs(steps - along[same].mean()) <= ALONG_M
        if near.any():
            found.append(_place(near, grid, calm, same, _lowest(other, points[near])))
    return found


def _lowest(other: Scene, points: Array) -> float:
    """Return the lowest reading of other sweeps near some places (k, 2); infinite for none."""
    if not len(other.values):
        return np.inf
    near = np.hypot(*(other.points[:, None] - points).T).min(axis=0) <= ALONG_M
    return float(other.values[near].min(initial=np.inf))


def _place(near: Mask, grid: Scene, calm: CalmFloor, same: Index, agreed: float) -> _Place:
    low, high = float(grid.values[same].min()), float(grid.values[same].max())
    over = max(high - float(calm.base[same].mean()), 0.0)
    display = STEPS * np.sqrt(12.0 * grid.noise_floor)
    return _Place(near, agreed, low, high, OFF * calm.noise_sd + display + UNEVEN * over)


def _sentence(points: Array, turned: bool) -> str:
    (x0, y0), (x1, y1) = points[0], points[-1]
    head = (
        f"the sweep from x {x0:.2f} m, y {y0:.2f} m to x {x1:.2f} m, y {y1:.2f} m contradicts "
        "the readings beside it and settles nothing"
    )
    if turned:
        return (
            f"{head}; its readings are left out of the map. It would fit read from the other end: "
            "put its readings right, or read it again"
        )
    return (
        f"{head}; its low readings are left out of the map. Check its place and its values, or "
        "read it again"
    )
