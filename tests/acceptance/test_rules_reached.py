"""Each rule is reached by a move for the worse, and a blank is no better than a fault."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from invented_floors import made_test
from invented_tests import AROUND, AS_OF, READ, SLAB, floor, mver, probe, surface_test, tool
from shapely.geometry import box

from moisturemap.acceptance import DecideOptions, packaged_rules, weigh
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import Limit

PAGE = Path(__file__).resolve().parents[2] / "docs" / "method" / "acceptance.md"
BOOK = packaged_rules()
LIMITS = {
    "in-situ-rh": Limit("in-situ-rh", 85.0, "%RH", "sheet"),
    "hood-rh": Limit("hood-rh", 85.0, "%RH", "sheet"),
    "sleeve-rh": Limit("sleeve-rh", 85.0, "%RH", "sheet"),
    "mver": Limit("mver", 3.0, "lb/1000 ft2/24 h", "sheet"),
    "carbide": Limit("carbide", 2.0, "CM-%", "sheet"),
    "oven-dry": Limit("oven-dry", 4.0, "mass-%", "sheet"),
    "pin": Limit("pin", 12.0, "%MC", "sheet"),
}


def ago(hours: float) -> object:
    """So long before the reading."""
    return READ - timedelta(hours=hours)


def one_probe(**changes: object) -> dict:
    """The probe of the survey, changed."""
    return {"P1": replace(probe(), **changes)}


def device(**changes: object) -> dict:
    """The carbide device of the survey, changed."""
    return {name: replace(one, **changes) for name, one in tool("carbide").items()}


def off_by(before: float, after: float) -> dict:
    """The probe with other deviations at its sessions."""
    checks = tuple(
        replace(one, read=one.read + (before if one.when < READ else after))
        for one in probe().checks
    )
    return one_probe(checks=checks)


def without(early: bool) -> dict:
    """The probe without its checks before, or after."""
    return one_probe(checks=tuple(c for c in probe().checks if (c.when < READ) != early))


# rule: method, what is wrong with the test, what is wrong with the survey, with the slab
WRONG: dict[str, tuple[str, dict, dict, dict]] = {
    "humidity-possible": ("in-situ-rh", {"value": 104.0}, {}, {}),
    "humidity-plausible": ("in-situ-rh", {"value": 3.0}, {}, {}),
    "carbide-plausible": ("carbide", {"value": 0.017}, {}, {}),
    "carbide-plausible-gypsum": (
        "carbide",
        {"value": 0.004, "sample_mass_g": 100.0},
        {},
        {"base": "CA-C25-F5"},
    ),
    "oven-plausible": ("oven-dry", {"value": 0.025}, {}, {}),
    "emission-plausible": ("mver", {"value": 0.002}, {}, {}),
    "emission-area": (
        "mver",
        {"value": None, "mass_gain_g": 2.5, "dome_area_cm2": 4064.5},
        {},
        {},
    ),
    "pin-plausible": ("pin", {"value": 0.11}, {}, {"base": "timber deck"}),
    "pin-depth": ("pin", {"depth_mm": 2.0, "thickness_mm": 22.0}, {}, {"base": "timber deck"}),
    "pin-through": ("pin", {"depth_mm": 30.0, "thickness_mm": 22.0}, {}, {"base": "timber deck"}),
    "pin-correction": ("pin", {"correction": -6.0}, {}, {"base": "timber deck"}),
    "pin-below-balance": (
        "pin",
        {"value": 8.0, "air_temperature_c": 20.0, "air_rh_pct": 78.0},
        {},
        {"base": "timber deck"},
    ),
    "pin-air-humidity": ("pin", {"air_rh_pct": 95.0}, {}, {"base": "timber deck"}),
    "f1869-lightweight": ("mver", {}, {}, {"base": "lightweight concrete slab"}),
    "mineral-only": ("carbide", {}, {}, {"base": "timber deck"}),
    "on-plan": ("in-situ-rh", {"x": 90.0}, {}, {}),
    "result-not-negative": ("carbide", {"value": -0.1}, {}, {}),
    "times-in-order": ("in-situ-rh", {"lined": READ + timedelta(hours=2)}, {}, {}),
    "no-censored-result": ("in-situ-rh", {"censored": "below"}, {}, {}),
    "f2170-wait-24": ("in-situ-rh", {"lined": ago(20)}, {}, {}),
    "f2170-wait-72": ("in-situ-rh", {"edition": "ASTM F2170-16b"}, {}, {}),
    "f2170-in-hole": ("in-situ-rh", {"placed": ago(0.1)}, {}, {}),
    "f2170-depth-one-face": ("in-situ-rh", {"depth_mm": 15.0}, {}, {}),
    "f2170-depth-two-faces": ("in-situ-rh", {}, {}, {"drying_faces": 2, "on": "suspended"}),
    "thickness-agrees": ("in-situ-rh", {"thickness_mm": 200.0}, {}, {}),
    "depth-by-the-plan-one-face": (
        "in-situ-rh",
        {"thickness_mm": 150.0},
        {},
        {"thickness_mm": 180.0},
    ),
    "depth-by-the-plan-two-faces": (
        "in-situ-rh",
        {"depth_mm": 26.0, "thickness_mm": 150.0},
        {},
        {"thickness_mm": 180.0, "drying_faces": 2, "on": "suspended"},
    ),
    "rh-probe-temperature": ("in-situ-rh", {"probe_temperature_c": 22.0}, {}, {}),
    "rh-probe-temperature-close": ("in-situ-rh", {"probe_temperature_c": 20.8}, {}, {}),
    "f2170-drift": ("in-situ-rh", {"drift_pct": 2.0}, {}, {}),
    "f2170-conditioned": ("in-situ-rh", {"conditioned_hours": 10.0}, {}, {}),
    "rh-service-held": ("in-situ-rh", {"service_conditions": False}, {}, {}),
    "f2170-slab-temperature": (
        "in-situ-rh",
        {"temperature_c": 8.0, "slab_temperature_c": 8.0},
        {},
        {},
    ),
    "f2170-air-temperature": ("in-situ-rh", {"air_temperature_c": 8.0}, {}, {}),
    "f2170-air-humidity": ("in-situ-rh", {"air_rh_pct": 80.0}, {}, {}),
    "f2170-air-humidity-far": ("in-situ-rh", {"air_rh_pct": 95.0}, {}, {}),
    "sleeve-wait": ("sleeve-rh", {"lined": ago(20), "drilled": ago(20)}, {}, {}),
    "sleeve-in-hole": ("sleeve-rh", {"placed": ago(0.1)}, {}, {}),
    "in-situ-second-agrees": ("in-situ-rh", {"second_value": 81.0}, {}, {}),
    "sleeve-second-agrees": ("sleeve-rh", {"second_value": 81.0}, {}, {}),
    "sleeve-second-apart": ("hood-rh", {"second_read": READ + timedelta(hours=5)}, {}, {}),
    "sleeve-hood-temperature": ("hood-rh", {"temperature_c": 8.0}, {}, {}),
    "hood-wait": ("hood-rh", {"placed": ago(40)}, {}, {}),
    "hood-slab-and-air": (
        "hood-rh",
        {"slab_temperature_c": 15.0, "air_temperature_c": 22.0},
        {},
        {},
    ),
    "hood-below-air": ("hood-rh", {"air_rh_pct": 90.0}, {}, {}),
    "hood-power-floated": ("hood-rh", {"surface": "power-floated"}, {}, {}),
    "hood-thick": ("hood-rh", {}, {}, {"thickness_mm": 300.0}),
    "hood-heating-off": ("hood-rh", {"heating_off_hours": 10.0}, {}, {}),
    "hood-heating-off-before": ("hood-rh", {"heating_off_hours": 120.0}, {}, {"heated": True}),
    "hood-bare": ("hood-rh", {"surface_bare": False}, {}, {}),
    "surface-stated": ("hood-rh", {"surface": ""}, {}, {}),
    "hood-sealed-surface": ("hood-rh", {"surface": "sealed"}, {}, {}),
    "surface-known": ("hood-rh", {"surface": "ground, wet"}, {}, {}),
    "certificate-in-force": ("carbide", {}, {"instruments": device(certificate="lost")}, {}),
    "f1869-exposed-least": ("mver", {"placed": ago(90)}, {}, {}),
    "f1869-open": ("mver", {"open_hours": 2.0}, {}, {}),
    "f1869-bare": ("mver", {"surface_bare": False}, {}, {}),
    "f1869-conditioned": ("mver", {"conditioned_hours": 2.0}, {}, {}),
    "f1869-material": ("mver", {}, {}, {"base": "gypsum screed"}),
    "f1869-air-temperature": ("mver", {"air_temperature_c": 8.0}, {}, {}),
    "f1869-air-humidity": ("mver", {"air_rh_pct": 80.0}, {}, {}),
    "cm-sample-gypsum": ("carbide", {"sample_mass_g": 20.0}, {}, {"base": "anhydrite screed"}),
    "cm-sample-cement": ("carbide", {"sample_mass_g": 5.0}, {}, {}),
    "cm-depth": ("carbide", {"depth_mm": 100.0}, {}, {}),
    "cm-heating-off": ("carbide", {"heating_off_hours": 5.0}, {}, {"heated": True}),
    "cm-marked-point": ("carbide", {"marked_point": False}, {}, {"heated": True}),
    "rh-heating-off": ("in-situ-rh", {"heating_off_hours": 5.0}, {}, {"heated": True}),
    "rh-marked-point": ("in-situ-rh", {"marked_point": False}, {}, {"heated": True}),
    "tool-certificate": ("carbide", {}, {"instruments": device(certificate="")}, {}),
    "tool-recalibrated": ("carbide", {}, {"instruments": device(calibrated=None)}, {}),
    "tool-calibrated-before": (
        "carbide",
        {},
        {"instruments": device(calibrated=READ.date() + timedelta(days=9))},
        {},
    ),
    "oven-mineral": ("oven-dry", {"drying_temperature_c": 60.0}, {}, {}),
    "oven-sample": (
        "oven-dry",
        {"value": None, "wet_mass_g": 2.04, "dry_mass_g": 2.0, "tare_g": 0.0},
        {},
        {},
    ),
    "cm-fresh": ("carbide", {"drilled": ago(18)}, {}, {}),
    "oven-weighed": ("oven-dry", {"drilled": ago(840)}, {}, {}),
    "cm-temperature": ("carbide", {"temperature_c": 5.0}, {}, {}),
    "oven-depth-one-face": ("oven-dry", {"depth_mm": 10.0}, {}, {}),
    "oven-depth-two-faces": (
        "oven-dry",
        {"depth_mm": 15.0},
        {},
        {"drying_faces": 2, "on": "suspended"},
    ),
    "oven-gypsum": ("oven-dry", {"drying_temperature_c": 105.0}, {}, {"base": "gypsum screed"}),
    "oven-timber": ("oven-dry", {"drying_temperature_c": 60.0}, {}, {"base": "timber deck"}),
    "oven-tare": (
        "oven-dry",
        {"value": None, "wet_mass_g": 255.0, "dry_mass_g": 250.0},
        {},
        {},
    ),
    "hole-lined": ("in-situ-rh", {"lined": None}, {}, {}),
    "pin-frozen": ("pin", {"temperature_c": -8.0}, {}, {"base": "timber deck"}),
    "pin-hot": ("pin", {"temperature_c": 68.0}, {}, {"base": "timber deck"}),
    "pin-temperature": ("pin", {"temperature_c": 2.0}, {}, {"base": "timber deck"}),
    "pin-cold": ("pin", {"temperature_c": 3.0, "correction": 0.0}, {}, {"base": "timber deck"}),
    "pin-range": ("pin", {"value": 3.0}, {}, {"base": "timber deck"}),
    "pin-timber-only": ("pin", {}, {}, {}),
    "pin-species": ("pin", {"species": ""}, {}, {"base": "timber deck"}),
    "instrument-named": ("in-situ-rh", {"instrument": "P9"}, {}, {}),
    "instrument-kind": ("in-situ-rh", {}, {"instruments": one_probe(kind="relative")}, {}),
    "probe-checked-before": ("in-situ-rh", {}, {"instruments": without(early=True)}, {}),
    "probe-checked-after": ("in-situ-rh", {}, {"instruments": without(early=False)}, {}),
    "probe-deviation": ("in-situ-rh", {}, {"instruments": off_by(-4.0, -4.0)}, {}),
    "probe-deviation-close": ("in-situ-rh", {}, {"instruments": off_by(-2.8, -2.8)}, {}),
    "probe-reference-near": (
        "in-situ-rh",
        {},
        {
            "instruments": one_probe(
                checks=tuple(replace(c, reference="LiCl", read=11.3) for c in probe().checks)
            )
        },
        {},
    ),
    "certificate": ("in-situ-rh", {}, {"instruments": one_probe(certificate="")}, {}),
    "certificate-uncertainty": ("in-situ-rh", {}, {"instruments": one_probe(uncertainty=4.0)}, {}),
    "recalibrated": ("in-situ-rh", {}, {"instruments": one_probe(calibrated=None)}, {}),
}
"""By rule: a method, and what is wrong with test, survey and slab."""


def test_of(method: str) -> dict:
    """A complete test of a method."""
    if method in ("in-situ-rh", "hood-rh", "sleeve-rh", "carbide"):
        return made_test(method, *AROUND[0], 1.2 if method == "carbide" else 77.0)
    if method == "mver":
        return mver(2.0)
    dry = {"drying_temperature_c": 105.0, "unit": "mass-%"} if method == "oven-dry" else {}
    species = {"species": "oak", "unit": "%MC"} if method == "pin" else {}
    value = 2.0 if method == "oven-dry" else 9.0
    return surface_test(1, *AROUND[0], method, value=value, **dry, **species)


test_of.__test__ = False  # type: ignore[attr-defined]


def judged(method: str, test: dict, survey: dict, slab: dict):
    """One test, judged."""
    own = tool({"mver": "mver", "oven-dry": "oven-dry", "pin": "pin"}.get(method, "carbide"))
    usual = {} if method.endswith("-rh") else {"instruments": own}
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), replace(SLAB, **slab)),))
    made = floor([{**test_of(method), **test}], plan=plan, limit=LIMITS[method], **usual)
    return weigh(replace(made, **survey), options=DecideOptions(as_of=AS_OF)).judged[0]


def test_every_rule_has_its_move():
    """No rule that nothing reaches."""
    assert set(WRONG) == set(BOOK.rules)


@pytest.mark.parametrize("rule", WRONG)
def test_each_rule_is_reached_and_does_what_it_says(rule):
    """A test with that one thing wrong has that finding, with the effect of the rule."""
    method, test, survey, slab = WRONG[rule]
    found = judged(method, test, survey, slab)
    effects = [one.effect for one in found.findings if one.rule == rule]
    assert effects in ([BOOK.rules[rule].effect], [BOOK.rules[rule].missing])
    if BOOK.rules[rule].effect == "invalid":
        assert not found.judged


MILDER = {"times-in-order", "no-censored-result", "instrument-kind", "humidity-plausible"}
MILDER |= {"carbide-plausible", "carbide-plausible-gypsum", "oven-plausible", "pin-plausible"}
MILDER |= {"emission-area", "oven-sample", "oven-weighed", "cm-temperature", "cm-fresh"}
MILDER |= {"emission-plausible", "in-situ-second-agrees", "hood-slab-and-air", "hood-below-air"}
MILDER |= {
    "pin-depth",
    "pin-through",
    "pin-cold",
    "pin-correction",
    "pin-below-balance",
    "pin-air-humidity",
}
MILDER |= {"hood-thick", "surface-known", "certificate-in-force"}
MILDER |= {"hood-power-floated", "probe-deviation", "probe-deviation-close", "probe-reference-near"}
MILDER |= {"rh-probe-temperature-close", "thickness-agrees", "pin-frozen", "pin-hot"}
MILDER |= {"tool-calibrated-before", "f2170-air-humidity-far"}
MILDER |= {"depth-by-the-plan-one-face", "depth-by-the-plan-two-faces"}
"""Rules that say nothing of a blank, because another rule does: without times, a value, an
instrument, a check, a temperature or a time in place a test is not valid by that rule; and rules
that hold what a record states beside a result against it, where no standard asks for it."""


def test_what_is_left_blank_counts_no_more_than_what_breaks_the_rule():
    """The effect of a blank is never milder than that of a fault."""
    grave = {"invalid": 0, "not-for-limit": 1, "widen": 2, "remark": 3, "ignore": 4}
    milder = {rule.id for rule in BOOK.rules.values() if grave[rule.missing] > grave[rule.effect]}
    assert milder <= MILDER


def test_every_rule_stands_on_the_page_with_its_move():
    """Rules, counts, places, ages and uncertainties: each under the move that reaches it."""
    page = PAGE.read_text(encoding="utf-8")
    every = [*BOOK.rules, *BOOK.counts, *BOOK.places, *BOOK.ages, *BOOK.uncertainties]
    assert [one for one in every if f"`{one}`" not in page] == []
