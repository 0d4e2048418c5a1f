"""Disturbed readings and the things that disturb them."""

from moisturemap.anomalies.anomalies import (
    ANOMALY_COLUMNS,
    ANOMALY_KINDS,
    STANDINGS,
    Anomalies,
)
from moisturemap.anomalies.detect import detect
from moisturemap.anomalies.drawn import is_along, is_drawn
from moisturemap.anomalies.limits import alias_wavelength, ridge_fraction
from moisturemap.anomalies.options import DetectOptions
from moisturemap.anomalies.rises import Rises
from moisturemap.anomalies.rooms_crossed import rooms_crossed
from moisturemap.anomalies.scene import USUAL_FOOTPRINT_M, read_sweeps

__all__ = [
    "ANOMALY_COLUMNS",
    "ANOMALY_KINDS",
    "STANDINGS",
    "USUAL_FOOTPRINT_M",
    "Anomalies",
    "DetectOptions",
    "Rises",
    "alias_wavelength",
    "detect",
    "is_along",
    "is_drawn",
    "read_sweeps",
    "ridge_fraction",
    "rooms_crossed",
]
