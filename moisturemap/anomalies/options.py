"""Options of the search for anomalies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moisturemap.checked import above, checked, within


@dataclass(frozen=True, kw_only=True)
@checked
class DetectOptions:
    """How anomalies are looked for.

    Attributes
    ----------
    flag_from : float
        A reading is flagged when the anomaly lifts or lowers it by at least this many noise sd.
    footprint_m : float or None
        Sd of the scanner's response across a thin thing [m]; None takes what the instrument
        states, else a usual one.
    """

    flag_from: Annotated[float, above(0.0, "noise sd")] = 2.0
    footprint_m: Annotated[float | None, within(0.01, 0.5, "m")] = None
