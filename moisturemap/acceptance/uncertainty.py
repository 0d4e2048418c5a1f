"""The uncertainty of one result, from what its record and its instrument say."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from moisturemap.acceptance.check import checks_around
from moisturemap.acceptance.measure import probe_slab_difference
from moisturemap.acceptance.record import TestEntry
from moisturemap.acceptance.rule import RuleBook, UncertaintyRule
from moisturemap.psychrometrics import saturation_slope

COVERAGE_FACTOR = 2.0
"""Expanded over standard uncertainty."""


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """Expanded uncertainty (k = 2) of a result.

    Attributes
    ----------
    expanded : float
        In the first unit of the method; root of the sum of squares of the parts.
    parts : tuple of (str, float)
        Words and size of each part.
    """

    expanded: float
    parts: tuple[tuple[str, float], ...]

    @property
    def sentence(self) -> str:
        """The parts in words."""
        return "; ".join(f"{words} {size:.2g}" for words, size in self.parts)


def uncertainty_of(entry: TestEntry, value: float, book: RuleBook) -> Uncertainty:
    """Combine the parts of the uncertainty of a result.

    The certificate replaces the default of the instrument; a known difference of temperature and a
    known deviation at the checks replace or join the defaults.
    """
    rules = [rule for rule in book.uncertainties.values() if entry.method.key in rule.methods]
    parts = [part for part in (_part(rule, entry, value) for rule in rules) if part[1] > 0.0]
    deviation = checks_around(entry.instrument, entry.moment("read")).deviation
    if deviation:
        parts.append(("deviation at the checks", abs(deviation)))
    expanded = float(np.sqrt(sum(size**2 for _, size in parts)))
    return Uncertainty(expanded, tuple(parts))


def _part(rule: UncertaintyRule, entry: TestEntry, value: float) -> tuple[str, float]:
    default = rule.value + rule.share * abs(value)
    if rule.component == "instrument":
        instrument = entry.instrument
        if instrument is not None and instrument.uncertainty is not None:
            return "instrument, by its certificate", instrument.uncertainty
    if rule.component == "temperature":
        difference = probe_slab_difference(entry)
        if difference is not None:
            concrete = entry.number("temperature_c") or entry.number("slab_temperature_c") or 20.0
            effect = value * saturation_slope(concrete) * difference
            return f"probe and concrete {difference:.1f} C apart", effect
    return rule.words, default
