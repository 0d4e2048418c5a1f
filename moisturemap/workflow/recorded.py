"""What the records of tests and dates say while something can still be done about it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta

from moisturemap.acceptance import decide
from moisturemap.base_material import names_material
from moisturemap.files.setting import nearest
from moisturemap.scanning import Remark, remarks_on_units
from moisturemap.survey import Survey, Visit

LISTED = 6
"""Rooms named in one sentence before the rest is only counted."""

AHEAD = timedelta(days=1)
"""A date this far ahead of the clock of the computer is remarked: zones differ by less."""


def remarks_on_records(survey: Survey, now: datetime | None = None) -> list[Remark]:
    """Name tests that will not count, rooms unknown or unnamed bases, late dates, doubtful units.

    Parameters
    ----------
    survey : Survey
    now : datetime, optional
        With zone; the clock of the computer when left out.
    """
    now = now or datetime.now(UTC)
    return [
        *(Remark("problem", told, of) for of, told in dated_ahead(survey.visits, now)),
        *([Remark("problem", f"{survey.lost_record}.")] if survey.lost_record else []),
        *_unknown_rooms(survey),
        *_unnamed_bases(survey),
        *_not_valid(survey),
        *remarks_on_units(survey),
    ]


def dated_ahead(visits: Sequence[Visit], now: datetime | None = None) -> Iterator[tuple[str, str]]:
    """Name visits dated ahead of the clock.

    Parameters
    ----------
    visits : sequence of Visit
    now : datetime, optional
        With zone; the clock of the computer when left out.

    Yields
    ------
    tuple of str
        Id of the visit and the sentence.
    """
    now = now or datetime.now(UTC)
    for visit in visits:
        if visit.started is not None and visit.started > now + AHEAD:
            day = f"{visit.started:%Y-%m-%d}"
            yield (
                visit.id,
                f"Visit {visit.id} is dated {day}, ahead of the clock of this computer.",
            )


def _unknown_rooms(survey: Survey) -> Iterator[Remark]:
    if survey.tests.empty or "room" not in survey.tests:
        return
    known = [room.name for room in survey.plan.rooms]
    stated = survey.tests["room"].fillna("").astype(str)
    for name in dict.fromkeys(stated[(stated != "") & ~stated.isin(known)]):
        holes = dict.fromkeys(survey.tests.loc[stated == name, "hole"].astype(str))
        meant = nearest(name, known)
        hint = f"; did you mean {meant!r}?" if meant else "."
        told = f"Test {', '.join(holes)} is stated for {name!r}, and the plan has no such room"
        yield Remark("problem", told + hint, name)


def _unnamed_bases(survey: Survey) -> Iterator[Remark]:
    rooms = [room.name for room in survey.plan.rooms if not names_material(room.slab.base)]
    if rooms:
        more = [f"{len(rooms) - LISTED} more"] if len(rooms) > LISTED else []
        told = (
            f"Name the base of {', '.join([*rooms[:LISTED], *more])} (concrete slab, cement screed,"
            " calcium sulphate screed or timber deck): limits and tests go by it."
        )
        yield Remark("info", told, rooms[0])


def _not_valid(survey: Survey) -> Iterator[Remark]:
    """Name what makes tests invalid, each reason once."""
    if survey.tests.empty:
        return
    reasons: dict[str, list[str]] = {}
    for test in decide(survey).judged:
        for finding in test.findings:
            if finding.effect == "invalid":
                reasons.setdefault(finding.sentence, []).append(finding.hole or finding.test)
    for reason, holes in reasons.items():
        several = "Test" if len(holes) == 1 else "Tests"
        told = f"{several} {', '.join(dict.fromkeys(holes))} will not count: {reason}."
        yield Remark("warning", told, holes[0])
