"""Options of the wet level and of the zones."""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.checked import checked
from moisturemap.errors import OptionError


@dataclass(frozen=True, kw_only=True, slots=True)
@checked
class LevelOptions:
    """How the wet level is chosen when the survey does not state one.

    Attributes
    ----------
    coverage, confidence : float
        Of the one-sided tolerance limit over the dry reference readings.
    significance : float
        Largest p-value at which the readings are called two populations.
    simulations : int
        One-population floors simulated for that p-value, for each of two null models.
    fewest_readings : int
        Readings below which two populations are not looked for.
    noise_sd : float or None
        Standard deviation of one reading where known, e.g. from repeats [reading units]; None
        takes it from the repeats of the visit.
    noise_df : int
        Degrees of freedom behind ``noise_sd``.
    meter : str
        Id of the meter whose readings are mapped; "" where it is the one the survey was read with.
    seed : int
    """

    coverage: float = 0.95
    confidence: float = 0.95
    significance: float = 0.05
    simulations: int = 99
    fewest_readings: int = 20
    noise_sd: float | None = None
    noise_df: int = 30
    meter: str = ""
    seed: int = 20_260_101

    def __post_init__(self) -> None:
        for name in ("coverage", "confidence", "significance"):
            _between_zero_and_one(name, getattr(self, name))
        if self.simulations < 19:
            raise OptionError("too few simulations", value=self.simulations, allowed="19 or more")


@dataclass(frozen=True, kw_only=True, slots=True)
@checked
class ZoneOptions:
    """How zones are outlined.

    Attributes
    ----------
    confidence : float
        Simultaneous confidence of the surely wet set and of the dry remainder.
    interval : float
        Probability covered by the interval of a zone's area.
    draws : int
        Conditional draws of the surface.
    places : int
        Most places the draws are made at (a coarser grid than the map's).
    reading_spacing_m : float or None
        Distance between neighbouring readings, where known [m]; enters the smallest zone.
    smallest_m2 : float or None
        Smallest zone outlined [m2]; None derives it from the map's cells, the reading spacing and
        the range of the field.
    scale : (float, float) or None
        Ends of the meter's scale [reading units]; a map runs on beyond readings at full scale, the
        peak that is stated does not.
    seed : int
    """

    confidence: float = 0.9
    interval: float = 0.9
    draws: int = 1000
    places: int = 700
    reading_spacing_m: float | None = None
    smallest_m2: float | None = None
    scale: tuple[float, float] | None = None
    seed: int = 20_260_102

    def __post_init__(self) -> None:
        for name in ("confidence", "interval"):
            _between_zero_and_one(name, getattr(self, name))
        if self.draws < 100:
            raise OptionError("too few draws", value=self.draws, allowed="100 or more")
        if not 50 <= self.places <= 3000:
            raise OptionError("places out of range", value=self.places, allowed="50 to 3000")


def _between_zero_and_one(name: str, value: float) -> None:
    if not 0.0 < value < 1.0:
        message = f"{name} must lie between 0 and 1"
        raise OptionError(message, value=value, allowed="above 0 and below 1")
