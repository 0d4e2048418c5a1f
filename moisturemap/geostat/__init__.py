"""Geostatistics on bare arrays."""

from moisturemap.geostat.beside import allow_copies, beside, copies_work, standing_by
from moisturemap.geostat.censored import Censored, CensoredFit, fill_in, fit_censored
from moisturemap.geostat.covariance.embedding import Embedding
from moisturemap.geostat.covariance.model import KINDS, SPELT, Covariance
from moisturemap.geostat.covariance.variogram import (
    EmpiricalVariogram,
    empirical_variogram,
    fit_variogram,
)
from moisturemap.geostat.drift import DRIFTS, constant, drift_over
from moisturemap.geostat.fitting.earlier import EarlierFloors, FloorPattern
from moisturemap.geostat.fitting.fit import CovarianceFit, fit_covariance
from moisturemap.geostat.fitting.likelihood import restricted_log_likelihood
from moisturemap.geostat.fitting.options import FitOptions
from moisturemap.geostat.kriging.blend import BlendedKriging, BlendOptions
from moisturemap.geostat.kriging.cross_validation import CrossValidation, leave_blocks_out
from moisturemap.geostat.kriging.exact import Kriging
from moisturemap.geostat.kriging.neighbourhood import NeighbourhoodKriging
from moisturemap.geostat.kriging.workers import work_through
from moisturemap.geostat.observations import Observations, distances_within, pool, spacing_of
from moisturemap.geostat.points import map_points
from moisturemap.geostat.scale import IDENTITY, ValueScale
from moisturemap.geostat.simulation import simulate
from moisturemap.geostat.threads import one_thread

__all__ = [
    "DRIFTS",
    "IDENTITY",
    "KINDS",
    "SPELT",
    "BlendOptions",
    "BlendedKriging",
    "Censored",
    "CensoredFit",
    "Covariance",
    "CovarianceFit",
    "CrossValidation",
    "EarlierFloors",
    "Embedding",
    "EmpiricalVariogram",
    "FitOptions",
    "FloorPattern",
    "Kriging",
    "NeighbourhoodKriging",
    "Observations",
    "ValueScale",
    "allow_copies",
    "beside",
    "constant",
    "copies_work",
    "distances_within",
    "drift_over",
    "empirical_variogram",
    "fill_in",
    "fit_censored",
    "fit_covariance",
    "fit_variogram",
    "leave_blocks_out",
    "map_points",
    "one_thread",
    "pool",
    "restricted_log_likelihood",
    "simulate",
    "spacing_of",
    "standing_by",
    "work_through",
]
