"""The uncertainty of one result by the GUM, from what its record and its instrument say.

Standard uncertainties are combined as root of the sum of squares (JCGM 100:2008, 5.1.2); known
errors are corrected first. Method: ``docs/method/acceptance.md``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moisturemap.acceptance.correction import Correction, correction_of, without_credit
from moisturemap.acceptance.measure import checks_of, probe_slab_difference
from moisturemap.acceptance.record import TestEntry
from moisturemap.acceptance.rule import Rule, RuleBook, UncertaintyRule
from moisturemap.psychrometrics import saturation_slope

COVERAGE_FACTOR = 2.0
"""Expanded over standard uncertainty."""

RH_FAMILY = ("in-situ-rh", "sleeve-rh", "hood-rh")
"""Methods read with a probe of relative humidity."""

USUAL_C = 20.0
"""Temperature of concrete where none is stated [C]."""

COLD_C = 5.0
"""Where the difference of temperature is not shown, its effect is taken as in cold concrete, where
it is largest [C]; project choice."""


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """Uncertainty of a result.

    Attributes
    ----------
    expanded : float
        k = 2, in the first unit of the method.
    parts : tuple of (str, float)
        Words and expanded size of each part.
    allowance : float
        What an unchecked probe may read low without anybody knowing, added in full and not as a
        root of squares; 0 where the probe was checked before and after.
    correction : Correction or None
        By the checks of the probe.
    """

    expanded: float
    parts: tuple[tuple[str, float], ...]
    allowance: float = 0.0
    correction: Correction | None = None

    @property
    def standard(self) -> float:
        """Combined standard uncertainty."""
        return self.expanded / COVERAGE_FACTOR

    @property
    def sentence(self) -> str:
        """The parts in words."""
        return "; ".join(f"{words} {size:.2g}" for words, size in self.parts)


def uncertainty_of(
    entry: TestEntry,
    value: float,
    book: RuleBook,
    widened: tuple[Rule, ...] = (),
    *,
    valid: bool = True,
) -> Uncertainty:
    """Combine the parts of the uncertainty of a result as read.

    Parameters
    ----------
    entry : TestEntry
    value : float
        As read, first unit of the method.
    book : RuleBook
    widened : tuple of Rule
        Rules not kept that widen the range.
    valid : bool
        A test that is not valid gets, part by part, the most a valid one may have: what is missing
        or out of order never makes a result look surer.
    """
    rules = [rule for rule in book.uncertainties.values() if entry.method.key in rule.methods]
    correction, allowance = None, 0.0
    parts = [_part(rule, entry, value, valid) for rule in rules if rule.component != "check"]
    if entry.method.key in RH_FAMILY:
        checks = checks_of(entry, book)
        correction = correction_of(checks, value, entry.limit_rh)
        if correction is not None:
            parts += [(words, COVERAGE_FACTOR * size) for words, size in correction.parts]
        if len(checks.sessions) < 2:
            allowance = largest(book, "probe-deviation", 3.0)
            correction = without_credit(correction)
    parts += [(f"{rule.words} off", rule.widens) for rule in widened]
    kept = tuple(part for part in parts if part[1] > 0.0)
    expanded = float(np.sqrt(sum(size**2 for _, size in kept)))
    return Uncertainty(expanded, kept, allowance, correction)


LEAST_OF_USUAL = 0.1
"""A certificate that states less than this share of the usual uncertainty of an instrument is taken
for a slip of the pen (0, or a fraction for per cent), and the usual one counts; project choice."""


def largest(book: RuleBook, rule: str, otherwise: float) -> float:
    """Return the largest value a rule allows."""
    found = book.rules.get(rule)
    return otherwise if found is None or found.at_most is None else found.at_most


def _part(rule: UncertaintyRule, entry: TestEntry, value: float, valid: bool) -> tuple[str, float]:
    default = rule.value + rule.share * abs(value)
    if rule.component == "instrument":
        instrument = entry.instrument
        stated = None if instrument is None else instrument.uncertainty
        if valid and stated is not None and stated >= LEAST_OF_USUAL * default:
            return "instrument, by its certificate", stated
    if rule.component == "temperature":
        difference = probe_slab_difference(entry)
        if difference is None or not valid:
            return rule.words, abs(value) * saturation_slope(COLD_C) * rule.value
        coldest = min(entry.concrete_c or USUAL_C, entry.service.temperature_c or USUAL_C)
        effect = value * saturation_slope(coldest) * difference
        return f"probe and concrete {difference:.1f} K apart", effect
    return rule.words, default
