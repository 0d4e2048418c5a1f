"""A library of drying histories, solved once, from which spots on site are read.

In dimensionless form every slab that dries from one face (or evenly from both) follows one of a
small family of histories. A thousand of them, spread over what a slab may be, take seconds to
solve and are kept beside this file; reading a spot from them costs milliseconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from moisturemap.slab.diffusion import FINE, SEALED, Cells, Face, Layers, StepRule, diffuse
from moisturemap.slab.diffusivity import DiffusivityCurve
from moisturemap.slab.isotherm import Isotherm
from moisturemap.slab.material import Material

Array = NDArray[np.float64]

TABLE = Path(__file__).with_suffix(".npz")
"""The histories of both libraries; written anew by ``scripts/make_slab_library.py``."""

GRAIN = 1.0 / 65_535.0
"""Step to which humidities are kept (fraction): a sixth of what the solver is left with."""

HISTORIES, SEED = 1024, 20
"""Histories in a library, and of the numbers they are drawn by."""

TIMES = np.geomspace(0.005, 5.0, 80)
"""Times at which each history is kept [Fo = D1 t / L^2]."""

RANGES = {
    "start": (0.88, 1.00),
    "surface": (0.40, 0.70),
    "water_cement": (0.35, 0.65),
    "linear_share": (0.0, 1.0),
    "log_floor": (float(np.log(0.04)), float(np.log(0.5))),
    "centre": (0.75, 0.90),
    "log_steepness": (float(np.log(4.0)), float(np.log(16.0))),
}
"""Even ranges the histories are spread over (fractions of humidity; Isotherm; DiffusivityCurve).

Project choices: fresh concrete less its self-desiccation; room air at the surface; usual mixes;
adsorption isotherm to straight line; diffusivity from the curve of the fib Model Code 2010 to one
that hardly falls, since profiles measured in real slabs are often straighter than that curve's."""


@dataclass(frozen=True)
class Library:
    """Solved drying histories.

    Attributes
    ----------
    material : Material
        One row for each history.
    start, surface : ndarray, shape (histories,)
        Humidity before drying and at the drying face (fractions).
    times : ndarray, shape (k,)
        [Fo]
    cells : Cells
    h : ndarray, shape (histories, k, n)
        Humidity (fraction).
    """

    material: Material
    start: Array
    surface: Array
    times: Array
    cells: Cells
    h: Array

    def at_depth(self, z: float) -> tuple[Array, Array]:
        """Humidity and its slope with depth, shape (histories, k), at a relative depth 0 to 1.

        Parameters
        ----------
        z : float
            Depth over thickness.

        Returns
        -------
        humidity, slope : ndarray, shape (histories, k)
            Fraction, and fraction per thickness.
        """
        node = int(np.clip(np.searchsorted(self.cells.z, z) - 1, 0, self.cells.z.size - 2))
        width = self.cells.z[node + 1] - self.cells.z[node]
        slope = (self.h[:, :, node + 1] - self.h[:, :, node]) / width
        return self.h[:, :, node] + (z - self.cells.z[node]) * slope, slope


AIR_RANGE = (0.15, 0.92)
"""Even range of the humidity at the surface where the air of the room is recorded (fraction): a dry
room in winter to one in which nothing dries (our choice)."""


QUICK = StepRule(1e-4, 0.2, 1e-5)
"""Steps of the histories of a library."""


@dataclass(frozen=True)
class Shelf:
    """What a library is solved over.

    Attributes
    ----------
    cells : Cells
    surface : (float, float)
        Even range of the humidity at the drying face (fraction).
    """

    cells: Cells
    surface: tuple[float, float]

    def solve(self) -> Library:
        """Solve the library, which takes seconds."""
        return solve_histories(
            HISTORIES, seed=SEED, cells=self.cells, steps=QUICK, surface=self.surface
        )


SHELVES = {
    "usual": Shelf(Cells.spread(36, finer_top=1.07), RANGES["surface"]),
    "any_air": Shelf(Cells.spread(24, finer_top=1.1), AIR_RANGE),
}
"""The two libraries, by their names in the file."""


def solve_histories(
    histories: int,
    *,
    seed: int,
    cells: Cells,
    times: Array = TIMES,
    steps: StepRule = FINE,
    surface: tuple[float, float] = RANGES["surface"],
) -> Library:
    """Solve drying histories spread evenly (Sobol) over ``RANGES``, their surface over its own."""
    material, start, air = _slabs(drawn(histories, seed, surface))
    fresh = np.repeat(start[:, None], cells.z.size, axis=1)
    h = diffuse(Layers(material, cells, (Face(air), SEALED)), fresh, times, steps=steps)
    return Library(material, start, air, times, cells, h)


def drawn(histories: int, seed: int, surface: tuple[float, float]) -> Array:
    """Return what each slab is, in the order of ``RANGES``: shape (histories, 7)."""
    from scipy.stats import qmc

    unit = qmc.Sobol(len(RANGES), seed=seed).random_base2(int(np.ceil(np.log2(histories))))
    low, high = np.array(list({**RANGES, "surface": surface}.values())).T
    return np.asarray(low + unit[:histories] * (high - low))


def _slabs(spread: Array) -> tuple[Material, Array, Array]:
    """Material, humidity before drying and at the drying face of each row of ``RANGES``."""
    start, air, ratio, share, log_floor, centre, log_steepness = spread.T
    isotherms = [Isotherm(w, linear_share=m) for w, m in zip(ratio, share, strict=True)]
    shapes = zip(np.exp(log_floor), centre, np.exp(log_steepness), strict=True)
    curves = [DiffusivityCurve(*shape) for shape in shapes]
    return Material.made(isotherms, curves), start, air


@cache
def library() -> Library:
    """Return the library, read at its first use.

    Returns
    -------
    Library
    """
    return _kept("usual")


@cache
def air_library() -> Library:
    """Return the same for rooms of any air: humidities at the surface over ``AIR_RANGE``.

    Returns
    -------
    Library
    """
    return _kept("any_air")


def _kept(name: str) -> Library:
    """Return a library from the file."""
    with np.load(TABLE) as kept:
        spread, planes = kept[f"{name}_spread"], kept[f"{name}_h"]
    material, start, air = _slabs(spread)
    cells = SHELVES[name].cells
    return Library(material, start, air, TIMES, cells, unpacked(planes))


def packed(h: Array) -> NDArray[np.uint8]:
    """Return humidities (histories, k, n) in steps of ``GRAIN``, as bytes that compress well.

    Second differences in time are small: of their two bytes, kept apart, one hardly varies.
    """
    steps = np.rint(h / GRAIN).astype(np.uint16)
    twice = np.diff(steps, n=2, axis=1, prepend=np.zeros_like(steps[:, :2]))
    return np.stack([twice >> 8, twice & 255]).astype(np.uint8)


def unpacked(planes: NDArray[np.uint8]) -> Array:
    """Return humidities (histories, k, n) from what ``packed`` gave."""
    twice = planes[0].astype(np.uint16) << 8 | planes[1]
    steps = np.cumsum(np.cumsum(twice, axis=1, dtype=np.uint16), axis=1, dtype=np.uint16)
    return GRAIN * steps.astype(float)
