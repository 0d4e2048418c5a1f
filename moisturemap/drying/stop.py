"""What the records of the latest visit say against a latest day, whatever the readings did.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from moisturemap.drying.damp_air import no_room_air, too_damp
from moisturemap.drying.logged_air import with_logged_air
from moisturemap.drying.noted import latest_notes
from moisturemap.drying.stop_records import damp_log, machine_doubt, room_covered
from moisturemap.survey import LoggerSeries, Survey, Visit


class Stop(NamedTuple):
    """A reason to name no latest day.

    Attributes
    ----------
    why : str
        ``"noted"``, ``"record"``, ``"air"``, ``"machines"``, ``"lower"``, ``"depth"``, or "" for
        none.
    sentence : str
        Said after the day before which the target is not met.
    water : bool
        Water may still arrive.
    """

    why: str = ""
    sentence: str = ""
    water: bool = False

    @property
    def first(self) -> bool:
        """Whether it is said before what the fit itself leaves open."""
        return self.why in FIRST


FIRST = ("noted", "record", "air")
"""Reasons that no fit of the readings weighs."""

NO_STOP = Stop()


def recorded_air(
    visits: Sequence[Visit], loggers: Sequence[LoggerSeries], room: str
) -> tuple[Visit, ...]:
    """Return visits with the air of a room since the one before, where that was logged."""
    return with_logged_air(visits, [one for one in loggers if one.room in ("", room)])


def find_stop(survey: Survey, visits: Sequence[Visit], room: str) -> Stop:
    """Return what the notes and the air of the latest visit say against a latest day in a room.

    Parameters
    ----------
    survey : Survey
    visits : sequence of Visit
        Those compared, oldest first.
    room : str
    """
    notes = latest_notes(visits[-1], survey)
    if notes:
        water = any(one.kind == "water" for one in notes)
        said = " ".join(one.quoted for one in notes)
        return Stop("noted", f"No latest day. {said}", water)
    doubt = room_covered(survey, visits, room) or machine_doubt(survey, visits[-1], room)
    if doubt:
        return Stop("noted", f"No latest day. {doubt}")
    limit = survey.room_limits.get(room, survey.limit)
    aired = recorded_air(visits, survey.loggers, room)
    if strange := no_room_air(aired):
        return Stop("record", f"No latest day: {strange}")
    damp = too_damp(aired, limit)
    damp = damp or damp_log(visits, limit, room)
    return Stop("air", f"No latest day: {damp}") if damp else NO_STOP
