"""A hole of a drill plan that was issued: its name and place never change again."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedHole:
    """One hole of an issued drill plan.

    Attributes
    ----------
    hole : str
        Its name, given once and never to another place.
    room : str
    x, y : float
        Place in the plan's frame [m].
    depth_mm : float or None
        Stop setting of the drill [mm]; None where none could be given.
    depth_note : str
    purpose, why : str
        What the hole is for, as the plan said when it was issued.
    plan : int
        Number of the issued plan, from 1.
    issued : str
        When, ISO 8601 with zone.
    who : str
        Who issued it.
    withdrawn : str
        Why it shall not be drilled after all; "" while it stands. Its name stays taken.
    """

    hole: str
    room: str
    x: float
    y: float
    depth_mm: float | None = None
    depth_note: str = ""
    purpose: str = ""
    why: str = ""
    plan: int = 1
    issued: str = ""
    who: str = ""
    withdrawn: str = ""
