"""What is stated of a slab over time, as the simulation needs it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from moisturemap.errors import InputError
from moisturemap.floorplan import Room
from moisturemap.investigation.answers import Answers
from moisturemap.slab import outside_model
from moisturemap.slab.scope import SlabSpec


@dataclass(frozen=True)
class Story:
    """A slab over time; days count from the latest reading at depth, which is day 0.

    Attributes
    ----------
    thickness_mm : float
    days : tuple of float
        Days with readings, ascending, the last 0.
    placed, covered, lifted, flood, repaired : float or None
        Days of these events; None when not known or not so.
    ever_covered : bool or None
        None when nobody knows.
    build_up : str
        As of the room; "" when not stated.
    base : str
    temperature_c : float
        Of the slab.
    room_rh : float or None
        Humidity of the room's air (fraction); None when not recorded.
    """

    thickness_mm: float
    days: tuple[float, ...]
    placed: float | None = None
    covered: float | None = None
    lifted: float | None = None
    flood: float | None = None
    repaired: float | None = None
    ever_covered: bool | None = None
    build_up: str = ""
    base: str = "concrete"
    temperature_c: float = 20.0
    room_rh: float | None = None

    def __post_init__(self) -> None:
        if not 10.0 <= self.thickness_mm <= 2000.0:
            message = "the thickness of the layer is outside what can be simulated"
            raise InputError(message, value=self.thickness_mm, allowed="10 to 2000 mm")
        if not self.days or self.days[-1] != 0.0 or np.any(np.diff(self.days) <= 0.0):
            message = "days of reading ascend and end at day 0"
            raise InputError(message, value=self.days)


def not_simulated(room: Room, answers: Answers) -> tuple[str, ...]:
    """Sentences on why depth is not simulated for a room; empty when it may be."""
    slab = room.slab
    if not slab.thickness_mm:
        return ("the thickness of the layer is not stated",)
    spec = SlabSpec(slab.thickness_mm, slab.open_faces, None, slab.base, bool(slab.heated))
    reasons = [
        one
        for one in outside_model(spec)
        # missing membranes and layers are what this simulation is for
        if "membrane" not in one and "two materials" not in one
    ]
    if answers.get("build_up") == "timber":
        reasons.append("timber is not a cement-bound slab")
    return tuple(reasons)


def story_of(
    room: Room,
    answers: Answers,
    days: Sequence[date],
    *,
    temperature_c: float | None = None,
    room_rh: float | None = None,
) -> Story:
    """Put the days a survey and the answers state on the axis of the simulation.

    Parameters
    ----------
    room : Room
    answers : Answers
        With the room's own fields in their place.
    days : sequence of date
        Days with readings at depth.
    temperature_c : float, optional
        Of the slab [C].
    room_rh : float, optional
        Fraction.
    """
    last = max(days)

    def axis(value: object) -> float | None:
        return float((value - last).days) if isinstance(value, date) else None

    distinct = sorted({float((day - last).days) for day in days})
    covered = axis(answers.get("covered"))
    lifted = None if room.slab.lifted is None else axis(room.slab.lifted)
    fault = axis(answers.get("first_fault"))
    known = covered is not None or lifted is not None or fault is not None
    assert room.slab.thickness_mm is not None
    return Story(
        thickness_mm=room.slab.thickness_mm,
        days=tuple(distinct),
        placed=axis(answers.get("placed")),
        covered=covered,
        lifted=lifted,
        flood=axis(answers.event("flood", last)),
        repaired=axis(answers.get("repaired")),
        ever_covered=True if known else None if "covered" in answers.asked else False,
        build_up=str(answers.get("build_up") or ""),
        base=room.slab.base,
        temperature_c=20.0 if temperature_c is None else temperature_c,
        room_rh=room_rh,
    )
