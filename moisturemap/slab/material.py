"""What a slab is made of, tabulated for the diffusion solver."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.slab.diffusivity import DiffusivityCurve
from moisturemap.slab.isotherm import Isotherm

Array = NDArray[np.float64]

NODES = 1001
"""Humidities at which curves are tabulated; straight between them, so that mass is kept exactly."""


@dataclass(frozen=True)
class Material:
    """Water content and flux potential of one or several materials on an even table of humidity.

    Attributes
    ----------
    water : ndarray, shape (materials, nodes)
        Water content at humidities from 0 to 1.
    potential : ndarray, shape (materials, nodes)
        Flux potential, the integral of (dw/dh) D(h)/D1 over humidity (Kirchhoff): the flux is minus
        its gradient.
    rows : ndarray of int, shape (layers,), optional
        Material of each layer; by default one layer of each.
    """

    water: Array
    potential: Array
    rows: NDArray[np.intp] | None = None

    @classmethod
    def of(cls, water: Array, diffusivity: Array) -> Material:
        """Tabulate from water content and relative diffusivity at the nodes, shape (m, nodes).

        Parameters
        ----------
        water, diffusivity : ndarray, shape (m, nodes)
            [g per g cement], and over that of saturated concrete.

        Returns
        -------
        Material
        """
        middle = 0.5 * (diffusivity[:, 1:] + diffusivity[:, :-1])
        steps = np.diff(water, axis=1) * middle
        potential = np.concatenate([np.zeros((len(water), 1)), np.cumsum(steps, axis=1)], axis=1)
        return cls(np.ascontiguousarray(water), potential)

    @classmethod
    def made(
        cls, isotherms: Sequence[Isotherm | None], curves: Sequence[DiffusivityCurve]
    ) -> Material:
        """Tabulate isotherms with diffusivity curves; None is a straight isotherm (w = h).

        Parameters
        ----------
        isotherms : sequence of Isotherm or None
        curves : sequence of DiffusivityCurve

        Returns
        -------
        Material
        """
        h = humidities()
        water = [
            h if one is None else one.water(h) / one.water(np.asarray(1.0)) for one in isotherms
        ]
        return cls.of(np.array(water), np.array([curve.relative(h) for curve in curves]))

    def take(self, rows: NDArray[np.intp]) -> Material:
        """Return layers of the materials of the given rows, repeats allowed; copies no table.

        Parameters
        ----------
        rows : ndarray of int, shape (layers,)

        Returns
        -------
        Material
        """
        own = rows if self.rows is None else self.rows[rows]
        return Material(self.water, self.potential, own)

    def lookup(self, table: Array, h: Array) -> tuple[Array, Array]:
        """Value and slope of a table of this material at humidities, shape (layers, n).

        Parameters
        ----------
        table : ndarray, shape (m, nodes)
        h : ndarray, shape (layers, n)
            Fractions.

        Returns
        -------
        value, slope : ndarray, shape (layers, n)
        """
        return self._read(table, *self._nodes(h))

    def state(self, h: Array) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
        """Water content and flux potential at humidities (layers, n), each with its slope.

        Parameters
        ----------
        h : ndarray, shape (layers, n)
            Fractions.

        Returns
        -------
        water, potential : (ndarray, ndarray)
            Value and slope, shape (layers, n) each.
        """
        where = self._nodes(h)
        return self._read(self.water, *where), self._read(self.potential, *where)

    def _nodes(self, h: Array) -> tuple[NDArray[np.intp], Array]:
        """Node below each humidity in the tables laid end to end, and the share beyond it."""
        last = self.water.shape[1] - 1
        place = h * last
        node = place.astype(np.intp)
        np.clip(node, 0, last - 1, out=node)
        place -= node
        node += (self._rows() * (last + 1))[:, None]
        return node, place

    def _read(self, table: Array, node: NDArray[np.intp], share: Array) -> tuple[Array, Array]:
        """Value and slope of a table between its nodes."""
        low = table.ravel().take(node)
        slope = table.ravel().take(node + 1)
        slope -= low
        return low + share * slope, slope * (table.shape[1] - 1)

    def water_at(self, h: Array) -> Array:
        """Water content at humidities, shape (layers, n).

        Parameters
        ----------
        h : ndarray, shape (layers, n)
            Fractions.

        Returns
        -------
        ndarray, shape (layers, n)
            [g per g cement]
        """
        return self.lookup(self.water, h)[0]

    def humidity_of(self, water: Array) -> Array:
        """Humidity at water contents, shape (layers,): inverse of the table.

        Parameters
        ----------
        water : ndarray, shape (layers,)
            [g per g cement]

        Returns
        -------
        ndarray, shape (layers,)
            Fractions.
        """
        rows, last = self._rows(), self.water.shape[1] - 1
        low, high = np.zeros(water.size, dtype=np.intp), np.full(water.size, last)
        while (high - low > 1).any():
            middle = (low + high) // 2
            below = self.water[rows, middle] <= water
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        start, end = self.water[rows, low], self.water[rows, high]
        return np.asarray((low + (water - start) / (end - start)) / last)

    def _rows(self) -> NDArray[np.intp]:
        return np.arange(len(self.water)) if self.rows is None else self.rows


def humidities() -> Array:
    """Return the humidities (fractions) at which materials are tabulated.

    Returns
    -------
    ndarray, shape (nodes,)
    """
    return np.linspace(0.0, 1.0, NODES)
