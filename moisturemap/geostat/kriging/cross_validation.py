"""Cross-validation of a kriging by spatial blocks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.geostat.kriging.exact import Kriging
from moisturemap.geostat.lattice import square_groups

Array = NDArray[np.float64]


@dataclass(frozen=True)
class CrossValidation:
    """Errors of predicting readings from the others.

    Attributes
    ----------
    residual : ndarray, shape (n,)
        Observed minus predicted.
    sd : ndarray, shape (n,)
        Standard deviation the model gives that residual.
    """

    residual: Array
    sd: Array

    @property
    def standardised(self) -> Array:
        """Residuals over their sd; NaN where none could be predicted."""
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.asarray(self.residual / self.sd)

    @property
    def spread(self) -> float:
        """Mean squared standardised residual; 1 when the interval is right."""
        return float(np.nanmean(self.standardised**2))

    def coverage(self, sds: float = 1.6448536269514722) -> float:
        """Share of residuals within so many sds (90% by default)."""
        z = self.standardised
        return float(np.mean(np.abs(z[np.isfinite(z)]) <= sds))

    @property
    def log_score(self) -> float:
        """Mean log density of the observed values (higher is better)."""
        good = np.isfinite(self.residual) & np.isfinite(self.sd)
        z, sd = self.residual[good] / self.sd[good], self.sd[good]
        return float(np.mean(-0.5 * z**2 - np.log(sd) - 0.5 * np.log(2.0 * np.pi)))


def leave_blocks_out(kriging: Kriging, side: float) -> CrossValidation:
    """Predict the readings of each square block from the readings of all others.

    With P as in :meth:`Kriging.leave_one_out`, the residuals of a block b are P_bb^-1 (P z)_b and
    their covariance is P_bb^-1 (Ginsbourger and Schaerer, J. Comput. Graph. Stat. 34 (2025) 66;
    Roberts et al., Ecography 40 (2017) 913, on why blocks).

    Parameters
    ----------
    kriging : Kriging
    side : float
        Side of a block [m].
    """
    precision, dual = kriging.precision()
    places = kriging.observations.points
    residual = np.full(len(places), np.nan)
    sd = np.full(len(places), np.inf)
    for block in square_groups(places, side):
        part = precision[np.ix_(block, block)]
        values, vectors = np.linalg.eigh(part)
        if values[0] <= 1e-10 * values[-1]:
            continue
        covariance = (vectors / values) @ vectors.T
        residual[block] = covariance @ dual[block]
        sd[block] = np.sqrt(np.diagonal(covariance))
    return CrossValidation(residual, sd)
