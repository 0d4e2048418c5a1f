"""Drift: what the mean of the field may be."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Drift = Callable[[Array], Array]


def constant(points: Array) -> Array:
    """Drift of an unknown constant mean: shape (n, 1)."""
    return np.ones((len(points), 1))
