"""Whole invented floors, read on a grid and forecast through ``mm.compare_visits``."""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "tests" / "drying"))

from forecast_kinds import FAR, KINDS, deserves, first_day
from invented_visits import Invented, Recipe, invent
from slab_truth import Course

import moisturemap as mm
from moisturemap.drying.zone_course import wettest_cells

FLOOR_KINDS = ("exponential", "one face", "D falling", "never dries", "leak holds a slab")


@dataclass(frozen=True)
class WetCourse:
    """A round wet place that follows a course: rise at its centre, reach [m]."""

    x: float
    y: float
    rise: float
    reach: float
    course: Course

    def at(self, points: np.ndarray, day: float) -> np.ndarray:
        distance = np.hypot(points[:, 0] - self.x, points[:, 1] - self.y)
        return self.rise * self.course(day) * np.exp(-0.5 * (distance / self.reach) ** 2)


def floor_case(kind: str, seed: int) -> list[tuple[float, float, float, float, bool]]:
    """Read a whole floor on weekly visits and forecast its zones through the public path."""
    rng = np.random.default_rng([seed, 5])
    visits = int(rng.integers(3, 6))
    days = 7.0 * np.arange(visits)
    course = KINDS[kind](rng, days).course
    wet = WetCourse(
        rng.uniform(3, 7), rng.uniform(3, 5), rng.uniform(28, 45), rng.uniform(1.3, 2.2), course
    )
    drift = tuple(rng.normal(0.0, 1.0, visits)) if seed % 2 else ()
    recipe = Recipe(
        wets=(wet,),  # type: ignore[arg-type]
        days=tuple(days),
        wet_level=40.0,
        width=9.0,
        depth=7.0,
        offsets=drift,
        dry_reference=0 if seed % 2 else 8,
    )
    floor = invent(recipe, seed)
    found = mm.compare_visits(floor.survey).drying
    zones = found.wet.zones.set_index("zone")
    rows = []
    for one in found.forecasts:
        if one.zone == "floor" or math.isnan(one.low):
            continue
        cells, _ = wettest_cells(zones.loc[one.zone, "geometry"], found.levels[-1])
        true = true_day(floor, cells)
        # a speck of texture above the level is no wet place with a course
        if true > 0.0 and wet.at(cells, 0.0).mean() > 5.0:
            level = np.array([floor.truth(cells, day).mean() for day in days])
            sd = float(one.course.sd[-1])  # type: ignore[union-attr]
            due = deserves(true, level, days, sd)
            rows.append((true, one.low, one.high, one.kept_wet, due))
    return rows


def true_day(floor: Invented, cells: np.ndarray) -> float:
    """Day from the latest visit on which the true mean of cells falls to the wet level."""
    last, coarse = floor.recipe.days[-1], FAR[::10]
    level = np.array([floor.truth(cells, last + day).mean() for day in coarse])
    return first_day(np.interp(FAR, coarse, level), float(floor.recipe.wet_level or 0.0))
