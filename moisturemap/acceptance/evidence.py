"""Every test with its standing, its result, its uncertainty and its verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import pandas as pd

from moisturemap.acceptance.record import TestEntry
from moisturemap.acceptance.result import Result, result_of
from moisturemap.acceptance.rule import RuleBook
from moisturemap.acceptance.uncertainty import Uncertainty, uncertainty_of
from moisturemap.acceptance.validity import Finding, examine, standing
from moisturemap.acceptance.verdict import TestVerdict, judge
from moisturemap.survey import Limit

TEST_VERDICT_COLUMNS = (
    "test",
    "hole",
    "room",
    "x",
    "y",
    "method",
    "depth_mm",
    "value",
    "unit",
    "uncertainty",
    "standing",
    "limit",
    "verdict",
    "why",
    "chance_above",
    "read",
    "instrument",
    "reasons",
)
"""``value`` and ``uncertainty`` (expanded, k = 2) in ``unit``; ``limit`` is NaN where the test is
not judged; ``reasons`` are sentences joined by new lines."""

FINDING_COLUMNS = ("test", "hole", "rule", "effect", "sentence", "document", "source", "sureness")


@dataclass(frozen=True)
class JudgedTest:
    """One test, judged.

    Attributes
    ----------
    entry : TestEntry
    result : Result
    spread : Uncertainty
    findings : tuple of Finding
    verdict : TestVerdict
    superseded : bool
        True when the same hole was read validly by the same method and depth later.
    """

    entry: TestEntry
    result: Result
    spread: Uncertainty
    findings: tuple[Finding, ...]
    verdict: TestVerdict
    superseded: bool = False

    @property
    def standing(self) -> str:
        """Valid, valid with remarks, or invalid."""
        return standing(self.findings)

    @property
    def counts(self) -> bool:
        """Whether the test is valid and the latest of its kind at its place."""
        return self.standing != "invalid" and not self.superseded

    @property
    def for_limit(self) -> bool:
        """Whether its depth is the one the limit is meant for."""
        return not any(finding.effect == "not-for-limit" for finding in self.findings)

    @property
    def judged(self) -> bool:
        """Whether it was held against the limit."""
        return self.counts and self.verdict.verdict != "not judged"


def judge_tests(
    entries: Sequence[TestEntry], limits: dict[str, Limit | None], book: RuleBook, *, guard: bool
) -> tuple[JudgedTest, ...]:
    """Examine every test and hold the valid ones against the limit of their room."""
    examined = [_judge_test(entry, limits, book, guard) for entry in entries]
    return tuple(_supersede(examined))


def _judge_test(
    entry: TestEntry, limits: dict[str, Limit | None], book: RuleBook, guard: bool
) -> JudgedTest:
    result = result_of(entry)
    findings = list(examine(entry, book))
    if result.value is None:
        sentence = "there is no result, and none follows from masses"
        findings.append(Finding(entry.key, entry.hole, "result", "invalid", sentence))
    findings += [Finding(entry.key, entry.hole, "result", "remark", s) for s in result.remarks]
    value = result.value if result.value is not None else 0.0
    spread = uncertainty_of(entry, value, book)
    limit = limits.get(entry.room.name if entry.room else "", limits.get(""))
    judged = JudgedTest(entry, result, spread, tuple(findings), TestVerdict("not judged", ""))
    if judged.standing == "invalid":
        return replace(judged, verdict=TestVerdict("not judged", "the test is invalid"))
    verdict = judge(entry, result, spread, limit, guard=guard)
    if not judged.for_limit and verdict.verdict != "not judged":
        why = "its depth is not the one the limit is meant for; it serves the depth profile"
        verdict = TestVerdict("not judged", why)
    return replace(judged, verdict=verdict)


def _supersede(tests: Sequence[JudgedTest]) -> list[JudgedTest]:
    """Mark valid tests that a later valid one at the same hole, method and depth replaces."""
    latest: dict[tuple[object, ...], JudgedTest] = {}
    for test in tests:
        key, read = _same(test), test.entry.moment("read")
        if test.standing == "invalid" or read is None:
            continue
        known = latest.get(key)
        known_read = known.entry.moment("read") if known else None
        if known_read is None or read > known_read:
            latest[key] = test
    marked = []
    for test in tests:
        last = latest.get(_same(test))
        if test.standing == "invalid" or last is None or last is test:
            marked.append(test)
            continue
        why = "a later valid reading of the same hole takes its place"
        marked.append(replace(test, superseded=True, verdict=TestVerdict("not judged", why)))
    return marked


def _same(test: JudgedTest) -> tuple[object, ...]:
    entry = test.entry
    name = entry.hole or entry.place or entry.key
    return entry.method.key, name, entry.number("depth_mm")


def tests_table(tests: Sequence[JudgedTest], limits: dict[str, Limit | None]) -> pd.DataFrame:
    """List the tests; columns ``TEST_VERDICT_COLUMNS``."""
    rows = []
    for test in tests:
        entry = test.entry
        room = entry.room.name if entry.room else ""
        limit = limits.get(room)
        place = entry.place or (float("nan"), float("nan"))
        rows.append(
            (
                entry.key,
                entry.hole,
                room,
                *place,
                entry.method.key,
                entry.number("depth_mm"),
                test.result.value,
                entry.method.units[0],
                test.spread.expanded,
                test.standing,
                limit.value if limit and test.judged else float("nan"),
                test.verdict.verdict,
                test.verdict.why,
                test.verdict.chance_above,
                entry.moment("read"),
                entry.text("instrument"),
                "\n".join(finding.sentence for finding in test.findings),
            )
        )
    return pd.DataFrame(rows, columns=list(TEST_VERDICT_COLUMNS))


def findings_table(tests: Sequence[JudgedTest]) -> pd.DataFrame:
    """List every finding with the source of its rule; columns ``FINDING_COLUMNS``."""
    rows = [
        tuple(getattr(finding, name) for name in FINDING_COLUMNS)
        for test in tests
        for finding in test.findings
    ]
    return pd.DataFrame(rows, columns=list(FINDING_COLUMNS))
