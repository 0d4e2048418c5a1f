"""Options of the comparison of visits.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.checked import checked
from moisturemap.errors import OptionError


@dataclass(frozen=True, kw_only=True, slots=True)
@checked
class DryingOptions:
    """How visits are compared.

    Attributes
    ----------
    discovery : float
        False discovery rate of cells said to have dried or risen. An error common to all cells
        shows everywhere or nowhere: so often does a floor without any change show some.
    interval : float
        Probability inside the intervals of areas and forecasts.
    drift_sd : float or None
        Standard deviation of the drift of the meter from visit to visit where no dry reference and
        no check block tells it [reading units]; None takes 1% of the scale (project choice).
    asymptote : float or None
        Reading that a place dries to in this room's air; None takes the dry level of the floor.
    asymptote_sd : float or None
        Its standard deviation [reading units]; None takes how dry floor varies from place to place.
    slow_share : float
        A place is stagnant when it is shown to dry at less than this share of the specific rate
        of the wet floor (project choice).
    slow_half_life_days : float
        Or when its half-life is shown to be longer than this [days] (project choice).
    horizon_days : float
        Forecasts beyond this are said to be "beyond"; the fit knows nothing of such times [days].
    draws : int
        Conditional draws for the interval of the wet area.
    seed : int
    """

    discovery: float = 0.05
    interval: float = 0.9
    drift_sd: float | None = None
    asymptote: float | None = None
    asymptote_sd: float | None = None
    slow_share: float = 0.5
    slow_half_life_days: float = 60.0
    horizon_days: float = 730.0
    draws: int = 300
    seed: int = 20_260_102

    def __post_init__(self) -> None:
        for name in ("discovery", "interval", "slow_share"):
            if not 0.0 < getattr(self, name) < 1.0:
                message = f"{name} is a share"
                raise OptionError(message, value=getattr(self, name), allowed="between 0 and 1")
        for name in ("drift_sd", "asymptote_sd"):
            value = getattr(self, name)
            if value is not None and not value >= 0.0:
                message = f"{name} is a standard deviation"
                raise OptionError(message, value=value, allowed="0 or more")
