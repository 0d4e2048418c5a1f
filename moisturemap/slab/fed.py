"""Moisture in a layered slab that is fed with water: from a face, at a depth or from the side.

Depth runs down from the top face in millimetres, time in days, humidity is a fraction. Many
histories are followed at once, one row each. See ``docs/method/investigation.md``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dgtsv

from moisturemap.slab.material import Material

Array = NDArray[np.float64]

PICARD = 2
"""Passes of each step; the second keeps the mass to about 1e-3 of what moves (our choice)."""

DRIEST = 0.02
"""Humidity below which the solver holds a cell, so that no slope of the isotherm vanishes."""

Exchange = Callable[[float, float], tuple[Array, Array]]
"""From the start and the end of a step [days] to coefficient [mm/day] and humidity of what each
cell exchanges water with, both of shape (rows, n); coefficient 0 where nothing is met."""


@dataclass(frozen=True)
class FedSlab:
    """Histories of a slab, all divided into the same number of cells.

    Attributes
    ----------
    material : Material
        Tables of isotherm and flux potential.
    rows : ndarray of int, shape (rows,)
        Which table each history takes.
    width_mm : ndarray, shape (rows, n)
        Thickness of the cells [mm].
    rate : ndarray, shape (rows, n)
        Diffusivity of the saturated material [mm2/day]; differs by cell in a layered slab.
    capacity : ndarray, shape (rows, n)
        Water at saturation over that of concrete; differs by cell in a layered slab.
    """

    material: Material
    rows: NDArray[np.intp]
    width_mm: Array
    rate: Array
    capacity: Array

    @property
    def depth_mm(self) -> Array:
        """Depth of the middle of each cell [mm], shape (rows, n)."""
        return np.asarray(np.cumsum(self.width_mm, axis=1) - 0.5 * self.width_mm)

    def take(self, rows: NDArray[np.intp]) -> FedSlab:
        """Return some of the histories.

        Parameters
        ----------
        rows : ndarray of int, shape (n,)

        Returns
        -------
        FedSlab
        """
        return FedSlab(
            self.material,
            self.rows[rows],
            self.width_mm[rows],
            self.rate[rows],
            self.capacity[rows],
        )


def follow(slab: FedSlab, start: Array, exchange: Exchange, times: Array, report: Array) -> Array:
    """Follow the humidity through time.

    Solves C dw(h)/dt = d/dz (C D(h) dw/dh dh/dz) + g (H - h), g and H given by ``exchange``; the
    humidity is continuous between layers, the water content is not. Finite volumes, implicit in
    time, with the modified Picard iteration that keeps mass (Celia, Bouloutas and Zarba, Water
    Resources Research 26 (1990) 1483-1496).

    Parameters
    ----------
    slab : FedSlab
    start : ndarray, shape (rows, n)
        Humidity (fraction).
    exchange : callable
        See ``Exchange``.
    times : ndarray, shape (steps + 1,)
        Points of time [days], ascending.
    report : ndarray, shape (k,)
        Those of ``times`` to return.

    Returns
    -------
    ndarray, shape (rows, k, n)
    """
    system = _System(slab)
    h = np.array(start, dtype=float)
    wanted = {float(time): index for index, time in enumerate(report)}
    found = np.full((h.shape[0], len(report), h.shape[1]), np.nan)
    if float(times[0]) in wanted:
        found[:, wanted[float(times[0])]] = h
    for now, then in pairwise(times):
        h = system.step(h, float(then - now), *exchange(float(now), float(then)))
        if float(then) in wanted:
            found[:, wanted[float(then)]] = h
    return found


class _System:
    """Balance of water in every cell of every history."""

    def __init__(self, slab: FedSlab) -> None:
        self.slab = slab
        self.last = slab.material.water.shape[1] - 1
        self.offset = (slab.rows * (self.last + 1))[:, None]
        self.volume = slab.width_mm * slab.capacity
        self.half = 0.5 * slab.width_mm

    def _lookup(self, table: Array, h: Array) -> tuple[Array, Array]:
        place = np.clip(h, 0.0, 1.0) * self.last
        node = np.minimum(place.astype(np.intp), self.last - 1)
        low = table.ravel()[node + self.offset]
        slope = table.ravel()[node + self.offset + 1] - low
        return low + (place - node) * slope, slope * self.last

    def step(self, h: Array, days: float, film: Array, outside: Array) -> Array:
        """Humidity after some days."""
        held, _ = self._lookup(self.slab.material.water, h)
        guess = h
        for _ in range(PICARD):
            guess = self._pass(guess, held, days, film, outside)
        return guess

    def _pass(self, guess: Array, held: Array, days: float, film: Array, outside: Array) -> Array:
        water, slope = self._lookup(self.slab.material.water, guess)
        _, flow = self._lookup(self.slab.material.potential, guess)
        conductivity = self.slab.capacity * self.slab.rate * np.maximum(flow, 1e-6)
        resistance = self.half / conductivity
        between = days / (resistance[:, :-1] + resistance[:, 1:])
        given = days * film
        store = self.volume * np.maximum(slope, 1e-4)
        middle = store + given
        middle[:, :-1] += between
        middle[:, 1:] += between
        right = store * guess - self.volume * (water - held) + given * outside
        side = np.zeros_like(guess)
        side[:, :-1] = -between
        flat = side.ravel()[:-1]
        solved = dgtsv(flat, middle.ravel(), flat.copy(), right.ravel())[3]
        return np.asarray(np.clip(np.asarray(solved).reshape(guess.shape), DRIEST, 1.0))
