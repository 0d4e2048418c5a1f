"""Every test with its standing, its result, its uncertainty and its verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import pandas as pd

from moisturemap.acceptance.plainly_wet import wet_by_another_method
from moisturemap.acceptance.record import TestEntry
from moisturemap.acceptance.result import Result, result_of
from moisturemap.acceptance.rule import RuleBook
from moisturemap.acceptance.uncertainty import Uncertainty, uncertainty_of
from moisturemap.acceptance.validity import Finding, examine, standing
from moisturemap.acceptance.verdict import (
    Judged,
    TestVerdict,
    contradicts,
    is_humidity,
    judge,
    limit_words,
    value_words,
)
from moisturemap.slab import humidity_per_degree
from moisturemap.survey import TEST_METHODS, Limit

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
    "raw",
    "correction",
    "at_service",
    "counts_against",
)
"""``value`` is held against the limit: corrected, and at service temperature where that is higher.
``raw`` is as read, ``correction`` what the checks of the probe add, ``at_service`` the value in
service, NaN where not known; ``uncertainty`` is expanded (k = 2); all in ``unit``. ``limit`` is NaN
where the test is not judged; ``reasons`` are sentences joined by new lines; ``counts_against`` is
``exceeds``, ``not proven``, ``conflict`` or ""."""

FINDING_COLUMNS = ("test", "hole", "rule", "effect", "sentence", "document", "source", "sureness")

AT_DEPTH_METHODS = ("in-situ-rh", "sleeve-rh")
"""Methods that read the humidity at a depth; results are also stated at service temperature."""

AGAINST = ("exceeds", "conflict", "not proven")
"""How a result may stand against a floor, the gravest first."""


@dataclass(frozen=True)
class JudgedTest:
    """One test, judged.

    Attributes
    ----------
    entry : TestEntry
    result : Result
        As read.
    value : float or None
        Corrected, and at service temperature where that is higher; what is held against the limit.
    spread : Uncertainty
    findings : tuple of Finding
    verdict : TestVerdict
        Of a test that may speak for the floor; ``not judged`` else.
    against : TestVerdict
        What its value alone says, whatever its standing: a result above the limit is not waved
        away because its record is poor.
    at_service : float or None
        Corrected result at service temperature [%RH]; None where either temperature is not known.
    fresh : bool
        Whether it is young enough on the day of the decision.
    age_days : float or None
        By the calendar; below zero where it was read after the day of the decision.
    superseded : bool
        True when the same place was validly read again later by the same method and depth.
    note : str
        What else is to be said of it.
    plain : Uncertainty or None
        Uncertainty as if it were valid, of a test that is not.
    """

    entry: TestEntry
    result: Result
    value: float | None
    spread: Uncertainty
    findings: tuple[Finding, ...]
    verdict: TestVerdict
    against: TestVerdict
    at_service: float | None = None
    fresh: bool = True
    age_days: float | None = None
    superseded: bool = False
    note: str = ""
    plain: Uncertainty | None = None

    @property
    def read(self) -> datetime | None:
        """Time of the reading."""
        return self.entry.moment("read")

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
        """Whether it may speak for the floor: valid, latest, fresh, held against the limit."""
        return self.counts and self.fresh and self.verdict.verdict != "not judged"

    @property
    def stands_against(self) -> str:
        """How its value stands against the floor, one of ``AGAINST``, or ""."""
        found = self.against.verdict
        return "" if self.superseded or found not in AGAINST else found


@dataclass(frozen=True)
class Bench:
    """What tests are judged by.

    Attributes
    ----------
    limits : dict of str to Limit or None
        By room.
    book : RuleBook
    risk : float
        Consumer's risk where the document states none.
    as_of : datetime
        Day of the decision.
    """

    limits: dict[str, Limit | None]
    book: RuleBook
    risk: float
    as_of: datetime


def judge_test(entry: TestEntry, bench: Bench) -> JudgedTest:
    """Examine one test and hold it against the limit of its room."""
    result = result_of(entry)
    findings = list(examine(entry, bench.book))
    if result.value is None:
        sentence = "there is no result, and none follows from masses"
        findings.append(Finding(entry.key, entry.hole, "result", "invalid", sentence))
    findings += [Finding(entry.key, entry.hole, "result", "remark", s) for s in result.remarks]
    valid = standing(findings) != "invalid"
    widened = tuple(bench.book.rules[f.rule] for f in findings if f.effect == "widen")
    raw = result.value if result.value is not None else 0.0
    spread = uncertainty_of(entry, raw, bench.book, widened, valid=valid)
    made, at_service = _judged_value(entry, raw, spread)
    age = _age(entry, bench.as_of)
    oldest = min((rule.at_most_days for rule in bench.book.ages.values()), default=float("inf"))
    fresh = age is not None and 0.0 <= age <= oldest
    judged = JudgedTest(
        entry,
        result,
        None if result.value is None else made.value,
        spread,
        tuple(findings),
        TestVerdict("not judged", ""),
        TestVerdict("not judged", ""),
        at_service,
        fresh,
        age,
        plain=None if valid else uncertainty_of(entry, raw, bench.book, widened),
    )
    return _with_verdicts(judged, made, bench)


def _with_verdicts(judged: JudgedTest, made: Judged, bench: Bench) -> JudgedTest:
    """Hold a result against the limit of its room; one of no room against the limit of each.

    Whose floor it is of nobody knows, so it speaks against the job where it does against any room.
    """
    room = judged.entry.room
    if room is not None:
        return _against_limit(judged, made, bench.limits.get(room.name), bench)
    known = dict.fromkeys(bench.limits.values())
    found = [_against_limit(judged, made, limit, bench) for limit in known]
    return min(found, key=lambda one: (*AGAINST, "").index(one.stands_against))


def _against_limit(
    judged: JudgedTest, made: Judged, limit: Limit | None, bench: Bench
) -> JudgedTest:
    entry = judged.entry
    if judged.value is None:
        return replace(judged, verdict=TestVerdict("not judged", "there is no result"))
    said = judge(entry, made, limit, risk=bench.risk)
    against = said if said.verdict != "meets" else TestVerdict("not judged", "")
    if said.verdict != "not judged" and not judged.for_limit:
        why = "its depth is not the one the limit is meant for; it serves the depth profile"
        said = against = TestVerdict("not judged", why)
    if said.verdict == "not judged" and contradicts(entry, judged.value, limit) and limit:
        words = f"{value_words(judged.value, limit)} %RH by {entry.method.quantity.label}"
        words += (
            f" lies above {limit_words(limit)}; that limit is for {_meant(limit)}, so this counts"
            " against the floor and does not judge it"
        )
        against = TestVerdict("conflict", words)
    if said.verdict == "not judged" and against.verdict == "not judged" and limit:
        against = wet_by_another_method(entry, judged.value, limit) or against
    if against.verdict == "not judged" and limit and _may_be_shallow(entry, judged.value, limit):
        why = (
            f"{value_words(judged.value, limit)} %RH at a depth, thickness or room that is not"
            f" known: nearer to the surface a slab reads up to {SHALLOW_PCT:g} %RH less than what"
            " a covering will face"
        )
        against = TestVerdict("not proven", why)
    if judged.standing == "invalid":
        said = TestVerdict("not judged", "the test is invalid")
    elif not judged.fresh and said.verdict != "not judged":
        said = TestVerdict("not judged", _stale(judged))
    return replace(judged, verdict=said, against=against)


def _may_be_shallow(entry: TestEntry, value: float, limit: Limit) -> bool:
    """Whether a humidity read at no known depth could hide a slab above the limit."""
    known = entry.number("depth_mm") is not None and entry.thickness_mm and entry.room is not None
    if known or entry.method.key not in AT_DEPTH_METHODS or not is_humidity(limit):
        return False
    return value + SHALLOW_PCT > limit.value


SHALLOW_PCT = 15.0
"""How much less a slab may read near its surface than once sealed [%RH]; project choice: the drying
model gives 13 for a tenth of the thickness of a slab drying towards 50 %RH."""


def _meant(limit: Limit) -> str:
    return f"{TEST_METHODS[limit.method].quantity.label} at its own depth"


def _stale(judged: JudgedTest) -> str:
    if judged.age_days is None:
        return "the time of the reading is not stated, so its age is not known"
    if judged.age_days < 0:
        return "it was read after the day of the decision"
    return f"it is {judged.age_days:.0f} days old on the day of the decision: read it again"


def _age(entry: TestEntry, as_of: datetime) -> float | None:
    """Return the days from the reading to the decision, by the calendar [days].

    Below zero where any of its readings was taken afterwards.
    """
    read, last = entry.moment("read"), entry.latest("second_read") or entry.moment("read")
    if read is None or last is None:
        return None
    if max(read, last) > as_of:
        return (as_of - max(read, last)).total_seconds() / 86_400.0
    return float((as_of.date() - read.date()).days)


def _judged_value(entry: TestEntry, raw: float, spread: Uncertainty) -> tuple[Judged, float | None]:
    """Correct a reading and carry it to service temperature; return what is judged."""
    added = spread.correction.added if spread.correction is not None else 0.0
    corrected = raw + added
    how = [f"{added:+.2f} by the checks"] if abs(added) >= 0.05 else []
    if entry.number("correction"):
        how.append(f"a correction of {entry.number('correction'):+g} is in it")
    value, at_service = corrected, None
    service = entry.service.temperature_c
    if service is not None and entry.method.key in AT_DEPTH_METHODS:
        rise = service - entry.concrete_c if entry.concrete_c is not None else LARGEST_RISE_C
        per_degree = 100.0 * humidity_per_degree(min(max(corrected, 0.0), 100.0) / 100.0)
        if entry.concrete_c is not None:
            at_service = min(100.0, corrected + per_degree * rise)
        warmed = corrected + per_degree * min(max(rise, 0.0), LARGEST_RISE_C)
        if warmed > corrected:
            value = max(corrected, min(100.0, warmed))
            how.append(f"{value - corrected:+.2f} for {service:g} °C in service")
    told = ", ".join([f"{raw:.5g} as read", *how]) if how else ""
    return Judged(raw, value, spread, told), at_service


LARGEST_RISE_C = 5.5
"""Most that a result is carried up to service temperature [C]: farther off no test is valid; taken
too where the temperature of the concrete is not stated."""


def tests_table(tests: Sequence[JudgedTest], limits: dict[str, Limit | None]) -> pd.DataFrame:
    """List the tests; columns ``TEST_VERDICT_COLUMNS``."""
    return pd.DataFrame(
        [_test_row(test, limits) for test in tests], columns=list(TEST_VERDICT_COLUMNS)
    )


def _test_row(test: JudgedTest, limits: dict[str, Limit | None]) -> tuple[object, ...]:
    entry, nothing = test.entry, float("nan")
    room = entry.room.name if entry.room else ""
    limit = limits.get(room)
    added = test.spread.correction.added if test.spread.correction is not None else nothing
    return (
        entry.key,
        entry.hole,
        room,
        *(entry.place or (nothing, nothing)),
        entry.method.key,
        entry.number("depth_mm"),
        test.value,
        entry.method.units[0],
        test.spread.expanded,
        test.standing,
        limit.value if limit and test.judged else nothing,
        test.verdict.verdict,
        test.verdict.why,
        test.verdict.chance_above,
        entry.moment("read"),
        entry.text("instrument"),
        "\n".join([*(finding.sentence for finding in test.findings), *filter(None, [test.note])]),
        test.result.value,
        added,
        nothing if test.at_service is None else test.at_service,
        test.stands_against,
    )


def findings_table(tests: Sequence[JudgedTest]) -> pd.DataFrame:
    """List every finding with the source of its rule; columns ``FINDING_COLUMNS``."""
    rows = [
        tuple(getattr(finding, name) for name in FINDING_COLUMNS)
        for test in tests
        for finding in test.findings
    ]
    return pd.DataFrame(rows, columns=list(FINDING_COLUMNS))
