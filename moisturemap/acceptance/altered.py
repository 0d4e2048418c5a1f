"""What a project file once held against the floor and no longer does.

Taking a record away, or making it drier, never turns a verdict towards MEETS without the reason
that says what was wrong with it; what was "entered twice" has a twin that is still there.
Method: ``docs/method/acceptance.md``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pandas as pd

from moisturemap.acceptance.evidence import Bench, JudgedTest, judge_test
from moisturemap.acceptance.record import entries_of
from moisturemap.acceptance.supersede import same
from moisturemap.survey import Survey
from moisturemap.survey.note_words import names_double, names_fault, names_mix_up


def altered_doubts(survey: Survey, judged: Sequence[JudgedTest], bench: Bench) -> list[str]:
    """Say which results against the floor were taken away or lowered for no reason of substance.

    Parameters
    ----------
    survey : Survey
        With ``former_tests``.
    judged : sequence of JudgedTest
        The tests as they are: a later valid one of the same place answers for an earlier.
    bench : Bench
        What the tests are judged by.
    """
    former = survey.former_tests
    if former.empty:
        return []
    told, why = former["told"].tolist(), former["altered_why"].map(str).tolist()
    tests = former.drop(columns=["told", "altered_why"]).reset_index(drop=True)
    entries = entries_of(replace(survey, tests=pd.DataFrame(tests)))
    found = []
    for sentence, reason, entry in zip(told, why, entries, strict=True):
        test = judge_test(entry, bench)
        named = names_fault(reason) or names_mix_up(reason)
        twice = names_double(reason) and any(same(one, test) for one in judged)
        if not test.stands_against or named or twice or _read_again(test, judged):
            continue
        found.append(
            f"{sentence} As first stored it speaks against the floor, and the reason names nothing"
            " that was wrong with it: test that place again at the same depth, or store the test"
            " once more and correct it with the reason"
        )
    return found


def _read_again(test: JudgedTest, judged: Sequence[JudgedTest]) -> bool:
    """Whether a valid test of the same place was read later."""
    return any(
        same(one, test)
        for one in judged
        if one.standing != "invalid" and one.read and test.read and one.read > test.read
    )


def changes_told(survey: Survey, reasons: Sequence[str]) -> tuple[str, ...]:
    """Return the sentences on what was changed that no reason begins with already."""
    return tuple(
        one for one in survey.changed_tests if not any(reason.startswith(one) for reason in reasons)
    )
