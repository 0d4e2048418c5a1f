"""One result against the limit: guarded acceptance by a stated consumer's risk.

Decision rule: JCGM 106:2012 8.3.2: a result meets the limit when the chance that the true value
lies above it, given the result and its uncertainty, is at most the risk. Method:
``docs/method/acceptance.md``.
"""

from __future__ import annotations

from dataclasses import dataclass

from scipy.special import ndtr, ndtri

from moisturemap.acceptance.record import RH_METHODS, TestEntry, method_named
from moisturemap.acceptance.uncertainty import Uncertainty
from moisturemap.quantities import MVER_GRAMS_PER_LB, beside, spoken_figures, three_figures
from moisturemap.survey import Limit

VERDICTS = ("meets", "exceeds", "not proven", "not judged")

CONFLICTING = "not proven: conflicting evidence"
"""Verdict on a floor whose calibrated results contradict each other."""

USUAL_RISK = 0.05
"""Consumer's risk where neither document nor user states one: 5%, the usual choice of JCGM
106:2012 for a one-sided limit (guard factor 1.645)."""

GUARD_SOURCE = (
    "guarded acceptance, JCGM 106:2012 8.3.2; ISO/IEC 17025:2017 7.8.6; the Finnish guide RT 103333"
    " likewise takes the uncertainty off the limit"
)


@dataclass(frozen=True, slots=True)
class TestVerdict:
    """A test against the limit.

    Attributes
    ----------
    verdict : str
        One of ``VERDICTS``.
    why : str
        A sentence.
    chance_above : float or None
        Probability that the true value there exceeds the limit, from the uncertainty alone; what is
        allowed for an unchecked probe is no part of it.
    brief : str
        ``why`` without the chance, with the numbers that make it true; "" where it is the same.
    excess : float or None
        What results are ordered by, the gravest first: the chance were the result higher by what
        is allowed for the probe. No probability.
    """

    verdict: str
    why: str
    chance_above: float | None = None
    brief: str = ""
    excess: float | None = None

    @property
    def short(self) -> str:
        """Why in one line, with the numbers that make it true."""
        return self.brief or self.why


@dataclass(frozen=True, slots=True)
class Judged:
    """What is held against a limit.

    Attributes
    ----------
    raw : float
        As read, first unit of the method.
    value : float
        Corrected, and at service temperature where that is higher.
    spread : Uncertainty
    how : str
        How the value came from the reading, "" when it is as read.
    """

    raw: float
    value: float
    spread: Uncertainty
    how: str = ""


def limit_value(limit: Limit) -> float:
    """Return a limit in the first unit of its method."""
    if limit.unit.startswith("g/m") and method_named(limit.method).key == "mver":
        return limit.value / MVER_GRAMS_PER_LB
    return limit.value


def limit_words(limit: Limit, value: float | None = None) -> str:
    """Say a limit as its document states it, and in the unit judged by where that differs."""
    bound = limit_value(limit)
    if bound == limit.value:
        return f"the limit {bound:g}"
    unit = method_named(limit.method).units[0]
    return f"the limit {limit.value:g} {limit.unit}, {spoken_figures(bound, value)} {unit}"


def value_words(value: float, limit: Limit) -> str:
    """Write a result as tables have it, in a sentence with the limit it is held against."""
    bound = limit_value(limit)
    told = bound if bound == limit.value else float(spoken_figures(bound, value))
    return three_figures(value, told)


def risk_of(limit: Limit, risk: float) -> float:
    """Return the consumer's risk of a limit: that of its document, else the one given."""
    return risk if limit.risk_pct is None else limit.risk_pct / 100.0


