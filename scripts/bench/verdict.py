"""How often the intervals behind a verdict hold the truth, with probes that err in their own way.

    python scripts/bench/verdict.py [--tests 1500] [--slabs 300]

Risk: invented in-situ tests about a limit of 80 %RH. Each probe has an error with sd 1.5 %RH and a
slope with sd 0.04 per %RH, drifts by sd 0.3 between two sessions of checks, and reads the salts
with sd 0.4; holes err with sd 0.75, what its certificate leaves open with half its uncertainty.
Each test goes through the checks, the correction and the budget of the package. "interval" is
result +- 1.645 u, nominal 0.90; "above" is the share of tests said to meet that are really above.

Sealed: the slabs of scripts/bench/spots.py, read at depth by such a probe, corrected by its checks.
"""

from __future__ import annotations

import argparse
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pandas as pd
from shapely.geometry import box
from spots import CELLS, DEPTHS, THICKNESS, invented

from moisturemap.acceptance import checks_around, correction_of, entries_of, packaged_rules
from moisturemap.acceptance.evidence import Bench, judge_test
from moisturemap.errors import InputError
from moisturemap.floorplan import FloorPlan, Room, Slab
from moisturemap.slab import DepthReading, SlabSpec, estimate_profile, sealed_humidity
from moisturemap.survey import Instrument, InstrumentCheck, Limit, Survey, Visit

READ = datetime(2026, 3, 9, 10, tzinfo=UTC)
SALTS = {"NaCl": (75.47, 0.07), "KCl": (85.11, 0.15)}
"""Value and standard uncertainty at 20 C [%RH] (Greenspan 1977)."""

BIAS_SD, SLOPE_SD, DRIFT_SD, CHECK_SD, HOLE_SD = 1.5, 0.04, 0.3, 0.4, 0.75
LIMIT = 80.0


class InventedProbe:
    """A probe with an error, a slope and a drift."""

    def __init__(
        self, rng: np.random.Generator, salts: tuple[str, ...], uncertainty: float
    ) -> None:
        self.bias = rng.normal(0, BIAS_SD)
        self.slope = rng.normal(0, SLOPE_SD)
        self.drift = rng.normal(0, DRIFT_SD)
        self.rng = rng
        checks = [self._check(salt, days) for days in (-1.0, 1.0) for salt in salts]
        self.instrument = Instrument(
            "P1",
            "rh-probe",
            certificate="C-1",
            uncertainty=uncertainty,
            checks=tuple(checks),
            calibrated=date(2025, 10, 1),
        )

    def error(self, value: float, when: float) -> float:
        """Error of a reading, `when` -1 and 1 at the sessions [%RH]."""
        return float(self.bias + self.slope * (value - LIMIT) + self.drift * when)

    def _check(self, salt: str, days: float) -> InstrumentCheck:
        expected, spread = SALTS[salt]
        true = expected + self.rng.normal(0, spread)
        read = true + self.error(true, days) + self.rng.normal(0, CHECK_SD)
        return InstrumentCheck(READ + timedelta(days=days), salt, float(read), None, 20.0)


def survey_of(probe: InventedProbe, read: float) -> Survey:
    """One complete test."""
    row = {
        "test": 1,
        "visit": "v1",
        "hole": "H1",
        "x": 4.0,
        "y": 3.0,
        "method": "in-situ-rh",
        "depth_mm": 60.0,
        "value": read,
        "unit": "%RH",
        "temperature_c": 20.0,
        "slab_temperature_c": 20.1,
        "air_temperature_c": 21.0,
        "air_rh_pct": 50.0,
        "lined": READ - timedelta(hours=80),
        "placed": READ - timedelta(hours=4),
        "read": READ,
        "drift_pct": 0.2,
        "conditioned_hours": 96.0,
        "service_conditions": True,
        "instrument": "P1",
    }
    slab = Slab("concrete slab", 150.0, on="ground")
    return Survey(
        "invented",
        FloorPlan((Room("shop", box(0, 0, 8, 6), slab),)),
        {"P1": probe.instrument},
        (Visit("v1", READ),),
        pd.DataFrame(),
        pd.DataFrame([row], dtype=object),
        limit=Limit("in-situ-rh", LIMIT, "%RH", "invented"),
    )


