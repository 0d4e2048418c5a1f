"""How the relative scan goes with calibrated tests, or that it does not."""

from moisturemap.calibration.curve import PAIR_COLUMNS, CalibrationCurve, selection_factor
from moisturemap.calibration.rank import rank_correlation
from moisturemap.calibration.relate import RelateOptions, relate

__all__ = [
    "PAIR_COLUMNS",
    "CalibrationCurve",
    "RelateOptions",
    "rank_correlation",
    "relate",
    "selection_factor",
]
