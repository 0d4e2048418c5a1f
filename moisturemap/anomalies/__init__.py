"""Disturbed readings and the things that disturb them."""

from moisturemap.anomalies.anomalies import ANOMALY_COLUMNS, ANOMALY_KINDS, Anomalies
from moisturemap.anomalies.detect import detect
from moisturemap.anomalies.limits import alias_wavelength, ridge_fraction
from moisturemap.anomalies.options import DetectOptions

__all__ = [
    "ANOMALY_COLUMNS",
    "ANOMALY_KINDS",
    "Anomalies",
    "DetectOptions",
    "alias_wavelength",
    "detect",
    "ridge_fraction",
]
