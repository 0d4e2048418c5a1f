"""Floors drawn at random, good and poor, on which moves for the worse are tried."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from random import Random

import pandas as pd
from invented_tests import AROUND, READ, SLAB, good_test, hood, surface_test
from shapely.geometry import box

from moisturemap.acceptance import DecideOptions, weigh
from moisturemap.acceptance.floor import FloorVerdict
from moisturemap.floorplan import FloorPlan, Room, Slab
from moisturemap.survey import AmbientReading, Instrument, InstrumentCheck, Limit, Survey, Visit

SALTS = {"NaCl": 75.47, "KCl": 85.11, "LiCl": 11.31}
UNITS = {"carbide": "CM-%"}
TIMES = ("drilled", "lined", "placed", "read", "second_read")


@dataclass(frozen=True)
class Probe:
    """A probe with its checks: deviation by session and salt."""

    before: dict[str, float]
    after: dict[str, float]
    days_before: float = 1.0
    days_after: float = 1.0
    calibrated_days: float | None = 190.0
    uncertainty: float | None = 1.5
    certificate: str = "C-204"
    kind: str = "rh-probe"

    def instrument(self, name: str) -> Instrument:
        """As the survey lists it."""
        sessions = ((self.before, -self.days_before), (self.after, self.days_after))
        checks = [
            InstrumentCheck(
                READ + timedelta(days=days, minutes=minute), salt, SALTS[salt] + off, None, 20.0
            )
            for session, days in sessions
            for minute, (salt, off) in enumerate(sorted(session.items()))
        ]
        day = None
        if self.calibrated_days is not None:
            day = (READ - timedelta(days=self.calibrated_days)).date()
        return Instrument(
            name,
            self.kind,
            serial="S-1",
            certificate=self.certificate,
            uncertainty=self.uncertainty,
            checks=tuple(sorted(checks, key=lambda one: one.when)),
            calibrated=day,
        )


@dataclass(frozen=True)
class InventedFloor:
    """Everything a verdict rests on, easy to change."""

    tests: tuple[dict, ...]
    probes: dict[str, Probe]
    limit: Limit
    as_of: datetime
    slab: Slab = SLAB
    log: tuple[AmbientReading, ...] = ()
    story: tuple[str, ...] = field(default=())

    def survey(self) -> Survey:
        """As a survey of one room."""
        visit = Visit("v1", READ, acclimation=self.log)
        rows = [{**test, "test": number} for number, test in enumerate(self.tests, 1)]
        return Survey(
            "invented shop",
            tests=pd.DataFrame(rows, dtype=object),
            readings=pd.DataFrame(),
            plan=FloorPlan((Room("shop", box(0, 0, 8, 6), self.slab),)),
            instruments={name: probe.instrument(name) for name, probe in self.probes.items()},
            limit=self.limit,
            visits=(visit,),
        )

    @property
    def all_known(self) -> bool:
        """Whether nothing was read or checked after the day of the decision."""
        reads = [test[name] for test in self.tests for name in TIMES if test.get(name) is not None]
        checks = [c.when for name, p in self.probes.items() for c in p.instrument(name).checks]
        return max([*reads, *checks, READ]) <= self.as_of

    def verdict(self) -> FloorVerdict:
        """What the floor is judged to be."""
        return self.weighed().floor

    def weighed(self):
        """The verdict with its tests."""
        return weigh(self.survey(), options=DecideOptions(as_of=self.as_of))

    def with_test(self, number: int, **changes: object) -> InventedFloor:
        """One test changed; what is None is left out of its record."""
        changed = {k: v for k, v in {**self.tests[number], **changes}.items() if v is not None}
        return replace(self, tests=(*self.tests[:number], changed, *self.tests[number + 1 :]))


def made_test(method: str, x: float, y: float, value: float, probe: str = "P1") -> dict:
    """A complete test of a method, without what it does not state."""
    return {
        name: one for name, one in _made_test(method, x, y, value, probe).items() if one is not None
    }


def _made_test(method: str, x: float, y: float, value: float, probe: str) -> dict:
    changes = {"value": round(value, 2), "instrument": probe}
    if method == "hood-rh":
        return hood(1, x, y, second_value=round(value, 2), **changes)
    if method == "sleeve-rh":
        second = {"second_value": round(value, 2), "second_read": READ + timedelta(hours=25)}
        waited = {name: READ - timedelta(hours=80) for name in ("drilled", "lined")}
        return good_test(1, x, y, method=method, edition="", **waited, **second, **changes)
    if method == "carbide":
        mass = {"sample_mass_g": 50.0, "unit": "CM-%"}
        return surface_test(1, x, y, method, **mass, **changes)
    return good_test(1, x, y, **changes)


def draw_floor(rng: Random) -> InventedFloor:
    """Draw a floor: mostly good ones near the limit, some poor in several ways."""
    method = rng.choice(["in-situ-rh"] * 4 + ["hood-rh", "hood-rh", "sleeve-rh", "carbide"])
    poor = rng.random() < 0.5
    bound = 2.0 if method == "carbide" else rng.choice([75.0, 80.0, 85.0])
    spread = bound / 75.0
    level = bound - rng.uniform(1.0, 14.0) * spread
    tests = [
        made_test(method, x, y, level + rng.gauss(0, 1.2) * spread, rng.choice(["P1", "P2"]))
        for x, y in AROUND
    ]
    tests += [_extra(rng, method, bound, level, tests) for _ in range(rng.choice([0, 0, 1, 2]))]
    if poor:
        tests = [spoilt(rng, test) if rng.random() < 0.3 else test for test in tests]
    names = [f"H{number}" for number in range(1, len(tests) + 1)]
    if rng.random() < 0.3:
        names = ["1"] * len(names)
    tests = [
        {key: one for key, one in {**test, "hole": name}.items() if one is not None}
        for test, name in zip(tests, names, strict=True)
    ]
    slab = replace(SLAB, on=rng.choice(["ground", "ground", "", "suspended"]))
    if rng.random() < 0.3:
        slab = replace(slab, service_temperature_c=rng.choice([18.0, 20.0, 22.0]))
    probes = {name: draw_probe(rng, poor, method) for name in ("P1", "P2")}
    last = max(test.get("second_read", test["read"]) for test in tests)
    last = max([last, *(READ + timedelta(days=min(p.days_after, 8.1)) for p in probes.values())])
    return InventedFloor(
        tuple(tests),
        probes,
        Limit(method, bound, UNITS.get(method, "%RH"), "invented sheet"),
        last + timedelta(days=rng.choice([1.0, 1.0, rng.uniform(1, 40)])),
        slab,
        _log(rng) if rng.random() < 0.2 else (),
    )


def draw_probe(rng: Random, poor: bool, method: str) -> Probe:
    """Draw a probe: read right within a degree or off by several."""
    if method == "carbide":
        return Probe({}, {}, kind="carbide")
    salts = rng.choice([("NaCl", "KCl"), ("NaCl", "KCl"), ("NaCl",), ("KCl",)])
    if poor and rng.random() < 0.1:
        salts = ("LiCl",)
    bias = rng.gauss(0, 1.5 if poor else 0.7)
    session = [{salt: bias + rng.gauss(0, 0.4) for salt in salts} for _ in range(2)]
    usual = Probe(session[0], session[1])
    if not poor:
        return replace(usual, uncertainty=rng.choice([0.8, 1.5, 2.0]))
    return replace(
        usual,
        days_before=rng.choice([1.0, 5.0, 40.0]),
        days_after=rng.choice([1.0, 8.0, 40.0]),
        calibrated_days=rng.choice([190.0, 360.0, 400.0, -20.0, None]),
        uncertainty=rng.choice([0.8, 2.9, 3.4, None]),
    )


def _extra(rng: Random, method: str, bound: float, level: float, tests: list[dict]) -> dict:
    """Draw a re-read, another method, another depth, or one more test."""
    kind = rng.choice(["re-read", "re-read", "other", "depth", "more"])
    x, y = rng.uniform(0.5, 7.5), rng.uniform(0.5, 5.5)
    value = level + rng.uniform(-3, 8) * bound / 75.0
    if kind == "re-read":
        old = rng.choice(tests)
        shift = timedelta(hours=rng.choice([1.0, 30.0, 100.0, -1.0, -100.0]))
        moved = {name: old[name] + shift for name in TIMES if old.get(name) is not None}
        new = {**old, **moved, "value": round(value, 2)}
        if "second_value" in old:
            new["second_value"] = round(value, 2)
        return {**new, "reread_reason": "seal had failed"} if rng.random() < 0.3 else new
    if method == "carbide" or kind == "more":
        return made_test(method, x, y, value)
    if kind == "other":
        others = [one for one in ("in-situ-rh", "hood-rh", "sleeve-rh") if one != method]
        return made_test(rng.choice(others), x, y, value)
    near = rng.choice(tests)
    deep = made_test("in-situ-rh", near["x"] + 0.1, near["y"], value)
    return {**deep, "depth_mm": rng.choice([20.0, 60.0, 120.0])}


def _log(rng: Random) -> tuple[AmbientReading, ...]:
    return tuple(
        AmbientReading(
            READ - timedelta(hours=12.0 * step),
            21.0 + rng.gauss(0, 1),
            48.0 + rng.gauss(0, 2),
            20.0 + rng.gauss(0, 1),
        )
        for step in range(8)
    )


SPOILS: dict[str, tuple[object, ...]] = {
    "placed": (timedelta(minutes=2), timedelta(hours=30)),
    "lined": (timedelta(hours=20), timedelta(hours=30)),
    "temperature_c": (8.0, 19.2, 30.0),
    "slab_temperature_c": (20.8, 22.0, None),
    "air_temperature_c": (8.0, 31.0, None),
    "air_rh_pct": (30.0, 75.0, None),
    "drift_pct": (2.0, None),
    "conditioned_hours": (10.0, None),
    "service_conditions": (False, None),
    "edition": ("ASTM F2170 2016", "ASTM F2170-16b", None),
    "heating_off_hours": (10.0, None),
    "surface": ("power-floated", "sealed with epoxy", "unsealed", None),
    "surface_bare": (False, None),
    "depth_mm": (None,),
    "instrument": (None, "P9"),
    "x": (None,),
    "second_read": (timedelta(hours=-5),),
}
"""Faults by field; spans are before the reading."""


def spoilt(rng: Random, test: dict) -> dict:
    """One thing wrong with a test."""
    name = rng.choice([one for one in SPOILS if test.get(one) is not None])
    value = rng.choice(SPOILS[name])
    if isinstance(value, timedelta):
        value = test["read"] - value
    return {key: one for key, one in {**test, name: value}.items() if one is not None}
