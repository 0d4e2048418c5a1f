"""What somebody hears who does not see a figure: what it shows, not all that is said of it."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from typing import Any

import pandas as pd

from moisturemap.acceptance import Decision, ProfileVerdict, sealed_words
from moisturemap.quantities import three_figures
from moisturemap.units import Units

AGAINST = "counts against"
"""What stands in place of a verdict on a test that may not speak for the floor and does against it:
not valid, too old, or of another method or depth than the limit is stated for."""


def has_a_say(test: Mapping[Hashable, Any]) -> bool:
    """Return whether a test, a row of ``Decision.tests``, counts for the floor or against it."""
    return str(test["verdict"]) != "not judged" or bool(test["counts_against"])


def verdict_of(test: Mapping[Hashable, Any]) -> str:
    """Return the verdict; what is not judged has none and may count against the floor."""
    told = str(test["verdict"])
    return AGAINST if told == "not judged" and test["counts_against"] else told


def results_told(decision: Decision, units: Units) -> str:
    """Return the result of each test that counts, for the floor or against it.

    Parameters
    ----------
    decision : Decision
    units : Units
        Depths are told in them.
    """
    tests = decision.tests.to_dict("records")
    rest = sum(not has_a_say(test) for test in tests)
    told = [_result(test, units) for test in tests if has_a_say(test)]
    told += _once_sealed(decision)
    more = f"{rest} further records are not judged; the table of tests says why."
    if rest == 1:
        more = "1 further record is not judged; the table of tests says why."
    return " ".join(["; ".join(told) + "."] * bool(told) + [more] * bool(rest))


def _result(test: Mapping[Hashable, Any], units: Units) -> str:
    at = "" if pd.isna(test["depth_mm"]) else f" at {units.depth(test['depth_mm'])}"
    at += f" in {test['room']}" if test["room"] else ""
    result = f"{three_figures(test['value'], test['limit'])} {test['unit']}"
    return f"{test['hole']}{at}: {result}, {verdict_of(test)}"


def _once_sealed(decision: Decision) -> Iterator[str]:
    for spot in decision.spots:
        if spot.governs and spot.sealed is not None:
            value, *_ = sealed_words(spot.sealed, spot.limit_pct)
            yield f"{spot.spot} once sealed: {value} %RH, {spot.verdict}"


def checks_told(decision: Decision) -> str:
    """Return how many checks of each instrument lay within tolerance, and each that did not."""
    told = []
    for instrument, checks in decision.checks.groupby("instrument", sort=False):
        held = int((checks["result"] == "passed").sum())
        told.append(f"{instrument}: {held} of {len(checks)} checks within tolerance")
        told += [str(one) for one in checks.loc[checks["result"] != "passed", "sentence"]]
    return "; ".join(told)


def profile_told(spot: ProfileVerdict) -> str:
    """Return what was worked out from the depths of a place."""
    return f"{spot.spot} in {spot.room}: {spot.why}"
