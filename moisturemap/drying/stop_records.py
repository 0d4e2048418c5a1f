"""What rooms, machines, their logs and the log of the air say against drying going on as it did.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from moisturemap.drying.damp_air import too_damp
from moisturemap.drying.running_words import running_words
from moisturemap.survey import Limit, Survey, Visit
from moisturemap.survey.drying_note_words import note_kind
from moisturemap.survey.harmless_note import left_open, strange_words

STOOD_STILL = timedelta(days=2)
"""A machine whose log shows no work for so long before the latest visit stands still (our
choice)."""


def room_covered(survey: Survey, visits: Sequence[Visit], room: str) -> str:
    """Say that a room was covered while it was followed; "" where it was not.

    Parameters
    ----------
    survey : Survey
    visits : sequence of Visit
        Oldest first.
    room : str
    """
    first, latest = visits[0].started, visits[-1].started
    slab = next((one.slab for one in survey.plan.rooms if one.name == room), None)
    if first is None or latest is None or slab is None or slab.covered is None:
        return ""
    if slab.covered <= first.date() or not slab.covered_on(latest.date()):
        return ""
    return (
        f"{room} was covered on {slab.covered:%Y-%m-%d}, and under a covering a floor hardly dries:"
        " count again from visits after that."
    )


def machine_doubt(survey: Survey, visit: Visit, room: str) -> str:
    """Say that a machine of the latest visit may not work; "" where nothing says so.

    A note that is not made of words for a machine at work has to be cleared up by hand.

    Parameters
    ----------
    survey : Survey
    visit : Visit
        The latest.
    room : str
        Machines of other rooms do not count.
    """
    table = survey.equipment[survey.equipment["visit"] == visit.id]
    names = (running_words("machines"), *table["machine"], *(one.name for one in survey.plan.rooms))
    for machine, x, y, text in table[["machine", "x", "y", "note"]].itertuples(index=False):
        note = left_open(str(text)) if isinstance(text, str) else ""
        there = survey.plan.room_at(x, y)
        if there is not None and there.name != room:
            continue
        if note and (note_kind(note) or strange_words(note, map(str, names))):
            return (
                f"The note beside machine {machine} on {visit.id} says {note!r}, which may mean"
                " that it does not dry the floor as before: clear it up in the note, or count again"
                " from visits after it."
            )
    return _stood_still(survey, visit, room)


def _stood_still(survey: Survey, visit: Visit, room: str) -> str:
    """Say that the log of a machine that worked shows no work before the latest visit."""
    end = visit.started
    if end is None:
        return ""
    for log in survey.machine_logs:
        if log.room not in ("", room):
            continue
        for quantity in ("run_hours", "energy_kwh", "litres"):
            lately = log.total(quantity, end - STOOD_STILL, end)
            before = log.total(quantity, log.entries[0].when - STOOD_STILL, end - STOOD_STILL)
            if lately == 0 and before:
                return (
                    f"The log of machine {log.machine} shows no work in the {STOOD_STILL.days} days"
                    f" before {visit.id}, and it worked before: count again from visits after it"
                    " runs."
                )
    return ""


def damp_log(visits: Sequence[Visit], limit: Limit | None, room: str) -> str:
    """Say that the log of the air since the visit before is too damp; "" where it is not.

    Parameters
    ----------
    visits : sequence of Visit
        Oldest first.
    limit : Limit or None
        Of the room.
    room : str
    """
    latest = visits[-1]
    before = visits[-2].started if len(visits) > 1 else None
    known = [
        one
        for one in latest.acclimation
        if one.room in ("", room) and one.air_temperature_c is not None
        if one.air_rh_pct is not None and (before is None or one.when > before)
    ]
    if not known:
        return ""
    slab = [one.slab_temperature_c for one in known if one.slab_temperature_c is not None]
    logged = replace(
        latest,
        id=f"{latest.id} (log)",
        air_temperature_c=sum(one.air_temperature_c or 0.0 for one in known) / len(known),
        air_rh_pct=sum(one.air_rh_pct or 0.0 for one in known) / len(known),
        slab_temperature_c=sum(slab) / len(slab) if slab else latest.slab_temperature_c,
    )
    return too_damp((*visits[:-1], logged), limit)
