"""Options of the map."""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.checked import checked
from moisturemap.errors import OptionError
from moisturemap.geostat import DRIFTS, KINDS
from moisturemap.mapping.earlier_floor import SameInstrument

SCALES = ("auto", "identity", "logit")
ENGINES = ("auto", "exact", "tiles")


@dataclass(frozen=True, kw_only=True)
@checked
class MappingOptions:
    """How readings become a surface.

    Attributes
    ----------
    kinds : tuple of str
        Candidate covariances; the likelihood chooses.
    scale : str
        ``"identity"`` maps readings as they are; ``"logit"`` stretches the ends of a bounded
        instrument scale; ``"auto"`` takes the one that predicts left-out readings better.
    engine : str
        ``"exact"``, ``"tiles"`` or ``"auto"``: see ``geostat.BlendOptions``.
    in_room : bool
        Measure distances inside the floor where it is not convex.
    anisotropy : bool
        Let the range differ by direction as far as the readings tell.
    drift : str
        ``"constant"``, or ``"linear"`` for a mean that slopes: a floor that falls to one side, or a
        meter that drifted while the floor was walked in lines. In plan coordinates only.
    seed : int
        Seed of everything random.
    earlier : SameInstrument or None
        Floors read before with this instrument, from which range and noise are borrowed in part;
        None borrows nothing.
    """

    kinds: tuple[str, ...] = ("exponential", "matern32", "spherical")
    scale: str = "auto"
    engine: str = "auto"
    in_room: bool = True
    anisotropy: bool = True
    drift: str = "constant"
    seed: int = 0
    earlier: SameInstrument | None = None

    def __post_init__(self) -> None:
        unknown = [kind for kind in self.kinds if kind not in KINDS]
        if unknown or not self.kinds:
            raise OptionError("unknown covariance", value=unknown, allowed=", ".join(KINDS))
        if self.scale not in SCALES:
            raise OptionError("unknown scale", value=self.scale, allowed=", ".join(SCALES))
        if self.drift not in DRIFTS:
            raise OptionError("unknown drift", value=self.drift, allowed=", ".join(DRIFTS))
        if self.engine not in ENGINES:
            raise OptionError("unknown engine", value=self.engine, allowed=", ".join(ENGINES))
