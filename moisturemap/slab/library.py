"""A library of drying histories, solved once, from which spots on site are read.

In dimensionless form every slab that dries from one face (or evenly from both) follows one of a
small family of histories. A few hundred of them, spread over what a slab may be, cost less than a
second to solve; reading a spot from them costs milliseconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from moisturemap.slab.diffusion import FINE, SEALED, Cells, Face, Layers, StepRule, diffuse
from moisturemap.slab.diffusivity import DiffusivityCurve
from moisturemap.slab.isotherm import Isotherm
from moisturemap.slab.material import Material

Array = NDArray[np.float64]

HISTORIES = 1024
"""Histories in the library."""

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
    from scipy.stats import qmc

    unit = qmc.Sobol(len(RANGES), seed=seed).random_base2(int(np.ceil(np.log2(histories))))
    low, high = np.array(list({**RANGES, "surface": surface}.values())).T
    spread = (low + unit[:histories] * (high - low)).T
    start, air, ratio, share, log_floor, centre, log_steepness = spread
    isotherms = [Isotherm(w, linear_share=m) for w, m in zip(ratio, share, strict=True)]
    shapes = zip(np.exp(log_floor), centre, np.exp(log_steepness), strict=True)
    curves = [DiffusivityCurve(*shape) for shape in shapes]
    material = Material.made(isotherms, curves)
    fresh = np.repeat(start[:, None], cells.z.size, axis=1)
    layers = Layers(material, cells, (Face(air), SEALED))
    h = diffuse(layers, fresh, times, steps=steps)
    return Library(material, start, air, times, cells, h)


QUICK = StepRule(1e-4, 0.2, 1e-5)
"""Steps of the histories of a library."""


@cache
def library() -> Library:
    """Return the library, solved at its first use (under a second) and kept.

    Returns
    -------
    Library
    """
    cells = Cells.spread(36, finer_top=1.07)
    return solve_histories(HISTORIES, seed=20, cells=cells, steps=QUICK)


@cache
def air_library() -> Library:
    """Return the same for rooms of any air: humidities at the surface over ``AIR_RANGE``.

    Returns
    -------
    Library
    """
    cells = Cells.spread(24, finer_top=1.1)
    return solve_histories(HISTORIES, seed=20, cells=cells, steps=QUICK, surface=AIR_RANGE)
