"""Geostatistics on bare arrays."""

from moisturemap.geostat.blend import BlendedKriging
from moisturemap.geostat.covariance import KINDS, Covariance
from moisturemap.geostat.fit import CovarianceFit, FitOptions, fit_covariance
from moisturemap.geostat.kriging import Kriging, constant
from moisturemap.geostat.likelihood import restricted_log_likelihood
from moisturemap.geostat.observations import Observations, pool, spacing_of
from moisturemap.geostat.points import map_points

__all__ = [
    "KINDS", "BlendedKriging", "Covariance", "CovarianceFit", "FitOptions", "Kriging",
    "Observations", "constant", "fit_covariance", "map_points", "pool",
    "restricted_log_likelihood", "spacing_of",
]  # fmt: skip
