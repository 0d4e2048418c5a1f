"""Drift: what the mean of the field may be.

Method: docs/method/kriging.md, "Drift".
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Drift = Callable[[Array], Array]

DRIFTS = ("constant", "linear")


def constant(points: Array) -> Array:
    """Drift of an unknown constant mean: shape (n, 1).

    Parameters
    ----------
    points : ndarray
        Places [m], shape (m, 2).
    """
    return np.ones((len(points), 1))


@dataclass(frozen=True)
class Linear:
    """Drift of a mean that slopes: a constant and one column for each coordinate.

    Attributes
    ----------
    centre : tuple of float
        Middle of the readings [m]; columns count from there, so that they stay well scaled.
    reach : float
        Unit of the columns [m].
    """

    centre: tuple[float, ...]
    reach: float

    @classmethod
    def over(cls, points: Array) -> Linear:
        """Take middle and unit from readings (n, d)."""
        centre = points.mean(axis=0)
        reach = float(np.sqrt(((points - centre) ** 2).sum(axis=1).mean())) or 1.0
        return cls(tuple(float(one) for one in centre), reach)

    def __call__(self, points: Array) -> Array:
        """Columns at places (n, d): shape (n, d + 1)."""
        return np.column_stack(
            [np.ones(len(points)), (points - np.array(self.centre)) / self.reach]
        )


def drift_over(points: Array, name: str) -> Drift:
    """Drift by its name, one of ``DRIFTS``, over readings (n, d).

    Parameters
    ----------
    points : ndarray
        Places [m], shape (m, 2).
    name : str
    """
    return Linear.over(points) if name == "linear" else constant
