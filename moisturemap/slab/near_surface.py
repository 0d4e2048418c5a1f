"""What an instrument that reaches a few millimetres sees of a slab that dries.

A library of dimensionless slabs, solved once and kept beside this file: diffusivity constant or
falling with humidity, a surface film, wet throughout or only to a part of the depth, or with a
lower face that is kept wet.
See ``docs/method/drying.md``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from moisturemap.slab.diffusion import Cells, Face, Layers, StepRule, diffuse
from moisturemap.slab.diffusivity import DiffusivityCurve
from moisturemap.slab.material import Material

Array = NDArray[np.float64]

TABLE = Path(__file__).with_suffix(".npz")
"""What ``solve`` gives, in single precision; written anew by ``scripts/make_near_surface.py``."""

SLABS = 192
"""Slabs that nothing feeds in the library; between seeds the ends of forecasts differ by about 1%
(our choice)."""

FED_SLABS = 48
"""Slabs that follow them, whose lower face is kept at the humidity before drying."""

FED_FILM = (3.0, 1000.0)
"""Log-even range of the Biot number between what feeds them and their lower face, from a sheet that
leaks to bare wet ground (our choice)."""

ALL = SLABS + FED_SLABS

FO = np.geomspace(1.0e-4, 30.0, 140)
"""Times at which each slab is kept [Fo = D1 t / Le^2]; straight lines between them in ln Fo are
within 0.2% of the step."""

REACHES = np.array([0.04, 0.1, 0.25, 0.6, 1.5])
"""e-folding depths of the instrument's response, over the drying length."""

DEPTHS = np.array([0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0])
"""Depths at which the profile is kept, over the drying length."""

LINEAR_SHARE = 0.5
"""Share of slabs with constant diffusivity: measured profiles are often straighter than the curve
of the fib Model Code 2010 (our choice)."""

PART_WET_SHARE = 0.3
"""Share of slabs wetted from above to a part of their depth only (our choice)."""

RANGES = {
    "start": (0.90, 1.00),
    "surface": (0.40, 0.65),
    "log_floor": (float(np.log(0.02)), float(np.log(0.35))),
    "steepness": (4.0, 15.0),
    "centre": (0.70, 0.85),
    "log_film": (0.0, float(np.log(200.0))),
    "wetted": (0.15, 0.80),
}
"""Even ranges the slabs are spread over: humidity (fraction) before drying and of the room air;
``DiffusivityCurve`` (Bazant and Najjar 1972 give 0.05, 6 to 16 and 0.75, from memory; wider here,
down to the 0.02 that exponential laws of moisture content reach);
Biot number of the surface film, from still air over fresh concrete (1) to a strong draught (200);
wetted share of the depth of part-wet slabs. The ranges are our choice."""


@dataclass(frozen=True)
class NearSurface:
    """Excess over the room air near the surface and at depth, as a share of the first excess.

    Attributes
    ----------
    seen : ndarray, shape (slabs + fed slabs, len(REACHES), len(FO))
        Excess that an instrument with exponentially fading response sees.
    profile : ndarray, shape (slabs + fed slabs, len(DEPTHS), len(FO))
        Excess at ``DEPTHS``.
    mean : ndarray, shape (slabs + fed slabs, len(FO))
        Mean excess over the whole depth.
    start, surface : ndarray, shape (slabs + fed slabs,)
        Humidity before drying and of the room air (fractions).
    """

    seen: Array
    profile: Array
    mean: Array
    start: Array
    surface: Array

    def curves(self, slab: NDArray[np.intp], reach: Array) -> Array:
        """Curves (n, len(FO)) of slabs (n,) seen with a reach over the drying length (n,).

        Parameters
        ----------
        slab : ndarray of int, shape (n,)
            Rows of the library.
        reach : ndarray, shape (n,)
            Depth the meter reaches over the drying length.

        Returns
        -------
        ndarray, shape (n, len(FO))
            Excess over that before drying.
        """
        return _between(self.seen, slab, np.log(REACHES), np.log(reach))

    def at_depth(self, slab: NDArray[np.intp], depth: Array) -> Array:
        """Curves (n, len(FO)) of the excess at a depth over the drying length (n,).

        Parameters
        ----------
        slab : ndarray of int, shape (n,)
            Rows of the library.
        depth : ndarray, shape (n,)
            Over the drying length, from the nearest drying face.

        Returns
        -------
        ndarray, shape (n, len(FO))
        """
        return _between(self.profile, slab, DEPTHS, depth)


