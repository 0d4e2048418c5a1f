"""Moves that make the evidence for a floor worse, each as the other side's expert would try it.

A move takes a floor and returns it changed, or None where it is none for the worse here. Evidence
that itself speaks against a test is not taken away: no program can see what was never written down.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from random import Random

from invented_floors import TIMES, InventedFloor, Probe, made_test
from invented_tests import READ

from moisturemap.acceptance import entries_of, examine, packaged_rules

Move = Callable[[Random, InventedFloor], InventedFloor | None]
SERVICE_C = 24.0


def told(floor: InventedFloor, words: str) -> InventedFloor:
    """Remember what was done."""
    return replace(floor, story=(*floor.story, words))


def add_a_failing_test(rng: Random, floor: InventedFloor) -> InventedFloor:
    """One more valid test, above the limit, under a name already used."""
    over = floor.limit.value * (1.0 + rng.uniform(0.02, 0.2))
    value = min(over, 99.0) if floor.limit.method != "carbide" else over
    old = rng.choice(floor.tests)
    near = rng.random() < 0.5 and "x" in old
    x, y = (old["x"], old["y"]) if near else (rng.uniform(0.5, 7.5), rng.uniform(0.5, 5.5))
    test = made_test(floor.limit.method, x, y, value, "PX")
    test["hole"] = old["hole"]
    shift = timedelta(hours=rng.choice([-6.0, 0.0, 6.0]))
    test |= {name: test[name] + shift for name in TIMES if name in test}
    salts = {"NaCl": 0.0, "KCl": 0.0}
    probe = Probe(salts, salts)
    if floor.limit.method == "carbide":
        probe = replace(probe, kind="carbide")
    probes = {**floor.probes, "PX": probe}
    done = replace(floor, tests=(*floor.tests, test), probes=probes)
    return told(done, f"add a failing test {value:.1f} at {x:.2f}, {y:.2f}")


FIRST, LAST, ALONG = timedelta(days=-22), timedelta(0), 0.6
"""When one that fails and a later one were read, and how far apart [m]."""


def with_a_failure_read_again_too_far_off(rng: Random, floor: InventedFloor) -> InventedFloor:
    """One that fails, and one well below the limit that was read later, out of its reach."""
    bound, method = floor.limit.value, floor.limit.method
    over, below = bound * (1.0 + rng.uniform(0.02, 0.1)), bound * rng.uniform(0.88, 0.94)
    salts = {"NaCl": 0.0, "KCl": 0.0}
    probe = Probe(salts, salts, days_before=25.0)
    if method == "carbide":
        probe = replace(probe, kind="carbide")
    x, y = rng.uniform(0.5, 6.5), rng.uniform(0.5, 5.5)
    first = _shifted(made_test(method, x, y, over, "PX"), FIRST)
    last = _shifted(made_test(method, x + ALONG, y, below, "PX"), LAST)
    pair = tuple({**one, "hole": "1"} for one in (first, last))
    done = replace(floor, tests=(*floor.tests, *pair), probes={**floor.probes, "PX": probe})
    return told(done, f"{over:.1f} at {x:.2f}, and {below:.1f} later {ALONG} m off")


def add_a_test_between(rng: Random, floor: InventedFloor) -> InventedFloor:
    """A valid test that does not meet, between the last two of a floor in place and time."""
    first, last = floor.tests[-2:]
    value = floor.limit.value * rng.choice([rng.uniform(1.0, 1.1), 0.998])
    x = first["x"] + ALONG - rng.uniform(0.26, 0.34)
    between = made_test(floor.limit.method, x, last["y"], value, "PX")
    test = {**_shifted(between, FIRST * rng.uniform(0.3, 0.7)), "hole": "1"}
    reason = {"reread_reason": "seal had failed"}
    done = replace(floor, tests=(*floor.tests[:-1], {**test, **reason}, {**last, **reason}))
    return told(done, f"add a test {value:.1f} between")


def _shifted(test: dict, span: timedelta) -> dict:
    return {**test, **{name: test[name] + span for name in TIMES if name in test}}


def raise_a_result(rng: Random, floor: InventedFloor) -> InventedFloor | None:
    """A result read higher, both readings of a pair alike."""
    number = rng.randrange(len(floor.tests))
    test = floor.tests[number]
    step = rng.choice([0.1, 1.0, 5.0, 30.0]) * (0.03 if test["method"] == "carbide" else 1.0)
    if (test["method"] != "carbide" and test["value"] < 25.0) or _fell_too_fast(floor, test):
        return None
    up = {n: test[n] + step for n in ("value", "second_value") if test.get(n) is not None}
    return told(floor.with_test(number, **up), f"raise test {number + 1} by {step}")


def _fell_too_fast(floor: InventedFloor, test: dict) -> bool:
    """Whether it is a doubted retest, which a higher result would make more likely."""
    earlier = [
        one
        for one in floor.tests
        if "read" in one
        and "read" in test
        and one["read"] < test["read"]
        and one["method"] == test["method"]
        and (one.get("x"), one.get("y")) == (test.get("x"), test.get("y"))
    ]
    return any(one["value"] - test["value"] > 1.0 for one in earlier)


def lower_a_check(rng: Random, floor: InventedFloor) -> InventedFloor | None:
    """A probe that read lower over its salt, and was not already set aside for reading high."""
    name = rng.choice(sorted(floor.probes))
    probe = floor.probes[name]
    part = rng.choice(["before", "after"])
    session = getattr(probe, part)
    if (
        not session
        or max(max(probe.before.values(), default=0), max(probe.after.values(), default=0)) > 3.0
    ):
        return None
    salt, step = rng.choice(sorted(session)), rng.choice([0.1, 0.5, 1.5, 4.0])
    lower = replace(probe, **{part: {**session, salt: session[salt] - step}})
    done = replace(floor, probes={**floor.probes, name: lower})
    return told(done, f"lower {salt} {part} of {name} by {step}")


def age_a_calibration(rng: Random, floor: InventedFloor) -> InventedFloor | None:
    """Calibrated or checked longer ago."""
    name = rng.choice(sorted(floor.probes))
    probe, days = floor.probes[name], rng.choice([1.0, 10.0, 40.0, 400.0])
    what = rng.choice(["calibrated_days", "days_before", "days_after"])
    old = getattr(probe, what)
    if old is None or old < 0 or (what == "calibrated_days" and old < 7.0):
        return None
    if what != "calibrated_days" and any(abs(_days_off(t)) >= min(old, 1.0) for t in floor.tests):
        return None  # a test outside the two sessions: later checks would come to stand beside it
    if what == "days_after" and READ + timedelta(days=old + days + 0.1) > floor.as_of:
        return None  # a check after the day of the decision is a record taken away
    done = replace(floor, probes={**floor.probes, name: replace(probe, **{what: old + days})})
    return told(done, f"age {what} of {name} by {days} days")


def _days_off(test: dict) -> float:
    if "read" not in test:
        return 0.0
    return (test["read"] - READ).total_seconds() / 86_400.0


def age_the_tests(rng: Random, floor: InventedFloor) -> InventedFloor | None:
    """The day of the decision is later, and no evidence has come since."""
    if not floor.all_known:
        return None
    days = rng.choice([0.5, 5.0, 20.0, 60.0])
    done = replace(floor, as_of=floor.as_of + timedelta(days=days))
    return told(done, f"decide {days} days later")


def leave_service(rng: Random, floor: InventedFloor) -> InventedFloor | None:
    """Air, slab or humidity farther from service, on the side where they are."""
    number = rng.randrange(len(floor.tests))
    test, step = floor.tests[number], rng.choice([0.5, 2.0, 6.0, 15.0])
    service = floor.slab.service_temperature_c or SERVICE_C
    what = rng.choice(["air", "slab", "humidity"])
    if what == "humidity":
        if "air_rh_pct" not in test:
            return None
        away = step if test["air_rh_pct"] >= 50.0 else -step
        moved = {"air_rh_pct": min(100.0, max(0.0, test["air_rh_pct"] + away))}
    else:
        names = ("air_temperature_c",)
        if what == "slab":
            names = ("temperature_c", "slab_temperature_c", "probe_temperature_c")
        stated = {name: test[name] for name in names if name in test}
        if not stated:
            return None
        first = next(iter(stated.values()))
        usual = service if test["method"] == "in-situ-rh" else 22.0
        if min(service, usual) < first < max(service, usual):
            return None
        away = step if first > usual else -step
        moved = {name: value + away for name, value in stated.items()}
    return told(floor.with_test(number, **moved), f"{what} of test {number + 1} {away:+}")


def cool_the_log(rng: Random, floor: InventedFloor) -> InventedFloor | None:
    """An entry of the acclimation log away from service."""
    if not floor.log:
        return None
    at = rng.randrange(len(floor.log))
    cold = replace(floor.log[at], air_temperature_c=8.0, slab_temperature_c=9.0)
    done = replace(floor, log=(*floor.log[:at], cold, *floor.log[at + 1 :]))
    return told(done, f"log entry {at + 1} at 8 C")


def shorten_a_wait(rng: Random, floor: InventedFloor) -> InventedFloor | None:
    """Less time from hole, hood, heating off or conditioning to the reading."""
    number = rng.randrange(len(floor.tests))
    test, hours = floor.tests[number], rng.choice([0.5, 5.0, 30.0, 90.0])
    what = rng.choice(["hole", "placed", "conditioned_hours", "heating_off_hours", "second"])
    span = timedelta(hours=hours)
    if what == "hole":
        later = {name: test[name] + span for name in ("drilled", "lined") if name in test}
    elif what == "placed":
        later = {"placed": test["placed"] + span} if "placed" in test else {}
    elif what == "second":
        later = {"second_read": test["second_read"] - span} if "second_read" in test else {}
    else:
        later = {what: max(0.0, test[what] - hours)} if what in test else {}
    if not later:
        return None
    return told(
        floor.with_test(number, **later), f"{what} of test {number + 1} shorter by {hours} h"
    )


TAKEN = (
    "drilled",
    "lined",
    "placed",
    "read",
    "second_read",
    "slab_temperature_c",
    "air_temperature_c",
    "air_rh_pct",
    "drift_pct",
    "conditioned_hours",
    "service_conditions",
    "heating_off_hours",
    "surface",
    "surface_bare",
    "edition",
    "reread_reason",
    "sample_mass_g",
)
"""Fields of a test that may be left blank."""

PLACED = ("x", "depth_mm", "instrument", "temperature_c")
"""Fields without which no correction and no sealed humidity can be worked out."""


def take_a_field(rng: Random, floor: InventedFloor) -> InventedFloor | None:
    """A test that states less; what breaks a rule is not taken away."""
    return _blank(rng, floor, rng.choice(TAKEN))


def take_place_depth_or_probe(rng: Random, floor: InventedFloor) -> InventedFloor | None:
    """A test of which nobody knows where, how deep, how warm or with what."""
    return _blank(rng, floor, rng.choice(PLACED))


def _blank(rng: Random, floor: InventedFloor, name: str) -> InventedFloor | None:
    number = rng.randrange(len(floor.tests))
    if name not in floor.tests[number]:
        return None
    taken = {name: None, "y": None} if name == "x" else {name: None}
    done = floor.with_test(number, **taken)
    if _broken(floor, number) - _broken(done, number):
        return None
    return told(done, f"take {name} from test {number + 1}")


def _broken(floor: InventedFloor, number: int) -> set[str]:
    entry = entries_of(floor.survey())[number]
    return {one.rule for one in examine(entry, packaged_rules()) if not one.missing}


def take_from_a_probe(rng: Random, floor: InventedFloor) -> InventedFloor | None:
    """A probe without certificate, calibration, uncertainty or a session of checks."""
    name = rng.choice(sorted(floor.probes))
    probe = floor.probes[name]
    what = rng.choice(["certificate", "calibrated_days", "uncertainty", "before", "after", "all"])
    less: dict[str, object] = {what: None}
    if what == "certificate":
        less = {what: ""}
    if what in ("before", "after"):
        less = {what: {}}
    if what == "all":
        less = {"before": {}, "after": {}}
    done = replace(floor, probes={**floor.probes, name: replace(probe, **less)})
    return told(done, f"take {what} from {name}")


def take_a_salt(rng: Random, floor: InventedFloor) -> InventedFloor | None:
    """One salt where two were read, and not the one in which the probe read lower."""
    name = rng.choice(sorted(floor.probes))
    probe = floor.probes[name]
    if len(probe.before) < 2 or len(probe.after) < 2:
        return None
    high = max(probe.before, key=lambda salt: probe.before[salt] + probe.after[salt])
    if any(session[high] < min(session.values()) + 1e-9 for session in (probe.before, probe.after)):
        return None
    less = {
        part: {salt: off for salt, off in session.items() if salt != high}
        for part, session in (("before", probe.before), ("after", probe.after))
    }
    done = replace(floor, probes={**floor.probes, name: replace(probe, **less)})
    return told(done, f"take {high} from {name}")


def take_from_the_slab(rng: Random, floor: InventedFloor) -> InventedFloor:
    """Thickness or position not stated."""
    what = rng.choice([{"thickness_mm": None}, {"on": ""}])
    return told(replace(floor, slab=replace(floor.slab, **what)), f"take {what} from the slab")


MOVES: dict[str, Move] = {
    "add a valid test above the limit": add_a_failing_test,
    "raise a result": raise_a_result,
    "lower a check": lower_a_check,
    "age a calibration or a check": age_a_calibration,
    "age the tests": age_the_tests,
    "leave service conditions": leave_service,
    "leave service conditions in the log": cool_the_log,
    "shorten a wait": shorten_a_wait,
    "leave a field blank": take_a_field,
    "leave place, depth, warmth or probe blank": take_place_depth_or_probe,
    "take a record from an instrument": take_from_a_probe,
    "take one of two salts": take_a_salt,
    "take a record from the slab": take_from_the_slab,
}

LOSING_KNOWLEDGE = (
    "leave place, depth, warmth or probe blank",
    "take a record from an instrument",
    "take one of two salts",
    "take a record from the slab",
)
"""After these a correction or a sealed humidity can no longer be worked out, and what it showed to
be over the limit is no longer shown. They never lead to MEETS, and may lead from exceeding to not
proven."""