def judge(entry: TestEntry, judged: Judged, limit: Limit | None, *, risk: float) -> TestVerdict:
    """Hold a result against the limit of its room.

    Exceeds when the value itself is above; meets when the chance of being above is at most the
    risk; between the two nothing is proven.

    Parameters
    ----------
    risk : float
        Consumer's risk, 0 to 0.5; 0.5 judges by the value alone.
    """
    refused = refusal(entry, limit)
    if refused or limit is None:
        return TestVerdict("not judged", refused)
    bound, value, unit = limit_value(limit), judged.value, entry.method.units[0]
    allowed, spread = risk_of(limit, risk), judged.spread
    shown = f"{value_words(value, limit)} {unit}" + (f" ({judged.how})" if judged.how else "")
    if entry.text("censored") == "above":
        verdict = "exceeds" if value >= bound else "not proven"
        return TestVerdict(verdict, f"at or above {shown}, the end of the scale", None)
    if entry.text("censored") == "below":
        return TestVerdict("not proven", f"at or below {shown}, the start of the scale", None)
    guard = -float(ndtri(allowed)) * spread.standard
    asked = spread.allowance + guard if allowed < 0.5 else 0.0
    chance = chance_above(value, spread, bound)
    excess = chance_above(value + spread.allowance, spread, bound)
    said = _chance_words(percent(chance, allowed), spread.allowance)
    stated = limit_words(limit, value)
    if value > bound:
        why = f"{shown} is above {stated}"
        return TestVerdict("exceeds", f"{why}{said}", chance, why, excess)
    more = f" and a probe not checked before and after for {spread.allowance:.2g} more"
    extra = more if spread.allowance else ""
    margin = f"{_distance(guard, bound - value - spread.allowance, bound)} {unit}{extra}"
    below = f"{_distance(bound - value, asked, bound)} {unit} below it"
    if value + asked > bound:
        why = (
            f"{shown} is too close to {stated} to prove anything: {below}, where its uncertainty"
            f" asks for {margin}"
        )
        accepted = said if spread.allowance else f"{said}, where {percent(allowed)} is accepted"
        return TestVerdict("not proven", f"{why}{accepted}", chance, why, excess)
    why = f"{shown} is within {stated} by its value alone"
    if asked:
        why = f"{shown} is within {stated}: {below}, where its uncertainty asks for {margin}"
    return TestVerdict("meets", f"{why}{said}", chance, why, excess)


def _distance(size: float, held: float, limit: float) -> str:
    """Write a distance as finely as the limit is read, on its side of what it is held against."""
    text = beside(size, held, decimals=1 if limit >= 10 else 2)
    return text.rstrip("0").rstrip(".")


def _chance_words(chance: str, allowance: float) -> str:
    """Say how likely a place is above the limit, and what is counted against it beside that."""
    if not allowance:
        return (
            "; chance that this place is really above the limit, going by the test's uncertainty:"
            f" {chance}"
        )
    return (
        "; chance that this place is really above the limit, going by the test's uncertainty alone:"
        f" {chance}; the {allowance:.2g} allowed for a probe not checked before and after is added"
        " against the floor and no part of that chance"
    )


def chance_above(value: float, spread: Uncertainty, bound: float) -> float:
    """Probability that the true value is above a bound, normal about the value."""
    return float(ndtr((value - bound) / max(spread.standard, 1e-9)))


def percent(chance: float, *bounds: float) -> str:
    """Say a probability in words, on its side of the bounds it is held against."""
    if chance < 0.001:
        return "under 0.1%"
    if chance > 0.999:
        return "over 99.9%"
    held = [100 * one for one in bounds]
    return f"{beside(100 * chance, *held, decimals=1 if chance < 0.1 or chance > 0.99 else 0)}%"


def refusal(entry: TestEntry, limit: Limit | None) -> str:
    """Why a test cannot be judged by a limit at all; "" when it can."""
    if limit is None:
        return "no limit is stated for this room; give the covering maker's limit with its document"
    meant = method_named(limit.method)
    if meant.quantity != entry.method.quantity:
        return (
            f"the limit is for {meant.quantity.label}, this is {entry.method.quantity.label}:"
            " different quantities, between which no conversion exists"
        )
    return ""


def contradicts(entry: TestEntry, value: float, limit: Limit | None) -> bool:
    """Whether a humidity not judged by a limit in %RH lies above it all the same."""
    if limit is None or entry.method.key not in RH_METHODS:
        return False
    return is_humidity(limit) and value > limit_value(limit)


def is_humidity(limit: Limit) -> bool:
    """Whether a limit is a relative humidity."""
    return method_named(limit.method).key in RH_METHODS
