"""Moisture diffusivity of concrete and how it falls as the concrete dries."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from moisturemap.errors import OptionError

Array = NDArray[np.float64]

SECONDS_PER_DAY = 86_400.0

ACTIVATION_K = 4700.0
"""Activation energy over the gas constant for drying [K]; after Bazant and Najjar (1972)."""


@dataclass(frozen=True, slots=True)
class DiffusivityCurve:
    """How diffusivity depends on humidity.

    Equation (1): D(h)/D1 = a + (1 - a) / (1 + [(1 - h) / (1 - hc)]^n).

    Parameters
    ----------
    floor : float
        a, diffusivity of dry concrete over that of saturated concrete.
    centre : float
        hc, humidity (fraction) at which D is midway.
    steepness : float
        n.

    Notes
    -----
    Validity: drying, humidity above about 0.3; the fib Model Code 2010 recommends a = 0.05,
    hc = 0.80 and n = 15.

    References
    ----------
    Z. P. Bazant, L. J. Najjar, Drying of concrete as a nonlinear diffusion problem, Cement and
    Concrete Research 1 (1971) 461-473; Nonlinear water diffusion in nonsaturated concrete,
    Materials and Structures 5 (1972) 3-20.

    Examples
    --------
    >>> round(float(DiffusivityCurve().relative(np.array(0.8))), 3)
    0.525
    """

    floor: float = 0.05
    centre: float = 0.80
    steepness: float = 15.0

    def relative(self, h: Array) -> Array:
        """D(h)/D1 at humidities (fractions).

        Parameters
        ----------
        h : ndarray
            Fractions.

        Returns
        -------
        ndarray, same shape
        """
        dryness = np.maximum(1.0 - np.asarray(h, dtype=float), 0.0) / (1.0 - self.centre)
        return np.asarray(self.floor + (1.0 - self.floor) / (1.0 + dryness**self.steepness))


def diffusivity_from_strength(strength_mpa: float) -> float:
    """D1, diffusivity of saturated concrete at 20 C [mm2/day].

    Parameters
    ----------
    strength_mpa : float
        **Characteristic** cylinder strength fck [MPa], 12 to 80. With the mean strength fcm use
        fck = fcm - 8 MPa; the 8 MPa are not taken off twice.

    Returns
    -------
    float
        [mm2/day]

    Raises
    ------
    OptionError
        Outside 12 to 80 MPa.

    Notes
    -----
    D1 = 1e-8 / fck [m2/s], fck in MPa. Good to a factor of two: a prior, not a measurement.

    References
    ----------
    CEB-FIP Model Code 1990 and fib Model Code 2010, moisture diffusion (formula from memory).

    Examples
    --------
    >>> round(diffusivity_from_strength(30.0), 1)
    28.8
    """
    if not 12.0 <= strength_mpa <= 80.0:
        message = "characteristic strength is outside what the formula covers"
        raise OptionError(message, value=strength_mpa, allowed="12 to 80 MPa")
    return 1.0e-8 / strength_mpa * 1.0e6 * SECONDS_PER_DAY


def temperature_factor(temperature_c: float) -> float:
    """Diffusivity at a temperature [C] over that at 20 C.

    exp[4700 K (1/293.15 - 1/T)], after Bazant and Najjar (1972); 5 to 40 C.

    Parameters
    ----------
    temperature_c : float
        [C]

    Returns
    -------
    float
        [-]
    """
    kelvin = temperature_c + 273.15
    return float(np.exp(ACTIVATION_K * (1.0 / 293.15 - 1.0 / kelvin)))


def humidity_per_degree(h: float) -> float:
    """Rise of the humidity of sealed concrete (fraction) for each degree it gets warmer [1/K].

    Parameters
    ----------
    h : float
        Humidity as a fraction.

    Returns
    -------
    float
        [1/K]

    Notes
    -----
    0.0135 h (1 - h)/(1.25 - h), after Bazant and Najjar (1972); from memory. Unlike air of fixed
    vapour content, whose relative humidity falls when warmed, sealed concrete grows damper.

    Examples
    --------
    >>> round(humidity_per_degree(0.85), 4)
    0.0043
    """
    return 0.0135 * h * (1.0 - h) / (1.25 - h)
