"""Nonlinear drying and redistribution in a layer: implicit finite volumes.

Depth is ``z`` from 0 at the top face to 1 at the far side; time is Fo = D1 t / L^2; humidity ``h``
is a fraction. Many layers are solved at once, one row each.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dgtsv

from moisturemap.errors import MoistureMapError
from moisturemap.slab.material import Material

Array = NDArray[np.float64]

STAGE = 1.0 - 1.0 / np.sqrt(2.0)
"""Diagonal coefficient of the two-stage, second-order, L-stable diagonally implicit Runge-Kutta
method (Alexander, SIAM J. Numer. Anal. 14 (1977) 1006)."""

NEWTON_LIMIT = 60


@dataclass(frozen=True)
class Face:
    """What a face of the layer meets.

    Attributes
    ----------
    h : float or ndarray of shape (layers,), or None
        Humidity of the air (fraction); None when the face is sealed.
    film : float, ndarray or None
        Transfer coefficient of the surface film over D1 dw/dh / L (Biot number); None when the face
        takes the humidity of the air at once.
    """

    h: float | Array | None = None
    film: float | Array | None = None


SEALED = Face()


@dataclass(frozen=True)
class Cells:
    """Cells of a layer, with a massless node on each face.

    Attributes
    ----------
    thickness : ndarray, shape (n,)
        Sum 1; zero for the two face nodes.
    z : ndarray, shape (n,)
        Depth of the nodes, from 0 to 1.
    """

    thickness: Array
    z: Array

    @classmethod
    def spread(cls, count: int, *, finer_top: float = 1.0, finer_both: bool = False) -> Cells:
        """Divide the layer into cells that grow from the top by a ratio, or from both faces.

        Parameters
        ----------
        count : int
            Of cells.
        finer_top : float
            Thickness of a cell over that of the one above.
        finer_both : bool
            Mirror the cells, so that both faces are finer than the middle.

        Returns
        -------
        Cells
        """
        ratio = finer_top ** np.arange(count)
        if finer_both:
            ratio = np.minimum(ratio, ratio[::-1])
        thickness = ratio / ratio.sum()
        centre = np.cumsum(thickness) - 0.5 * thickness
        return cls(np.r_[0.0, thickness, 0.0], np.r_[0.0, centre, 1.0])


@dataclass(frozen=True)
class StepRule:
    """How time is stepped.

    Attributes
    ----------
    first : float
        First step [Fo].
    growth : float
        Later steps as a fraction of the time passed.
    tolerance : float
        Change of humidity at which the Newton iteration stops.
    """

    first: float = 2.0e-5
    growth: float = 0.05
    tolerance: float = 1.0e-10


FINE = StepRule()
"""Steps for a single layer to about 1e-4 of humidity."""


@dataclass(frozen=True)
class Layers:
    """Layers to be followed, all divided into the same cells.

    Attributes
    ----------
    material : Material
        One row for each layer.
    cells : Cells
    faces : (Face, Face)
        Top and far side.
    storage : ndarray, shape (layers, n), optional
        Factor on the water a node takes up or gives off for a change of humidity (hysteresis).
    """

    material: Material
    cells: Cells
    faces: tuple[Face, Face]
    storage: Array | None = None


def diffuse(layers: Layers, start: Array, times: Array, *, steps: StepRule = FINE) -> Array:
    """Follow the humidity of layers through time.

    Solves dw(h)/dFo = d2 phi(h)/dz2, phi the flux potential of the material.

    Parameters
    ----------
    layers : Layers
    start : ndarray, shape (layers, n)
        Humidity at the nodes of the cells.
    times : ndarray, shape (k,)
        Times to report [Fo], ascending, above 0.
    steps : StepRule

    Returns
    -------
    ndarray, shape (layers, k, n)

    Raises
    ------
    MoistureMapError
        If the iteration does not converge.
    """
    system = _System(layers, start.shape)
    h = np.array(start, dtype=float)
    found = np.empty((h.shape[0], len(times), h.shape[1]))
    now, output = 0.0, 0
    for then in _time_points(np.asarray(times, dtype=float), steps):
        step = then - now
        held = system.held(h)
        middle = system.solve(h, held, STAGE * step, steps.tolerance)
        potential = layers.material.lookup(layers.material.potential, middle)[0]
        held = held + (1.0 - STAGE) * step * system.inflow(middle, potential)[0]
        h = system.solve(middle, held, STAGE * step, steps.tolerance)
        now = then
        if now == times[output]:
            found[:, output] = h
            output += 1
    return found


def _time_points(times: Array, steps: StepRule) -> Iterator[float]:
    """Yield growing time points that include every time asked for."""
    now = 0.0
    for target in times:
        while now < target:
            step = max(steps.first, steps.growth * now)
            left = target - now
            if step >= left:
                now = float(target)
            else:
                now += left / np.ceil(left / step)
            yield now


class _System:
    """Balance of water in every cell of every layer."""

    def __init__(self, layers: Layers, shape: tuple[int, ...]) -> None:
        self.material, self.faces = layers.material, layers.faces
        storage = np.ones(shape) if layers.storage is None else layers.storage
        self.volume = layers.cells.thickness * storage
        self.conductance = 1.0 / np.diff(layers.cells.z)

    def held(self, h: Array) -> Array:
        """Water held in the cells."""
        return self.volume * self.material.water_at(h)

    def inflow(self, h: Array, potential: Array) -> tuple[Array, Array]:
        """Net inflow of each cell, and film slopes at the faces."""
        flux = -np.diff(potential, axis=1) * self.conductance
        net = np.zeros_like(h)
        net[:, :-1] -= flux
        net[:, 1:] += flux
        film = np.zeros((2, len(h)))
        for side, face in enumerate(self.faces):
            if face.h is not None and face.film is not None:
                film[side] = face.film
                net[:, -side] += film[side] * (face.h - h[:, -side])
        return net, film

    def solve(self, guess: Array, target: Array, step: float, tolerance: float) -> Array:
        """Find the humidities at which held water minus step times inflow meets the target."""
        h = guess.copy()
        for side, face in enumerate(self.faces):
            if face.h is not None and face.film is None:
                h[:, -side] = face.h
        for _ in range(NEWTON_LIMIT):
            change = self._newton_change(h, target, step)
            h = h + change
            if np.abs(change).max() < tolerance:
                return h
        message = "the slab diffusion did not converge; check humidities and times"
        raise MoistureMapError(message)

    def _newton_change(self, h: Array, target: Array, step: float) -> Array:
        (water, capacity), (potential, slope) = self.material.state(h)
        net, film = self.inflow(h, potential)
        residual = self.volume * water - target - step * net
        massless = self.volume == 0.0
        residual[massless] = -step * net[massless]
        near = step * self.conductance * slope[:, :-1]
        far = step * self.conductance * slope[:, 1:]
        middle = self.volume * capacity
        middle[:, :-1] += near
        middle[:, 1:] += far
        middle[:, 0] += step * film[0]
        middle[:, -1] += step * film[1]
        lower, upper = np.zeros_like(h), np.zeros_like(h)
        lower[:, :-1], upper[:, :-1] = -near, -far
        for side, face in enumerate(self.faces):
            if face.h is not None and face.film is None:
                middle[:, -side], residual[:, -side] = 1.0, 0.0
                (upper if side == 0 else lower)[:, 0 if side == 0 else -2] = 0.0
        change = dgtsv(lower.ravel()[:-1], middle.ravel(), upper.ravel()[:-1], -residual.ravel())[3]
        return np.asarray(change).reshape(h.shape)
