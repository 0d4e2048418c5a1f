"""What was recorded and not judged, and why: stands beside every verdict."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from moisturemap.acceptance.evidence import JudgedTest

UNJUDGED_COLUMNS = ("test", "hole", "room", "method", "depth_mm", "value", "unit", "read", "why")
"""``value`` corrected where the probe was checked; ``why`` a sentence."""


def unjudged_table(tests: Sequence[JudgedTest]) -> pd.DataFrame:
    """List the tests that do not speak for the floor; columns ``UNJUDGED_COLUMNS``."""
    rows = [_row(test) for test in tests if not test.judged]
    return pd.DataFrame(rows, columns=list(UNJUDGED_COLUMNS))


def _row(test: JudgedTest) -> tuple[object, ...]:
    entry = test.entry
    why = why_not_judged(test)
    if test.stands_against:
        why += f". It stands against the floor all the same: {test.against.why}"
    return (
        entry.key,
        entry.hole,
        entry.room.name if entry.room else "",
        entry.method.key,
        entry.number("depth_mm"),
        test.value,
        entry.method.units[0],
        entry.moment("read"),
        why,
    )


def reasons_not_judged(test: JudgedTest) -> tuple[str, ...]:
    """Say each reason why a test does not speak for the floor.

    Parameters
    ----------
    test : JudgedTest
        One that is not judged.
    """
    invalid = tuple(one.sentence for one in test.findings if one.effect == "invalid")
    if test.standing == "invalid" and not test.superseded:
        return invalid
    why = test.verdict.why or "not judged"
    return (f"{why}; it was not valid by itself: {'; '.join(invalid)}" if invalid else why,)


def why_not_judged(test: JudgedTest, reasons: Sequence[str] = ()) -> str:
    """Say in one text why a test does not speak for the floor.

    Parameters
    ----------
    test : JudgedTest
        One that is not judged.
    reasons : sequence of str, optional
        Some of its reasons; all by default.
    """
    told = "; ".join(reasons or reasons_not_judged(test))
    invalid = test.standing == "invalid" and not test.superseded
    return f"not valid: {told}" if invalid else told
