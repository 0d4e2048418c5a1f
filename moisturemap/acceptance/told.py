"""What is said beside a verdict and does not decide it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.known import known_on, said_of_covered, said_of_later
from moisturemap.acceptance.machines import machines_told
from moisturemap.acceptance.noted import notes_beside
from moisturemap.survey import USED_FLAGS, Survey
from moisturemap.zones import MappedVisit, unread_parts
from moisturemap.zones.other_meter import meters_told

UNREAD_SHARE, UNREAD_M2 = 0.01, 0.25
"""A part of a room that nobody read is told from this share of it and this area on; project
choice."""


def told_beside(
    survey: Survey,
    study: MappedVisit | None,
    judged: Sequence[JudgedTest],
    verdict: str,
    as_of: datetime,
) -> tuple[str, ...]:
    """Return what accompanies the verdict on a floor, in sentences.

    Parameters
    ----------
    survey : Survey
    study : MappedVisit or None
        The map beside the tests.
    judged : sequence of JudgedTest
    verdict : str
        Of the floor.
    as_of : datetime
        Day of the decision, with zone.
    """
    told = (*said_of_later(survey, as_of), *said_of_covered(judged))
    told += meters_told(known_on(survey, as_of), study)
    if verdict != "meets":
        return told
    known = known_on(survey, as_of)
    return (
        *told,
        *_remarks(judged),
        *notes_beside(known, judged),
        *machines_told(known, judged),
        *_unread(study),
    )


def _remarks(judged: Sequence[JudgedTest]) -> tuple[str, ...]:
    """Return the remarks on the tests by which a floor meets its limit, each rule once."""
    told: dict[str, tuple[str, list[str]]] = {}
    for test in judged:
        for one in test.findings if test.judged else ():
            if one.effect == "remark":
                names = told.setdefault(one.rule, (one.sentence, []))[1]
                names += [] if test.entry.label in names else [test.entry.label]
    return tuple(
        f"with a remark on {', '.join(names)}: {sentence}" for sentence, names in told.values()
    )


def _unread(study: MappedVisit | None) -> tuple[str, ...]:
    """Return the parts of rooms that nobody read and that are too small to ask a test."""
    if study is None:
        return ()
    read = study.readings[study.readings["flag"].isin(USED_FLAGS)].dropna(subset=["x", "y"])
    places = read[["x", "y"]].to_numpy(dtype=float)
    parts = unread_parts(study.survey.plan, places, share=UNREAD_SHARE, least_m2=UNREAD_M2)
    centres = [one.part.representative_point() for one in parts]
    return tuple(
        f"{one.words}, around ({at.x:.1f}, {at.y:.1f})"
        for one, at in zip(parts, centres, strict=True)
    )
