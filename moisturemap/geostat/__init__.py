"""Geostatistics on bare arrays."""

from moisturemap.geostat.blend import BlendedKriging, BlendOptions
from moisturemap.geostat.censored import Censored, CensoredFit, fill_in, fit_censored
from moisturemap.geostat.covariance import KINDS, Covariance
from moisturemap.geostat.cross_validation import CrossValidation, leave_blocks_out
from moisturemap.geostat.embedding import Embedding
from moisturemap.geostat.fit import CovarianceFit, fit_covariance
from moisturemap.geostat.fit_options import FitOptions
from moisturemap.geostat.kriging import Kriging, constant
from moisturemap.geostat.likelihood import restricted_log_likelihood
from moisturemap.geostat.neighbourhood import NeighbourhoodKriging
from moisturemap.geostat.observations import Observations, pool, spacing_of
from moisturemap.geostat.points import map_points
from moisturemap.geostat.scale import IDENTITY, ValueScale
from moisturemap.geostat.simulation import simulate
from moisturemap.geostat.variogram import EmpiricalVariogram, empirical_variogram, fit_variogram

__all__ = [
    "IDENTITY",
    "KINDS",
    "BlendOptions",
    "BlendedKriging",
    "Censored",
    "CensoredFit",
    "Covariance",
    "CovarianceFit",
    "CrossValidation",
    "Embedding",
    "EmpiricalVariogram",
    "FitOptions",
    "Kriging",
    "NeighbourhoodKriging",
    "Observations",
    "ValueScale",
    "constant",
    "empirical_variogram",
    "fill_in",
    "fit_censored",
    "fit_covariance",
    "fit_variogram",
    "leave_blocks_out",
    "map_points",
    "pool",
    "restricted_log_likelihood",
    "simulate",
    "spacing_of",
]
