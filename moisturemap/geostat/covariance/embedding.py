"""Places in a space where straight distances resemble distances inside the floor.

A covariance of in-room distance need not be positive definite. Embedding the distances by
multidimensional scaling and taking straight distances in that space always gives a valid one
(Loland and Host, Environmetrics 14 (2003) 307).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DIMENSIONS = 3
NEAREST = 24
ROUNDS = 200
STEPS = 5

DAMPING = 1e-3
"""Added to the normal equations of a place, whose weights sum to one."""

CHUNK = 1024
"""Places set at once: what fits the processor's cache is fastest."""


@dataclass(frozen=True)
class Embedding:
    """Landmarks in a flat space.

    Attributes
    ----------
    coordinates : ndarray, shape (k, dimensions)
        Landmarks [m].
    stretch : float
        Root mean square relative error of the distances between landmarks.
    """

    coordinates: Array
    stretch: float

    @classmethod
    def of(cls, distance: Array, dimensions: int = DIMENSIONS) -> Embedding:
        """Embed landmarks by their distances (k, k) [m].

        Classical scaling (Torgerson, Psychometrika 17 (1952) 401), then majorisation of the stress
        with weights 1/distance^2, so that short distances, which matter most to a covariance, are
        kept best (de Leeuw, in Recent Developments in Statistics, 1977, 133).
        """
        coordinates = _classical(distance, dimensions)
        off = ~np.eye(len(distance), dtype=bool)
        weight = np.where(off, 1.0 / np.maximum(distance, 1e-9) ** 2, 0.0)
        laplacian = np.diag(weight.sum(axis=1)) - weight
        inverse = np.linalg.pinv(laplacian)
        for _ in range(ROUNDS):
            reach = np.maximum(_lengths(coordinates, coordinates), 1e-9)
            pull = np.where(off, -weight * distance / reach, 0.0)
            np.fill_diagonal(pull, -pull.sum(axis=1))
            moved = inverse @ (pull @ coordinates)
            shift = np.abs(moved - coordinates).max()
            coordinates = moved
            if shift < 1e-4 * distance.max():
                break
        reach = _lengths(coordinates, coordinates)[off]
        stretch = float(np.sqrt(np.mean((reach / distance[off] - 1.0) ** 2)))
        return cls(coordinates, stretch)

    def place(self, distance: Array) -> Array:
        """Coordinates (m, dimensions) of places by their distances (k, m) to the landmarks [m].

        Each place is set by weighted least squares on its nearest landmarks; the weights fade to
        nothing at the last one, so that coordinates vary without jumps.
        """
        count = min(NEAREST, len(distance))
        among = np.partition(_lengths(self.coordinates, self.coordinates), count - 1, axis=0)
        least = 1e-3 * max(float(among[count - 1].max()), 1e-9)
        parts = [
            self._place(distance[:, i : i + CHUNK], count, least)
            for i in range(0, distance.shape[1], CHUNK)
        ]
        return np.concatenate(parts) if parts else np.empty((0, self.coordinates.shape[1]))

    def _place(self, distance: Array, count: int, least: float) -> Array:
        order = np.argpartition(distance, count - 1, axis=0)[:count].T
        near = np.take_along_axis(distance.T, order, axis=1)
        last = near.max(axis=1, keepdims=True)
        weight = 1.0 / np.maximum(near, least) ** 2 - 1.0 / np.maximum(last, least) ** 2
        weight += 1e-9 / least**2
        weight /= weight.sum(axis=1, keepdims=True)
        anchors = [np.ascontiguousarray(axis[order]) for axis in self.coordinates.T]
        place = [_dots(weight, axis) for axis in anchors]
        for _ in range(STEPS):
            away = [here[:, None] - axis for here, axis in zip(place, anchors, strict=True)]
            reach = np.maximum(np.sqrt(sum(one * one for one in away)), 1e-9)
            for one in away:
                one /= reach
            pulled = [one * weight for one in away]
            reach -= near
            right = np.array([_dots(one, reach) for one in pulled])
            normal = np.empty((len(away), *right.shape))
            for row, one in enumerate(pulled):
                for column in range(row + 1):
                    normal[row, column] = normal[column, row] = _dots(one, away[column])
            normal += DAMPING * np.eye(len(away))[:, :, None]
            place = [one - step for one, step in zip(place, _solved(normal, right), strict=True)]
        return np.column_stack(place)


def _dots(one: Array, other: Array) -> Array:
    """Inner products of rows (m, k): (m,)."""
    return np.asarray(np.einsum("mk,mk->m", one, other))


def _solved(normal: Array, right: Array) -> Array:
    """Solve many small positive systems (d, d, m) for right sides (d, m), by elimination."""
    size = len(right)
    for pivot in range(size):
        for row in range(pivot + 1, size):
            share = normal[row, pivot] / normal[pivot, pivot]
            normal[row, pivot:] -= share * normal[pivot, pivot:]
            right[row] -= share * right[pivot]
    for row in reversed(range(size)):
        for column in range(row + 1, size):
            right[row] -= normal[row, column] * right[column]
        right[row] /= normal[row, row]
    return right


def _classical(distance: Array, dimensions: int) -> Array:
    squared = distance**2
    centred = squared - squared.mean(axis=0) - squared.mean(axis=1)[:, None] + squared.mean()
    values, vectors = np.linalg.eigh(-0.5 * centred)
    keep = np.argsort(values)[::-1][: min(dimensions, len(values))]
    return np.asarray(vectors[:, keep] * np.sqrt(np.maximum(values[keep], 1e-12)))


def _lengths(one: Array, other: Array) -> Array:
    difference = one[:, None, :] - other[None, :, :]
    return np.asarray(np.sqrt(np.einsum("ijd,ijd->ij", difference, difference)))