def risk(salts: tuple[str, ...], count: int, seed: int) -> tuple[float, float, float, int]:
    """Share of intervals with the truth, mean u, share of passes really above, set aside."""
    rng = np.random.default_rng(seed)
    hits, spreads, passed, aside = [], [], [], 0
    for _ in range(count):
        uncertainty = float(rng.choice([1.0, 1.5, 2.0]))
        probe = InventedProbe(rng, salts, uncertainty)
        true = rng.uniform(LIMIT - 6, LIMIT + 4)
        part = true * 0.0619 * 0.1 / 2.0
        noise = rng.normal(0, HOLE_SD) + rng.normal(0, uncertainty / 2) + rng.normal(0, part)
        survey = survey_of(probe, float(true + probe.error(true, 0.0) + noise))
        bench = Bench({"shop": survey.limit, "": survey.limit}, packaged_rules(), 0.05, READ)
        test = judge_test(entries_of(survey)[0], bench)
        if test.standing == "invalid" or test.value is None:
            aside += 1
            continue
        hits.append(abs(test.value - true) <= 1.645 * test.spread.standard)
        spreads.append(test.spread.standard)
        if test.verdict.verdict == "meets":
            passed.append(true > LIMIT)
    return float(np.mean(hits)), float(np.mean(spreads)), float(np.mean(passed)), aside


def sealed(depths: tuple[float, ...], count: int) -> tuple[float, float, int]:
    """Share of intervals of the sealed humidity with the truth, their width, refused."""
    truth = invented("prior", count)
    rng = np.random.default_rng(6)
    hits, widths, refused = [], [], 0
    for row in range(len(truth.h)):
        probe = InventedProbe(rng, ("NaCl", "KCl"), 1.5)
        checks = checks_around(probe.instrument, READ)
        age = np.exp(rng.uniform(np.log(40), np.log(700)))
        fo = 29.0 * 2.0 ** rng.uniform(-1, 1) * age / THICKNESS**2
        h = truth.h[row, np.abs(np.log(truth.times / fo)).argmin()]
        own = truth.material.take(np.array([row]))
        goal = 100 * sealed_humidity(own, h[None], truth.cells, rng.uniform(0.5, 1.0))[0]
        at = (np.array(depths) + rng.normal(0, 2, len(depths))) / THICKNESS
        readings = []
        for depth, real in zip(depths, 100 * np.interp(at, CELLS.z, h), strict=True):
            read = real + probe.error(real, 0.0) + rng.normal(0, np.hypot(HOLE_SD, 0.75))
            found = correction_of(checks, float(read), LIMIT)
            assert found is not None
            spread = float(np.sqrt(0.75**2 + HOLE_SD**2 + sum(u**2 for _, u in found.parts)))
            readings.append(DepthReading(depth, float(min(read + found.added, 100.0)), spread))
        try:
            made = estimate_profile(readings, SlabSpec(THICKNESS, 1, age)).sealed
        except InputError:
            refused += 1
            continue
        hits.append(made.low <= goal <= made.high)
        widths.append(made.high - made.low)
    return float(np.mean(hits)), float(np.mean(widths)), refused


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tests", type=int, default=1500)
    parser.add_argument("--slabs", type=int, default=300)
    options = parser.parse_args()
    print("salts        interval   mean u   above   set aside")
    for salts in (("NaCl", "KCl"), ("NaCl",)):
        share, spread, above, aside = risk(salts, options.tests, 11)
        print(f"{' '.join(salts):12} {share:8.3f} {spread:8.2f} {above:7.3f} {aside:8d}")
    print("sealed, depths [mm]   interval  width  refused")
    for depths in DEPTHS:
        share, width, refused = sealed(depths, options.slabs)
        shown = ", ".join(f"{depth:g}" for depth in depths)
        print(f"{shown:20} {share:8.3f} {width:7.2f} {refused:6d}")


if __name__ == "__main__":
    main()
