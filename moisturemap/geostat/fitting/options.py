"""Options of a covariance fit."""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.checked import checked
from moisturemap.errors import OptionError
from moisturemap.geostat.covariance.model import KINDS, Covariance
from moisturemap.geostat.drift import Drift, constant


@dataclass(frozen=True, kw_only=True)
@checked
class FitOptions:
    """How a covariance is fitted.

    Attributes
    ----------
    kinds : tuple of str
        Candidates of smoothness; the likelihood chooses.
    nugget_floor : float
        Least nugget variance, e.g. the variance of repeats or step^2/12 of a rounded scale.
    length_bounds : (float, float) or None
        Bounds of the length parameter [m]; from spacing and extent when None.
    priors : bool
        Weak priors on range, variance and nugget; off for plain restricted likelihood.
    posterior : int or None
        Most parameter points that carry the uncertainty of the fit; chosen by the number of
        readings when None; 1 for the mode alone.
    anisotropy : bool
        Let the range differ by direction where 100 readings or more earn it.
    drift : callable
        Drift columns at places.
    start : Covariance or None
        Where the search starts, e.g. a fit to nearly the same readings.
    """

    kinds: tuple[str, ...] = ("exponential", "matern32", "spherical")
    nugget_floor: float = 0.0
    length_bounds: tuple[float, float] | None = None
    priors: bool = True
    posterior: int | None = None
    anisotropy: bool = False
    drift: Drift = constant
    start: Covariance | None = None

    def __post_init__(self) -> None:
        unknown = [kind for kind in self.kinds if kind not in KINDS]
        if unknown or not self.kinds:
            raise OptionError("unknown covariance", value=unknown, allowed=", ".join(KINDS))
        if not self.nugget_floor >= 0:
            raise OptionError("nugget_floor must be a variance, 0 or more", value=self.nugget_floor)
