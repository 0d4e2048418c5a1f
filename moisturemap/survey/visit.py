"""A visit: one walk over the floor."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from moisturemap.checked import ZONED, checked, within


@dataclass(frozen=True, slots=True)
@checked
class AmbientReading:
    """One entry of an acclimation log: the air of a room, and its slab, at a time.

    Attributes
    ----------
    when : datetime
        With zone.
    air_temperature_c, air_rh_pct : float or None
        [C] and [%RH].
    slab_temperature_c : float or None
        Surface of the slab [C].
    room : str
        Room it was read in; "" for the whole floor.
    note : str
    """

    when: Annotated[datetime, ZONED]
    air_temperature_c: Annotated[float | None, within(-40, 90, "C")] = None
    air_rh_pct: Annotated[float | None, within(0, 100, "%RH")] = None
    slab_temperature_c: Annotated[float | None, within(-40, 90, "C")] = None
    room: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
@checked
class Visit:
    """One visit.

    Attributes
    ----------
    id : str
        Short name, e.g. ``"v1"``.
    started : datetime or None
        Start, with zone.
    operator : str
        Who read.
    air_temperature_c, air_rh_pct : float or None
        Room air [C] and [%RH].
    slab_temperature_c : float or None
        Surface of the slab [C].
    surface_temperatures : tuple of (float, float, float)
        Places x, y [m] and the temperature of the floor's surface there [C].
    dry_reference : tuple of float
        Relative readings taken on this visit on floor known to be dry.
    note : str
    service_temperature_c, service_rh_pct : float or None
        Air of the floor in normal use [C] and [%RH], for rooms that do not state their own.
    acclimation : tuple of AmbientReading
        The air before and during the tests, in order of time.
    """

    id: str
    started: datetime | None = None
    operator: str = ""
    air_temperature_c: Annotated[float | None, within(-60, 90, "C")] = None
    air_rh_pct: Annotated[float | None, within(0, 100, "%RH")] = None
    slab_temperature_c: Annotated[float | None, within(-60, 90, "C")] = None
    dry_reference: tuple[float, ...] = ()
    surface_temperatures: tuple[tuple[float, float, float], ...] = ()
    note: str = ""
    service_temperature_c: Annotated[float | None, within(-40, 60, "C")] = None
    service_rh_pct: Annotated[float | None, within(0, 100, "%RH")] = None
    acclimation: tuple[AmbientReading, ...] = ()
