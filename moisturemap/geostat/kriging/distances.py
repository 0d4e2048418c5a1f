"""Distances that krigings of the same readings share, whatever their covariances.

Method: docs/method/kriging.md.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import cdist, pdist, squareform

from moisturemap.geostat.covariance.model import Covariance

Array = NDArray[np.float64]

KEPT = 2_000_000
"""Most distances whose correlations are kept: bounds memory."""


@dataclass(frozen=True)
class Distances:
    """Distances between places in coordinates in which a field is isotropic, found once a shape.

    Correlations of a few are kept as well: covariances that differ in their variances alone share
    them. Among places every pair is looked at once.

    Attributes
    ----------
    one : ndarray, shape (n, d)
        Places [m].
    other : ndarray, shape (m, d), optional
        Others; the same again when not given.
    """

    one: Array
    other: Array | None = None
    _found: dict[tuple[float, float], Array] = field(default_factory=dict, repr=False)
    _alike: dict[tuple[str, float, float, float], Array] = field(default_factory=dict, repr=False)

    def of(self, model: Covariance) -> Array:
        """Return the distances as a covariance sees them [m]; not to be written to.

        Of shape (n, m); among one set of places those of its pairs (n (n - 1) / 2,), row by row.
        """
        shape = _shape(model)
        if shape not in self._found:
            start = model.isotropic(self.one)
            self._found[shape] = (
                pdist(start) if self.other is None else cdist(start, model.isotropic(self.other))
            )
        return self._found[shape]

    def covariance(self, model: Covariance) -> Array:
        """Return the covariance (n, m) of the field, to be written to as one likes."""
        found = self._between(model)
        if self.other is not None:
            return found
        count = len(self.one)
        whole: Array = squareform(found, checks=False) if count > 1 else np.zeros((count, count))
        whole.ravel()[:: count + 1] = model.variance
        return whole

    def _between(self, model: Covariance) -> Array:
        distance, key = self.of(model), (model.kind, model.length, *_shape(model))
        if distance.size > KEPT:
            return model.at(distance)
        if key not in self._alike:
            self._alike[key] = model.correlation(distance)
        return np.asarray(model.variance * self._alike[key])


def _shape(model: Covariance) -> tuple[float, float]:
    """Tell what makes distances differ between covariances."""
    return model.anisotropy, 0.0 if model.anisotropy == 1.0 else model.angle_deg


@dataclass(frozen=True)
class CellDistances:
    """Distances among cells, and from cells to readings.

    Attributes
    ----------
    among : Distances
        Of m cells.
    to_readings : Distances
        From m cells to n readings.
    """

    among: Distances
    to_readings: Distances

    @classmethod
    def of(cls, cells: Array, readings: Array) -> CellDistances:
        """Distances of cells (m, d) [m] and readings (n, d) [m]."""
        return cls(Distances(cells), Distances(cells, readings))
