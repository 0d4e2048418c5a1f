"""Floor that a map says nothing of, and that may be the wettest."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True)
class HighPlace:
    """Floor of which no wet zone of the map speaks, and that may be the wettest.

    Attributes
    ----------
    why : str
        Why the map says nothing of it.
    where : str
        What is asked for, before value and place: ``"at the highest reading of the scan"``.
    room : str
        Room it lies in; "" for the whole floor.
    within_m : float
        A test this near counts as there [m].
    value : float or None
        What was read there [reading units]; None where nothing was.
    places : tuple of (float, float)
        Where, x, y [m]; more than one where several readings are the highest.
    part : shapely geometry or None
        Floor that nobody read: a test anywhere in it counts.
    saturated : bool
        Several places stand at full scale: the wettest of them cannot be told.
    instead : str
        What settles it where no test does.
    """

    why: str
    where: str
    room: str = ""
    within_m: float = 0.5
    value: float | None = None
    places: tuple[tuple[float, float], ...] = ()
    part: BaseGeometry | None = None
    saturated: bool = False
    instead: str = ""

    @property
    def sentence(self) -> str:
        """Why, and what was read where, for one of which both are known."""
        x, y = self.places[0]
        return f"{self.why}: {self.value:g} at ({x:.2f}, {y:.2f})."
