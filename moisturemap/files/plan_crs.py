"""The coordinate reference system a plan file states, and the unit of length it counts in."""

from __future__ import annotations

from typing import Any

from moisturemap.errors import FormatError
from moisturemap.floorplan import LENGTH_UNITS

_SAME = 1e-4
"""Units this close are one: the US survey foot differs from the foot by 2 parts in a million."""


def unit_of_crs(crs: Any, source: str, place: str | None = None) -> str | None:
    """Return the unit of length of a projected or local system; None when it states none.

    Parameters
    ----------
    crs : pyproj.CRS or None
    source, place : str
        For the message.

    Raises
    ------
    FormatError
        When the unit is none that plans are read in; names it.
    """
    if crs is None or not crs.is_projected or not crs.axis_info:
        return None
    axis = crs.axis_info[0]
    factor = float(axis.unit_conversion_factor)
    for unit, metres in LENGTH_UNITS.items():
        if abs(factor / metres - 1) < _SAME:
            return unit
    raise FormatError(
        "the reference system of the file counts in a unit plans are not read in",
        source=source,
        place=place,
        value=axis.unit_name,
        allowed=", ".join(LENGTH_UNITS),
    )


def settled_unit(coordinates: str, said: bool, stated: str | None) -> tuple[str, list[str]]:
    """Return the unit to read in, and what must be told of it.

    Parameters
    ----------
    coordinates : str
        Unit somebody gives, or the usual one.
    said : bool
        Whether somebody gives it for this file: then it goes first.
    stated : str or None
        Unit the file states.
    """
    if stated is None or stated == coordinates:
        return coordinates, []
    if said:
        doubt = (
            f"The reference system of the plan counts in {stated}; it was read in {coordinates} "
            "as you say: check one wall."
        )
        return coordinates, [doubt]
    return stated, [f"The reference system of the plan counts in {stated}; it was read so."]
