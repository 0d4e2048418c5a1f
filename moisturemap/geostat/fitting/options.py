"""Options of a covariance fit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from moisturemap.checked import NOT_NEGATIVE, at_least, checked
from moisturemap.errors import OptionError
from moisturemap.geostat.covariance.model import KINDS
from moisturemap.geostat.drift import Drift, constant
from moisturemap.geostat.fitting.earlier import EarlierFloors


@dataclass(frozen=True, kw_only=True)
@checked
class FitOptions:
    """How a covariance is fitted.

    Attributes
    ----------
    kinds : tuple of str
        Candidates of smoothness; the likelihood weighs them.
    nugget_floor : float
        Least nugget variance, e.g. step^2/12 of a rounded scale [value units squared].
    repeat_pairs : int or None
        Pairs of repeats from which ``noise_sd`` was found; None when it is known otherwise.
    length_bounds : (float, float) or None
        Bounds of the length parameter [m]; from spacing and extent when None.
    priors : bool
        Weak priors on range, variance and nugget, and "no pattern" as a candidate; off for plain
        restricted likelihood.
    posterior : int or None
        Most parameter points that carry the uncertainty of the fit; chosen by the number of
        readings when None; 1 for the likeliest alone.
    polished : bool
        Search the likeliest alone out to the end; off to take it from the nodes that were drawn, a
        sixteenth of what the readings leave open apart.
    anisotropy : bool
        Let the range differ by direction as far as the readings tell.
    hidden : bool
        Allow for a floor that varies on a scale too short for these readings, where they show no
        pattern. Off for what is known to be smooth, such as the change between visits.
    drift : callable
        Drift columns at places.
    earlier : EarlierFloors or None
        What earlier floors read with the same instrument lead to expect, beside the weak priors.
    """

    kinds: tuple[str, ...] = ("exponential", "matern32", "spherical")
    nugget_floor: Annotated[float, NOT_NEGATIVE] = 0.0
    repeat_pairs: Annotated[int | None, at_least(1, "pairs")] = None
    length_bounds: tuple[float, float] | None = None
    priors: bool = True
    posterior: Annotated[int | None, at_least(1)] = None
    polished: bool = True
    anisotropy: bool = False
    hidden: bool = True
    drift: Drift = constant
    earlier: EarlierFloors | None = None

    def __post_init__(self) -> None:
        unknown = [kind for kind in self.kinds if kind not in KINDS]
        if unknown or not self.kinds:
            raise OptionError("unknown covariance", value=unknown, allowed=", ".join(KINDS))
        bounds = self.length_bounds
        if bounds is not None and not 0.0 < bounds[0] < bounds[1]:
            raise OptionError(
                "length_bounds must be two lengths in metres",
                value=bounds,
                allowed="ascending, above 0",
            )
