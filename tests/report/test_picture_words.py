"""What somebody hears who does not see a figure."""

from __future__ import annotations

from dataclasses import replace

from moisturemap.bundles import Findings
from moisturemap.report.picture_words import checks_told, profile_told, results_told
from moisturemap.units import Units

METRIC = Units("metric")


def test_a_test_that_counts_against_the_floor_is_told(findings: Findings) -> None:
    """A hole above the limit whose record is not valid was "not judged", without its value."""
    told = results_told(findings.decision, METRIC)
    assert told == (
        "H1 at 40 mm in Store: 88.1 %RH, counts against. "
        "2 further records are not judged; the table of tests says why."
    )


def test_a_judged_test_is_told_with_its_verdict(findings: Findings) -> None:
    """The worst test is not lost among those that meet the limit, nor one record counted as two."""
    tests = findings.decision.tests.copy()
    tests.loc[tests.index[:2], "verdict"] = ["exceeds", "meets"]
    told = results_told(replace(findings.decision, tests=tests), METRIC)
    assert "88.1 %RH, exceeds; H2 at 40 mm in Store: 70.1 %RH, meets. " in told
    assert told.endswith("1 further record is not judged; the table of tests says why.")


def test_each_probe_is_named_with_its_checks(findings: Findings) -> None:
    """The salts were told one after the other, and of no probe."""
    decision = findings.decision
    assert checks_told(decision) == "p1: 2 of 2 checks within tolerance"
    checks = decision.checks.copy()
    checks.loc[checks.index[0], ["result", "sentence"]] = ["failed", "NaCl read 79"]
    assert checks_told(replace(decision, checks=checks)) == (
        "p1: 1 of 2 checks within tolerance; NaCl read 79"
    )


def test_a_profile_is_told_with_its_place(findings: Findings) -> None:
    """Three of a floor were told alike, none with its hole."""
    told = [profile_told(spot) for spot in findings.decision.spots]
    assert [one.split(":")[0] for one in told] == ["H1 in Store", "H2 in Store", "H3 in Store"]
