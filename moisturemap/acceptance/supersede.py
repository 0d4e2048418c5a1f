"""Which results are one and the same place read again, and which of them still stand.

Method: ``docs/method/acceptance.md``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from moisturemap.acceptance.correction import hours
from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.record import RH_METHODS
from moisturemap.acceptance.verdict import TestVerdict
from moisturemap.base_material import CEMENT, is_fast, material_of
from moisturemap.survey.note_words import names_fault

SAME_SPOT_M = 0.35
"""Holes this near belong to one spot [m]; project choice: a hole and the one drilled beside it."""

SAME_DEPTH_MM = 5.0
"""Depths this near are one depth [mm]; project choice, the tape and the drill stop."""

SOON_HOURS = 72.0
"""A lower reading this soon after an earlier one needs a stated cause [h]; project choice: no slab
dries noticeably at depth in three days."""


FALL_PCT, FALL_PCT_PER_DAY = 3.0, 0.4
"""Fall of the humidity at depth that two probes [%RH] and drying [%RH a day] explain; project
choice: the fastest of the drying model at 40% of 100 mm is 0.4."""

LEAST_LEFT_PER_DAY = 0.9
"""Share of a result that is no humidity which a day of drying leaves at least; project choice: a
heated screed loses some 5% of its water a day."""

UNHEATED_LEFT_PER_DAY = 0.97
"""The same of samples of cement screed and concrete that no heating dries; project choice: a full
section of 40 mm with 40 mm2/day loses some 2% a day near 2 CM-% (first term of one-face drying)."""

SAMPLED = ("carbide", "oven-dry")
"""Methods that look at a sample of the layer."""

NEVER = datetime.min.replace(tzinfo=UTC)
"""What was never read is older than all that was."""


def supersede(tests: Sequence[JudgedTest]) -> list[JudgedTest]:
    """Mark results that a later valid one at the same place, depth and method replaces.

    Names do not count: two holes "1" are two holes. A result that was itself replaced replaces
    another only where it meets: retests that creep away from a hole that failed leave it standing.
    """
    marked: dict[int, JudgedTest] = {}
    replacing: list[JudgedTest] = []
    # the latest first: whether a retest stands is known before what it may replace is looked at
    for place in sorted(range(len(tests)), key=lambda one: tests[one].read or NEVER, reverse=True):
        test = tests[place]
        found = _marked(test, [later for later in replacing if _replaces(later, test)])
        marked[place] = found
        if test.standing != "invalid" and (not found.superseded or test.verdict.verdict == "meets"):
            replacing.append(test)
    return [marked[place] for place in range(len(tests))]


def _marked(test: JudgedTest, later: Sequence[JudgedTest]) -> JudgedTest:
    causes = [_cause(other, test) for other in later]
    good = [(other, cause) for other, cause in zip(later, causes, strict=True) if cause is not None]
    if good:
        other, cause = max(good, key=lambda pair: str(pair[0].read))
        named = other.entry.label
        why = f"a later valid reading of the same place, {named}, takes its place{cause}"
        return replace(test, superseded=True, verdict=TestVerdict("not judged", why))
    if later:
        return replace(test, note=_both_stand(test, later))
    return test


def _both_stand(test: JudgedTest, later: Sequence[JudgedTest]) -> str:
    if all(_same_seal(one, test) for one in later):
        return (
            "read lower later under the same hood: a sealed hood does not fall, its seal or its"
            " temperature changed: both stand; place the hood anew, or state what was wrong with"
            " the earlier reading (reread_reason)"
        )
    span = min(hours(test.read, one.read) for one in later if test.read and one.read)
    return (
        f"read again {span:.0f} h later and lower than drying explains, and no cause is"
        " stated that names what was wrong with the earlier one (reread_reason): both stand"
    )


def _cause(later: JudgedTest, earlier: JudgedTest) -> str | None:
    """Why a later reading may replace an earlier one; None when a cause is needed and missing."""
    lower = (later.value or 0.0) < (earlier.value or 0.0)
    if not lower or not (_same_seal(later, earlier) or _too_quick(later, earlier)):
        return ""
    reason = later.entry.text("reread_reason").strip()
    return f" ({reason})" if names_fault(reason) else None


def _too_quick(later: JudgedTest, earlier: JudgedTest) -> bool:
    """Whether no slab dries from the earlier result, as read, to the later in between."""
    if later.read is None or earlier.read is None:
        return False
    days = hours(earlier.read, later.read) / 24.0
    if days <= SOON_HOURS / 24.0:
        return True
    if earlier.entry.method.key not in RH_METHODS:
        left = float(_left_per_day(earlier) ** days)
        return (later.value or 0.0) < left * (earlier.value or 0.0)
    if later.result.value is None or earlier.result.value is None:
        return False
    return earlier.result.value - later.result.value > FALL_PCT + FALL_PCT_PER_DAY * days


def _left_per_day(test: JudgedTest) -> float:
    """Share of a result that is no humidity which a day of drying leaves at least."""
    slab, sampled = test.entry.slab, test.entry.method.key in SAMPLED
    slow = sampled and not slab.heated and material_of(slab.base) == CEMENT
    return UNHEATED_LEFT_PER_DAY if slow and not is_fast(slab.base) else LEAST_LEFT_PER_DAY


def _same_seal(later: JudgedTest, earlier: JudgedTest) -> bool:
    """Whether a hood was not placed anew between two readings: it can only rise to its balance."""
    placed = later.entry.moment("placed")
    hood = later.entry.method.key == "hood-rh"
    return hood and placed is not None and earlier.read is not None and placed < earlier.read


def _replaces(later: JudgedTest, earlier: JudgedTest) -> bool:
    if later is earlier or later.read is None or earlier.read is None or later.value is None:
        return False
    if later.age_days is None or later.age_days < 0.0:
        return False
    return later.read > earlier.read and same(later, earlier)


def same(one: JudgedTest, other: JudgedTest) -> bool:
    """Whether two results are of the same place, room, depth and method."""
    first, second = one.entry, other.entry
    if first.method.key != second.method.key or first.place is None or second.place is None:
        return False
    depth, level = first.number("depth_mm"), second.number("depth_mm")
    if (depth is None) != (level is None):
        return False
    level_with = depth is None or level is None or abs(depth - level) <= SAME_DEPTH_MM
    near = float(np.hypot(*np.subtract(first.place, second.place))) <= SAME_SPOT_M
    return near and level_with and first.room is not None and first.room is second.room
