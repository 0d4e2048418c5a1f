"""One valid test against the limit."""

from __future__ import annotations

from dataclasses import dataclass

from scipy.special import ndtr

from moisturemap.acceptance.record import TestEntry, method_named
from moisturemap.acceptance.result import Result
from moisturemap.acceptance.uncertainty import COVERAGE_FACTOR, Uncertainty
from moisturemap.quantities import MVER_GRAMS_PER_LB
from moisturemap.survey import Limit

VERDICTS = ("meets", "exceeds", "not proven", "not judged")

GUARD_SOURCE = (
    "guard band as in the Finnish guide RT 103333, which takes the uncertainty off the limit; the"
    " decision rule of ISO/IEC 17025:2017 7.8.6"
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
        Probability that the true value there exceeds the limit, from the uncertainty alone.
    """

    verdict: str
    why: str
    chance_above: float | None = None


def limit_value(limit: Limit) -> float:
    """Return a limit in the first unit of its method."""
    if limit.unit.startswith("g/m") and method_named(limit.method).key == "mver":
        return limit.value / MVER_GRAMS_PER_LB
    return limit.value


def judge(
    entry: TestEntry, result: Result, spread: Uncertainty, limit: Limit | None, *, guard: bool
) -> TestVerdict:
    """Hold a valid test against the limit of its room.

    Meets when result plus uncertainty is at or below the limit; exceeds when the result itself is
    above; between the two nothing is proven.
    """
    refused = _refusal(entry, limit)
    if refused or limit is None or result.value is None:
        return TestVerdict("not judged", refused or "no result or no limit")
    bound, value, unit = limit_value(limit), result.value, entry.method.units[0]
    margin = spread.expanded if guard else 0.0
    chance = float(ndtr((value - bound) / max(spread.expanded / COVERAGE_FACTOR, 1e-9)))
    shown = f"{value:.3g} {unit}"
    if entry.text("censored") == "above":
        verdict = "exceeds" if value >= bound else "not proven"
        return TestVerdict(verdict, f"at or above {shown}, the end of the scale", None)
    if value > bound:
        return TestVerdict("exceeds", f"{shown} is above the limit {bound:g}", chance)
    if value + margin > bound:
        why = f"{shown} with its uncertainty of {margin:.2g} reaches above the limit {bound:g}"
        return TestVerdict("not proven", why, chance)
    return TestVerdict(
        "meets",
        f"{shown} with its uncertainty of {margin:.2g} is within the limit {bound:g}",
        chance,
    )


def _refusal(entry: TestEntry, limit: Limit | None) -> str:
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