def _between(table: Array, slab: NDArray[np.intp], nodes: Array, at: Array) -> Array:
    """Straight lines between the nodes of the middle axis; held at its ends."""
    low = np.clip(np.searchsorted(nodes, at) - 1, 0, nodes.size - 2)
    share = np.clip((at - nodes[low]) / (nodes[low + 1] - nodes[low]), 0.0, 1.0)[:, None]
    return np.asarray((1.0 - share) * table[slab, low] + share * table[slab, low + 1])


def read_curves(curves: Array, fo: Array) -> Array:
    """Read curves (n, len(FO)) at times (n, k) [Fo], on straight lines in ln Fo.

    Parameters
    ----------
    curves : ndarray
        Shape (n, len(FO)).
    fo : ndarray
        Fourier numbers, shape (n, k) [-].

    Returns
    -------
    ndarray, shape (n, k)
        [-]
    """
    step = (np.log(FO[-1]) - np.log(FO[0])) / (FO.size - 1)
    place = np.clip((np.log(fo) - np.log(FO[0])) / step, 0.0, FO.size - 1.000001)
    node = place.astype(np.intp)
    share = place - node
    flat = node + (np.arange(len(curves)) * FO.size)[:, None]
    low = curves.ravel()[flat]
    return np.asarray(low + share * (curves.ravel()[flat + 1] - low))


@cache
def near_surface() -> NearSurface:
    """Return the library, as it was solved (single precision: to 6e-8 of each number).

    Returns
    -------
    NearSurface
    """
    with np.load(TABLE) as kept:
        return NearSurface(**{name: kept[name].astype(float) for name in kept.files})


def solve() -> NearSurface:
    """Solve the library, which takes about a second.

    Returns
    -------
    NearSurface
    """
    from scipy.stats import qmc

    unit = qmc.Sobol(len(RANGES), seed=31).random_base2(int(np.ceil(np.log2(ALL))))[:ALL]
    low, high = np.array(list(RANGES.values())).T
    start, surface, log_floor, steepness, centre, log_film, wetted = (low + unit * (high - low)).T
    floor = np.exp(log_floor)
    number = np.arange(ALL)
    fed = number >= SLABS
    linear = np.where(fed, number % 2 == 0, number < LINEAR_SHARE * SLABS)
    # dealt round, so that part-wet slabs are alike among linear and other slabs
    part_wet = ~fed & (number % 10 < round(10 * PART_WET_SHARE))
    below = np.r_[np.zeros(SLABS), np.geomspace(*FED_FILM, FED_SLABS)]
    curves = [
        DiffusivityCurve(1.0 if straight else f, c, n)
        for straight, f, c, n in zip(linear, floor, centre, steepness, strict=True)
    ]
    cells = Cells.spread(44, finer_top=1.09)
    deepest = np.where(part_wet, wetted, 1.0)
    wet = cells.z[None, :] <= deepest[:, None]
    before = np.where(wet, start[:, None], surface[:, None])
    material = Material.made([None] * ALL, curves)
    layers = Layers(material, cells, (Face(surface, np.exp(log_film)), Face(start, below)))
    h = diffuse(layers, before, FO, steps=StepRule(1.0e-4, 0.2, 1.0e-5))
    excess = (h - surface[:, None, None]) / (start - surface)[:, None, None]
    response = np.exp(-cells.z[None, :] / REACHES[:, None]) * cells.thickness
    response /= response.sum(axis=1, keepdims=True)
    seen = np.einsum("skn,rn->srk", excess, response)
    mean = np.einsum("skn,n->sk", excess, cells.thickness)
    return NearSurface(seen, _at_depths(excess, cells), mean, start, surface)


def _at_depths(excess: Array, cells: Cells) -> Array:
    node = np.clip(np.searchsorted(cells.z, DEPTHS) - 1, 0, cells.z.size - 2)
    share = (DEPTHS - cells.z[node]) / (cells.z[node + 1] - cells.z[node])
    profile = excess[:, :, node] + share * (excess[:, :, node + 1] - excess[:, :, node])
    return np.ascontiguousarray(np.swapaxes(profile, 1, 2))
