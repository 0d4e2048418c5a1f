"""What contradicts itself in evidence and dates, said before the finding."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from moisturemap.investigation.answers import Answers
from moisturemap.investigation.cause import CAUSES
from moisturemap.investigation.clue import Clue
from moisturemap.investigation.history_clues import of_no_effect

NOT_USED = {
    "covered": "The covering is dated {day}, after the latest day of the survey, {latest}: it"
    " is not used, as what came later did not make what was read.",
    "first_fault": "The first fault is dated {day}, after the latest day of the survey, {latest}:"
    " it is not used, as what came later did not make what was read.",
    "repaired": "The repair is dated {day}, after the latest day of the survey, {latest}: it is not"
    " used, as what came later did not make what was read.",
}
"""What is said of a day after the readings, by question."""


DEPTHS = "The readings at depth are explained better by another cause."


def contradictions(clues: Sequence[Clue]) -> Iterator[str]:
    """Name causes that were found and that other evidence speaks against.

    Parameters
    ----------
    clues : sequence of Clue
    """
    for cause, about in CAUSES.items():
        found = [clue for clue in clues if cause in clue.finds]
        against = [clue for clue in clues if clue.mark(cause) == "against"]
        if not found or not against:
            continue
        finds = " ".join(clue.sentence for clue in found)
        told = [DEPTHS if clue.kind == "depth" else clue.sentence for clue in against]
        others = " ".join(dict.fromkeys(told))
        yield " ".join(
            (
                f"Evidence contradicts on {about.words}.",
                f"Found: {finds}",
                f"Against it: {others}",
                "It stays open until one of them is shown to be wrong.",
            )
        )


def dates_not_used(answers: Answers, latest: date | None) -> Iterator[str]:
    """Name days that cannot have shaped what was read.

    Parameters
    ----------
    answers : Answers
    latest : date or None
        Latest day of the survey.
    """
    for key, day in answers.later.items():
        yield NOT_USED[key].format(day=day.isoformat(), latest=latest)
    flood = answers.get("flood")
    if isinstance(flood, date) and answers.event("flood", latest) is None:
        yield of_no_effect(flood)
