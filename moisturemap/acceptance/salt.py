"""Saturated salt solutions as fixed points of relative humidity."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moisturemap.errors import InputError

TABLE_C = (5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0)
"""Temperatures of the table [C]."""


@dataclass(frozen=True, slots=True)
class Salt:
    """Relative humidity over a saturated solution.

    Attributes
    ----------
    name : str
        Chemical formula.
    humidity : tuple of float
        [%RH] at ``TABLE_C``; NaN where not known here.
    uncertainty : tuple of float
        As published [%RH], at ``TABLE_C``; NaN where not known here.
    sureness : str
        How well the row is known here.
    synonyms : tuple of str
    """

    name: str
    humidity: tuple[float, ...]
    uncertainty: tuple[float, ...]
    sureness: str
    synonyms: tuple[str, ...]

    def at(self, temperature_c: float) -> float:
        """Relative humidity [%RH] at a temperature [C], straight between the rows of the table.

        Raises
        ------
        InputError
            Outside the table.
        """
        return self._between(self.humidity, temperature_c)

    def uncertainty_at(self, temperature_c: float) -> float:
        """Return the published uncertainty [%RH] at a temperature [C]; NaN where not known."""
        try:
            return self._between(self.uncertainty, temperature_c)
        except InputError:
            return float("nan")

    def _between(self, row: tuple[float, ...], temperature_c: float) -> float:
        known = [(t, value) for t, value in zip(TABLE_C, row, strict=True) if value == value]
        if not known or not known[0][0] <= temperature_c <= known[-1][0]:
            span = f"{known[0][0]:g} to {known[-1][0]:g} °C" if known else "none"
            message = f"the table of {self.name} does not reach this temperature"
            raise InputError(message, value=temperature_c, allowed=span)
        temperatures, values = zip(*known, strict=True)
        return float(np.interp(temperature_c, temperatures, values))


_NAN = float("nan")
_GAP = (_NAN, _NAN)

_ROWS = (
    Salt(
        "LiCl",
        (11.26, 11.29, 11.30, 11.31, 11.30, 11.28, 11.25, 11.21),
        (*_GAP, 0.35, 0.31, 0.27, 0.24, *_GAP),
        "secondary",
        ("lithium chloride",),
    ),
    Salt(
        "MgCl2",
        (33.60, 33.47, 33.30, 33.07, 32.78, 32.44, 32.05, 31.60),
        (*_GAP, 0.21, 0.18, 0.16, 0.14, *_GAP),
        "secondary",
        ("magnesium chloride",),
    ),
    Salt(
        "NaCl",
        (75.65, 75.67, 75.61, 75.47, 75.29, 75.09, 74.87, 74.68),
        (*_GAP, 0.18, 0.14, 0.12, 0.11, *_GAP),
        "secondary",
        ("sodium chloride", "common salt", "table salt", "kochsalz"),
    ),
    Salt(
        "KCl",
        (87.67, 86.77, 85.92, 85.11, 84.34, 83.62, 82.95, 82.32),
        (*_GAP, 0.33, 0.29, 0.26, 0.25, *_GAP),
        "secondary",
        ("potassium chloride",),
    ),
    Salt(
        "KNO3",
        (*_GAP, 95.41, 94.62, 93.58, 92.31, *_GAP),
        (*_GAP, 0.96, 0.66, 0.55, 0.60, *_GAP),
        "memory",
        ("potassium nitrate",),
    ),
    Salt(
        "K2SO4",
        (98.48, 98.18, 97.89, 97.59, 97.30, 97.00, 96.71, 96.41),
        (*_GAP, 0.63, 0.53, 0.45, 0.40, *_GAP),
        "secondary",
        ("potassium sulfate", "potassium sulphate"),
    ),
)

SALTS = {salt.name: salt for salt in _ROWS}
"""L. Greenspan, Humidity fixed points of binary saturated aqueous solutions, J. Res. NBS 81A (1977)
89-96: the table, not a polynomial (public copies carry a wrong sign for LiCl). The rows at 5, 10,
35 and 40 C are from memory and agree with the fits of the paper to its last digits. The paper warns
that two decimals are not accuracy. A saturated solution needs solid salt present and a steady
temperature."""


def salt_named(reference: str) -> Salt | None:
    """Return the salt a check names, or None when it was made against something else.

    Parameters
    ----------
    reference : str
        Salt, chamber or block a check names.
    """
    wanted = reference.casefold().replace(" ", "").replace("·", "")
    for salt in SALTS.values():
        names = (salt.name, *salt.synonyms)
        if wanted in {name.casefold().replace(" ", "") for name in names}:
            return salt
    return None
