"""How often forecasts hold: slabs, exponentials and leaks by other numerics than the package's.

    python scripts/bench/forecasts.py [cases [floors]]

First single zones, by kind of course, with 3, 4, 5 or 8 visits 3, 7 or 14 days apart; then whole
floors read on a grid and compared by ``mm.compare_visits``. Printed: *fin*, two-sided intervals
that hold, among those given; *one*, "not before" that holds; *early*, latest days before the truth,
of all; *given*, share with a latest day; *kept*, mean chance that something keeps it wet.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "tests" / "drying"))

from invented_visits import Invented, Recipe, invent
from slab_truth import Course, draw_slab, exponential, held, rewetted, slab_course

import moisturemap as mm
from moisturemap.drying import DryingOptions, DryLevel, ForecastBasis, KnownSlab, ZoneCourse
from moisturemap.drying.forecast import forecast_zone
from moisturemap.drying.zone_course import wettest_cells

OPTIONS = DryingOptions()
Made = tuple[Course, KnownSlab]


def _slab(**fixed: object) -> Callable[[np.random.Generator], Made]:
    def made(rng: np.random.Generator) -> Made:
        slab = draw_slab(rng, **fixed)
        return slab_course(slab, rng), KnownSlab(slab.thickness_mm, slab.faces)

    return made


def _unknown(rng: np.random.Generator) -> Made:
    return slab_course(draw_slab(rng), rng), KnownSlab()


def _part_wet(rng: np.random.Generator) -> Made:
    slab = draw_slab(rng, wetted=float(rng.uniform(0.2, 0.7)))
    return slab_course(slab, rng), KnownSlab(slab.thickness_mm, slab.faces)


def _exponential(rng: np.random.Generator) -> Made:
    return exponential(float(np.exp(rng.uniform(np.log(8), np.log(90))))), KnownSlab()


def _never(rng: np.random.Generator) -> Made:
    return held(exponential(30.0), 1.0), KnownSlab()


def _leak(rng: np.random.Generator) -> Made:
    course, known = _slab()(rng)
    return held(course, float(rng.uniform(0.3, 0.8))), known


def _leak_exponential(rng: np.random.Generator) -> Made:
    course, known = _exponential(rng)
    return held(course, float(rng.uniform(0.3, 0.8))), known


def _rewetted(rng: np.random.Generator) -> Made:
    course, known = _slab()(rng)
    return rewetted(course, float(rng.uniform(3, 15)), float(rng.uniform(0.2, 0.6))), known


KINDS: dict[str, Callable[[np.random.Generator], Made]] = {
    "exponential": _exponential,
    "one face": _slab(),
    "two faces": _slab(faces=2),
    "D falling": _slab(falling=True),
    "part wet": _part_wet,
    "Fo 0.01": _slab(fo_start=0.01),
    "Fo 0.05": _slab(fo_start=0.05),
    "Fo 0.3": _slab(fo_start=0.3),
    "Fo 1": _slab(fo_start=1.0),
    "thickness unknown": _unknown,
    "never dries": _never,
    "leak holds a slab": _leak,
    "leak holds an exponential": _leak_exponential,
    "re-wetted once": _rewetted,
}

FAR = np.concatenate([np.linspace(0.0, 60.0, 601), np.geomspace(60.2, 2e4, 2000)])


def first_day(level: np.ndarray, target: float) -> float:
    """Day on which a level on ``FAR`` first meets a target."""
    met = np.flatnonzero(level <= target)
    return float(FAR[met[0]]) if met.size else math.inf


def zone_case(kind: str, seed: int, visits: int | None, step: float | None) -> tuple[float, ...]:
    """Forecast one zone; return true day, low, high and the chance of a source."""
    rng = np.random.default_rng([seed, sum(map(ord, kind))])
    course, known = KINDS[kind](rng)
    visits = visits or int(rng.choice([3, 4, 5, 8]))
    days = (step or float(rng.choice([3, 7, 14]))) * np.arange(visits)
    dry, excess = 30.0 + rng.normal(0, 2), float(rng.uniform(20, 50))
    level = dry + excess * course(days)
    noise, drift = float(rng.uniform(0.35, 1.0)), float(rng.choice([0.5, 1.0]))
    read = level + rng.normal(0, noise, visits) + rng.normal(0, drift, visits)
    target = dry + float(rng.uniform(0.3, 0.75)) * (level[-1] - dry)
    true = first_day(dry + excess * course(days[-1] + FAR), target)
    zone = ZoneCourse("A", days, read, np.full(visits, math.hypot(noise, drift)))
    known_dry = DryLevel(30.0, 2.0, "as supplied")
    found = forecast_zone(zone, target, known_dry, OPTIONS, ForecastBasis(known))
    return true, found.low, found.high, found.kept_wet


def show(name: str, rows: list[tuple[float, ...]]) -> None:
    """Print one line of shares."""
    if not rows:
        return
    true, low, high, kept = np.array(rows).T
    given = np.isfinite(high)
    fin = float(((low <= true) & (true <= high))[given].mean()) if given.any() else math.nan
    print(
        f"{name:26s} n {true.size:3d}  fin {fin:.2f}  one {np.mean(low <= true):.2f}  early "
        f"{np.mean(high < true):.2f}  given {given.mean():.2f}  kept {kept.mean():.2f}",
        flush=True,
    )


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


def floor_case(kind: str, seed: int) -> list[tuple[float, ...]]:
    """Read a whole floor on weekly visits and forecast its zones through the public path."""
    rng = np.random.default_rng([seed, 5])
    course, _ = KINDS[kind](rng)
    wet = WetCourse(
        rng.uniform(3, 7), rng.uniform(3, 5), rng.uniform(28, 45), rng.uniform(1.3, 2.2), course
    )
    visits = int(rng.integers(3, 6))
    drift = tuple(rng.normal(0.0, 1.0, visits)) if seed % 2 else ()
    recipe = Recipe(
        wets=(wet,),  # type: ignore[arg-type]
        days=tuple(7.0 * k for k in range(visits)),
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
            rows.append((true, one.low, one.high, one.kept_wet))
    return rows


def true_day(floor: Invented, cells: np.ndarray) -> float:
    """Day from the latest visit on which the true mean of cells falls to the wet level."""
    last, coarse = floor.recipe.days[-1], FAR[::10]
    level = np.array([floor.truth(cells, last + day).mean() for day in coarse])
    return first_day(np.interp(FAR, coarse, level), float(floor.recipe.wet_level or 0.0))


if __name__ == "__main__":
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    floors = int(sys.argv[2]) if len(sys.argv) > 2 else 24
    for name in KINDS:
        show(name, [zone_case(name, seed, None, None) for seed in range(cases)])
    print("four weekly visits")
    for name in ("exponential", "one face", "D falling", "Fo 0.05", "leak holds a slab"):
        show(name, [zone_case(name, seed, 4, 7.0) for seed in range(cases)])
    print("whole floors, weekly visits, through mm.compare_visits")
    for name in ("exponential", "one face", "D falling", "never dries"):
        show(name, [row for seed in range(floors) for row in floor_case(name, seed)])
