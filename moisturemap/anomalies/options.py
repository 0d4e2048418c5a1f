"""Options of the search for anomalies."""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.checked import checked
from moisturemap.errors import OptionError


@dataclass(frozen=True, kw_only=True)
@checked
class DetectOptions:
    """How anomalies are looked for.

    Attributes
    ----------
    family_error : float
        Chance of any find on a floor without anomalies.
    refits : int
        How often the covariance is fitted again with the disturbed readings masked.
    flag_from : float
        A reading is flagged when the anomaly lifts or lowers it by at least this many noise sd.
    simulations : int
        Null fields drawn for the threshold.
    seed : int
        Seed of the null fields.
    """

    family_error: float = 0.05
    refits: int = 1
    flag_from: float = 2.0
    simulations: int = 120
    seed: int = 1

    def __post_init__(self) -> None:
        if not 0.0 < self.family_error < 0.5:
            message = "family_error must be a probability below one half"
            raise OptionError(message, value=self.family_error, allowed="0 < family_error < 0.5")
        if self.refits < 0 or self.simulations < 20:
            message = "refits must not be negative and simulations at least 20"
            raise OptionError(message, value=(self.refits, self.simulations))
        if not self.flag_from > 0:
            raise OptionError("flag_from must be positive", value=self.flag_from, allowed="> 0")
