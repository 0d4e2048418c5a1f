"""A visit: one walk over the floor."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
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
    """

    id: str
    started: datetime | None = None
    operator: str = ""
    air_temperature_c: float | None = None
    air_rh_pct: float | None = None
    slab_temperature_c: float | None = None
    dry_reference: tuple[float, ...] = ()
    surface_temperatures: tuple[tuple[float, float, float], ...] = ()
    note: str = ""
