"""Moisture content at which timber settles in air."""

from __future__ import annotations

from moisturemap.errors import InputError


def equilibrium_moisture(temperature_c: float, rh_pct: float) -> float:
    """Equilibrium moisture content of wood [% of dry mass].

    Parameters
    ----------
    temperature_c : float
        Temperature [C], 0 to 60.
    rh_pct : float
        Relative humidity [%], 0 to 95.

    Returns
    -------
    float
        [% of dry mass]

    Raises
    ------
    InputError
        Outside 0 to 60 C and 0 to 95 %RH.

    Notes
    -----
    Hailwood and Horrobin's isotherm with the constants of the Wood Handbook (USDA Forest Products
    Laboratory, FPL-GTR-282, eq. 4-5): W = 349 + 1.29 T + 0.0135 T^2, K = 0.805 + 0.000736 T -
    0.00000273 T^2, K1 = 6.27 - 0.00938 T - 0.000303 T^2, K2 = 1.91 + 0.0407 T - 0.000293 T^2;
    EMC = 1800/W [K h/(1 - K h) + (K1 K h + 2 K1 K2 K^2 h^2)/(1 + K1 K h + K1 K2 K^2 h^2)].
    Species differ by a few per cent of the value.

    Examples
    --------
    >>> round(equilibrium_moisture(20.0, 65.0), 1)
    12.0
    """
    if not 0.0 <= temperature_c <= 60.0 or not 0.0 <= rh_pct <= 95.0:
        message = "outside the range of the isotherm of wood"
        raise InputError(message, value=(temperature_c, rh_pct), allowed="0 to 60 °C, 0 to 95 %RH")
    t, h = temperature_c, rh_pct / 100.0
    weight = 349.0 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    kh = k * h
    hydrate = (k1 * kh + 2.0 * k1 * k2 * kh**2) / (1.0 + k1 * kh + k1 * k2 * kh**2)
    return 1800.0 / weight * (kh / (1.0 - kh) + hydrate)
