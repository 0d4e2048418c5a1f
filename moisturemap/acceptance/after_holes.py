"""What the rules would still ask for, were the holes of a plan tested validly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pandas as pd

from moisturemap.acceptance.asked import Asked, asked_by
from moisturemap.acceptance.decide import DecideOptions, Decision, covers_of
from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.known import known_on, known_study
from moisturemap.acceptance.record import entries_of, method_named
from moisturemap.acceptance.result import Result
from moisturemap.acceptance.uncertainty import Uncertainty
from moisturemap.acceptance.verdict import TestVerdict
from moisturemap.survey import Survey
from moisturemap.zones import MappedVisit


def asked_after(
    survey: Survey,
    study: MappedVisit | None,
    decision: Decision,
    holes: Sequence[tuple[float, float]],
) -> Asked:
    """Return what the rules on number and place ask for, were holes tested validly.

    Parameters
    ----------
    survey : Survey
    study : MappedVisit or None
    decision : Decision
        Of the survey; what it was made with is used again.
    holes : sequence of (float, float)
        Places of the holes [m]; none for what is asked now.
    """
    known, mapped = known_on(survey, decision.as_of), known_study(study, decision.as_of)
    options = DecideOptions(units=str(decision.provenance.options["units"]))
    made = _tested(known, decision, holes) if holes else []
    return asked_by(covers_of(known, mapped, [*decision.judged, *made], decision.book, options))


def _tested(
    survey: Survey, decision: Decision, holes: Sequence[tuple[float, float]]
) -> list[JudgedTest]:
    """Return a valid test at each hole, by the method of the limit that holds there."""
    rows = []
    for number, (x, y) in enumerate(holes):
        room = survey.plan.room_at(x, y)
        limit = None if room is None else decision.limits.get(room.name)
        if room is None or limit is None:
            continue
        method = method_named(limit.method).key
        row = {"test": f"hole {number}", "x": x, "y": y, "room": room.name, "method": method}
        rows.append(row)
    entries = entries_of(replace(survey, tests=pd.DataFrame(rows))) if rows else ()
    passed, nothing = TestVerdict("meets", ""), TestVerdict("not judged", "")
    sure = Uncertainty(0.0, ())
    return [JudgedTest(one, Result(0.0), 0.0, sure, (), passed, nothing) for one in entries]
