"""Files that run on between visits: climate loggers left on the floor, and the logs of machines."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from moisturemap.checked import MAY_BE_NAN, ZONED, above, at_least, checked, one_of
from moisturemap.errors import OptionError

LOGGER_PLACES = ("hole", "air", "surface")
"""Where a logger sits: sealed in a hole of the slab, in the air of a room, or on the floor."""

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
@checked
class LoggerSeries:
    """Humidity and temperature that one logger recorded at one place.

    A logger in a hole follows the drying at depth. It is no test by a standard: acceptance rests on
    tests, whatever a logger reads.

    Attributes
    ----------
    id : str
    place : str
        One of ``LOGGER_PLACES``.
    began : datetime
        Of the first entry, with zone.
    hours : tuple of float, shape (n,)
        Of each entry since ``began``, ascending [h].
    rh_pct, temperature_c : tuple of float, shape (n,)
        [%RH] and [C]; NaN where not recorded.
    room : str
        "" for the whole floor.
    x, y : float or None
        [m]
    depth_mm : float or None
        Of the sensor below the top face [mm]; needed in a hole.
    gaps : tuple of (float, float)
        Hours since ``began`` between which nothing was recorded.
    recorded : int
        Entries of the file; more than n where a long series was thinned.
    source : str
        File.
    """

    id: str
    place: Annotated[str, one_of(*LOGGER_PLACES)]
    began: Annotated[datetime, ZONED]
    hours: tuple[float, ...]
    rh_pct: tuple[Annotated[float, MAY_BE_NAN], ...]
    temperature_c: tuple[Annotated[float, MAY_BE_NAN], ...]
    room: str = ""
    x: float | None = None
    y: float | None = None
    depth_mm: Annotated[float | None, above(0, "mm")] = None
    gaps: tuple[tuple[float, float], ...] = ()
    recorded: int = 0
    source: str = ""

    def __post_init__(self) -> None:
        sizes = {len(self.hours), len(self.rh_pct), len(self.temperature_c)}
        if len(sizes) != 1 or not self.hours:
            message = "a logger has times, humidities and temperatures of one length"
            raise OptionError(message, value=sorted(sizes), allowed="one length, at least 1")
        if np.any(np.diff(self.hours) <= 0.0):
            message = "the hours of a logger ascend"
            raise OptionError(message, value=self.id, allowed="each later than the one before")
        if self.place == "hole" and self.depth_mm is None:
            message = "a logger in a hole needs the depth of its sensor"
            raise OptionError(message, value=self.id, allowed="depth_mm above 0")

    def days_since(self, start: datetime) -> Array:
        """Return the time of each entry since a moment, shape (n,) [days]."""
        first = (self.began - start).total_seconds() / 86_400.0
        return first + np.asarray(self.hours) / 24.0

    @property
    def ended(self) -> datetime:
        """Of the last entry."""
        return self.began + timedelta(hours=self.hours[-1])


@dataclass(frozen=True, slots=True, kw_only=True)
@checked
class MachineEntry:
    """What a machine did from the entry before to this one.

    Attributes
    ----------
    when : datetime
        End of the interval, with zone.
    litres : float or None
        Water it took out [l].
    run_hours : float or None
        [h]
    energy_kwh : float or None
        [kWh]
    current_a : float or None
        Drawn while it ran [A].
    note : str
    """

    when: Annotated[datetime, ZONED]
    litres: Annotated[float | None, at_least(0, "l")] = None
    run_hours: Annotated[float | None, at_least(0, "h")] = None
    energy_kwh: Annotated[float | None, at_least(0, "kWh")] = None
    current_a: Annotated[float | None, at_least(0, "A")] = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
@checked
class MachineLog:
    """The log of one machine, in order of time.

    Attributes
    ----------
    machine : str
        As in the list of machines.
    entries : tuple of MachineEntry
    room : str
        "" for the whole floor.
    source : str
        File.
    """

    machine: str
    entries: tuple[MachineEntry, ...]
    room: str = ""
    source: str = ""

    def total(self, quantity: str, begin: datetime, end: datetime) -> float | None:
        """Sum a quantity over the entries after ``begin`` and up to ``end``; None without any.

        Parameters
        ----------
        quantity : str
            ``"litres"``, ``"run_hours"`` or ``"energy_kwh"``.
        begin, end : datetime
            With zone.
        """
        found = [
            value
            for entry in self.entries
            if begin < entry.when <= end and (value := getattr(entry, quantity)) is not None
        ]
        return float(sum(found)) if found else None
