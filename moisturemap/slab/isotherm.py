"""Sorption isotherm of hardened cement paste: how much water goes with which humidity.

``h`` is relative humidity as a fraction, as in the papers.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from moisturemap.errors import OptionError

Array = NDArray[np.float64]

MATURE_AGE_DAYS = 1.0e4
"""Age at which the paste is taken as fully hydrated [days]."""


@dataclass(frozen=True)
class Isotherm:
    """The three-parameter (BSB) isotherm of Xi et al. for Portland cement paste.

    Equation (1): w = C k Vm h / [(1 - k h) (1 + (C - 1) k h)], with

    (2) C = exp(855 / T);
    (3) k = [(1 - 1/n) C - 1] / (C - 1);
    (4) Vm = (0.068 - 0.22/t) (0.85 + 0.45 w/c) Vct;
    (5) n = (2.5 + 15/t) (0.33 + 2.2 w/c) Nct, with t not below 5 days.

    Parameters
    ----------
    water_cement : float
        Water-cement ratio by mass, 0.3 to 0.7.
    temperature_c : float
        Temperature [C]; T in equation (2) is in kelvin.
    age_days : float
        Equivalent age t [days].
    linear_share : float
        0 for the equations above, 1 for a straight line of the same water at saturation; between,
        a blend. Measured desorption branches lie between the two.
    cement_vct, cement_nct : float
        Factors of the cement type; 0.9 and 1.1 for type I.

    Notes
    -----
    Validity: ordinary Portland cement paste, h from 0.05 to 1. It is fitted to **adsorption**; the
    desorption branch of a drying slab holds more water. Some texts print 1.5/t in (5), which is not
    continuous with the value at t = 5 days, and some drop the "1 +" in (1); both are wrong.

    References
    ----------
    Y. Xi, Z. P. Bazant, L. Molina, H. M. Jennings, Moisture diffusion in cementitious materials:
    Adsorption isotherms, Advanced Cement Based Materials 1 (1994) 248-257.

    Examples
    --------
    >>> round(float(Isotherm(0.5).water(np.array(0.8))), 4)
    0.1526
    """

    water_cement: float = 0.5
    temperature_c: float = 20.0
    age_days: float = MATURE_AGE_DAYS
    linear_share: float = 0.0
    cement_vct: float = 0.9
    cement_nct: float = 1.1

    def __post_init__(self) -> None:
        if not 0.3 <= self.water_cement <= 0.7:
            message = "the isotherm is not established for this water-cement ratio"
            raise OptionError(message, value=self.water_cement, allowed="0.3 to 0.7")
        if not 0.0 <= self.linear_share <= 1.0:
            message = "the linear share of an isotherm is a fraction"
            raise OptionError(message, value=self.linear_share, allowed="0 to 1")

    @cached_property
    def constants(self) -> tuple[float, float, float, float]:
        """C [-], k [-], Vm [g water per g cement] and n [-] of equations (2) to (5)."""
        age = max(self.age_days, 5.0)
        energy = float(np.exp(855.0 / (self.temperature_c + 273.15)))
        layers = (2.5 + 15.0 / age) * (0.33 + 2.2 * self.water_cement) * self.cement_nct
        slope = ((1.0 - 1.0 / layers) * energy - 1.0) / (energy - 1.0)
        layer = (0.068 - 0.22 / age) * (0.85 + 0.45 * self.water_cement) * self.cement_vct
        return energy, slope, layer, layers

    def water(self, h: Array) -> Array:
        """Evaporable water [g per g cement] at humidities (fractions).

        Parameters
        ----------
        h : ndarray
            Fractions, 0 to 1.

        Returns
        -------
        ndarray, same shape
        """
        h = np.asarray(h, dtype=float)
        curve = self._curve(h)
        if self.linear_share == 0.0:
            return curve
        line = h * self._curve(np.asarray(1.0))
        return np.asarray((1.0 - self.linear_share) * curve + self.linear_share * line)

    def humidity(self, water: Array) -> Array:
        """Humidity (fraction) at water contents [g per g cement]; inverse of :meth:`water`.

        Parameters
        ----------
        water : ndarray
            [g per g cement]

        Returns
        -------
        ndarray, same shape
            Fractions.
        """
        water = np.asarray(water, dtype=float)
        low, high = np.zeros_like(water), np.ones_like(water)
        for _ in range(52):
            middle = 0.5 * (low + high)
            below = self.water(middle) < water
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        return np.asarray(0.5 * (low + high))

    def _curve(self, h: Array) -> Array:
        energy, slope, layer, _ = self.constants
        kh = slope * h
        return np.asarray(energy * layer * kh / ((1.0 - kh) * (1.0 + (energy - 1.0) * kh)))
