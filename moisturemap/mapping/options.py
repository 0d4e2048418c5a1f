"""Options of the map."""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.errors import OptionError
from moisturemap.geostat import KINDS


@dataclass(frozen=True, kw_only=True)
class MappingOptions:
    """How readings become a surface.

    Attributes
    ----------
    kinds : tuple of str
        Candidate covariances; the likelihood chooses.
    seed : int
        Seed of everything random.
    """

    kinds: tuple[str, ...] = ("exponential", "matern32", "spherical")
    seed: int = 0

    def __post_init__(self) -> None:
        unknown = [kind for kind in self.kinds if kind not in KINDS]
        if unknown or not self.kinds:
            raise OptionError("unknown covariance", value=unknown, allowed=", ".join(KINDS))
