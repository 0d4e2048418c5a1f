"""Geostatistics on bare arrays."""

from moisturemap.geostat.covariance import KINDS, Covariance

__all__ = ["KINDS", "Covariance"]
