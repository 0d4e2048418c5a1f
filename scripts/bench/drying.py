"""Stagnant areas, leaks, forecasts and placement on invented floors with known drying.

    python scripts/bench/drying.py [floors [stagnant|coverage|placement]]

Prints: overlap (IoU) of stagnant areas by the third visit; leaks and pipes told apart; how often
90 % forecast intervals hold the true day; placement against enumeration; time of five visits with
2,000 readings each.
"""

from __future__ import annotations

import math
import sys
import time
from pathlib import Path

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "tests" / "drying"))

from invented_visits import Invented, Recipe, Wet, invent

from moisturemap.equipment import choose, enumerate_all, searched, worth
from moisturemap.workflow.drying import compare_visits
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.study import study

DEMO = Path(__file__).resolve().parents[2] / "demo_plans" / "warehouse"


def stagnant_recipe(rng: np.random.Generator) -> Recipe:
    """Draw a flood that dries, a corner that does not, a pipe, a growing leak."""
    corner = Wet(9.8, 7.8, rng.uniform(30, 42), rng.uniform(1.2, 1.9), rng.uniform(120, 400))
    flood = Wet(
        rng.uniform(2.5, 4),
        rng.uniform(2.5, 5),
        rng.uniform(28, 38),
        rng.uniform(1.5, 2.2),
        rng.uniform(8, 16),
    )
    leak = Wet(
        rng.uniform(7.0, 8.5),
        rng.uniform(1.5, 2.5),
        rng.uniform(8, 14),
        0.8,
        1e9,
        rng.uniform(0.5, 1.0),
    )
    return Recipe(wets=(corner, flood, leak), pipe_x=5.5, days=(0.0, 7.0, 14.0))


def true_stagnant(floor: Invented, points: np.ndarray) -> np.ndarray:
    """Cells above the wet level now mostly by the corner that does not dry."""
    day = floor.recipe.days[-1]
    corner, flood, leak = (wet.at(points, day) for wet in floor.recipe.wets)
    wet = floor.truth(points, day) > floor.recipe.wet_level
    return wet & (corner > flood) & (corner > leak)


def stagnant(floors: int) -> None:
    """Print overlap of stagnant areas and how leak and pipe were told."""
    overlap, leaks, false_rise, pipes, pipe_calls = [], 0, 0, 0, 0
    for seed in range(floors):
        floor = invent(stagnant_recipe(np.random.default_rng([seed, 3])), seed)
        found = compare_visits(floor.survey).drying
        points = found.levels[-1].grid.centres()
        truth = true_stagnant(floor, points)
        area = shapely.union_all(list(found.stagnant.geometry))
        shown = shapely.contains_xy(area, *points.T)
        overlap.append((truth & shown).sum() / max((truth | shown).sum(), 1))
        leak = shapely.Point(floor.recipe.wets[2].x, floor.recipe.wets[2].y)
        hit = [one.distance(leak) < 0.5 for one in found.rising.geometry]
        leaks += any(hit)
        false_rise += len(hit) - sum(hit)
        lines = found.features[found.features["kind"] == "line"]
        pipes += bool((lines["verdict"] == "steady").any())
        pipe_calls += bool((lines["verdict"] == "rose").any())
    share = np.mean(np.array(overlap) >= 0.6)
    print(f"stagnant area by visit 3: IoU median {np.median(overlap):.2f}, >= 0.6 on {share:.0%}")
    print(f"leak found as rising on {leaks}/{floors}, other rising areas {false_rise}")
    print(f"pipe told steady on {pipes}/{floors}, called rising on {pipe_calls}")


def coverage(floors: int) -> None:
    """Print how often forecast intervals hold the day the wettest tenth meets the level."""
    inside, total, open_ended, widths = 0, 0, 0, []
    for seed in range(floors):
        rng = np.random.default_rng([seed, 5])
        visits = int(rng.integers(3, 6))
        wet = Wet(
            rng.uniform(3, 7),
            rng.uniform(3, 5),
            rng.uniform(28, 45),
            rng.uniform(1.3, 2.2),
            rng.uniform(20, 70),
        )
        # the meter drifts by what is assumed where nothing tells: 1 % of its scale
        drift = (0.0, *rng.normal(0.0, 1.0, visits - 1)) if seed % 2 else ()
        recipe = Recipe(
            wets=(wet,),
            days=tuple(7.0 * k for k in range(visits)),
            wet_level=40.0,
            width=9.0,
            depth=7.0,
            offsets=drift,
            dry_reference=0 if seed % 2 else 8,
        )
        floor = invent(recipe, seed)
        found = compare_visits(floor.survey).drying
        for one in found.forecasts:
            if one.zone == "floor" or math.isnan(one.days):
                continue
            geometry = found.wet.zones.set_index("zone").loc[one.zone, "geometry"]
            day = true_day(floor, found, geometry) - recipe.days[-1]
            middle = np.array([[geometry.centroid.x, geometry.centroid.y]])
            if day <= 0 or wet.at(middle, 0.0)[0] < 5.0:
                continue
            total += 1
            inside += one.low <= day <= one.high
            open_ended += math.isinf(one.high)
            widths.append((one.high - one.low) / day)
    print(
        f"90 % forecast intervals hold the true day on {inside}/{total} = {inside / total:.1%}; "
        f"no upper bound on {open_ended}; width/day median {np.median(widths):.2f}"
    )


def true_day(floor: Invented, found, geometry) -> float:  # type: ignore[no-untyped-def]
    """Day on which the mean truth of the mapped wettest tenth falls to the wet level."""
    from moisturemap.drying.forecast import _core

    core, _ = _core(geometry, found.levels[-1])
    days = np.linspace(0, 600, 6001)
    levels = floor.truth(core, 0.0).mean()
    wet = np.array([floor.truth(core, day).mean() for day in days[::20]])
    curve = np.interp(days, days[::20], wet)
    below = np.flatnonzero(curve <= floor.recipe.wet_level)
    return float(days[below[0]]) if below.size and levels > floor.recipe.wet_level else math.inf


def placement(cases: int) -> None:
    """Print greedy with exchange against trying every combination."""
    worst, exact = 1.0, 0
    for seed in range(cases):
        rng = np.random.default_rng(seed)
        places, sites = rng.uniform(0, 20, (120, 2)), rng.uniform(0, 20, (60, 2))
        way = np.hypot(*(sites[:, None, :] - places).T).T
        service, weight = np.maximum(way.max() - way, 0), rng.exponential(1.0, 120)
        count = int(rng.integers(1, 4))
        best = worth(service, weight, enumerate_all(service, weight, count))
        rough = worth(service, weight, searched(service, weight, count))
        exact += choose(service, weight, count).value >= best - 1e-9
        cost = (way.max() * weight.sum() - best) / (way.max() * weight.sum() - rough)
        worst = min(worst, cost)
    print(
        f"placement: proposed = enumerated optimum on {exact}/{cases}; greedy, random starts and "
        f"exchange alone: mean way at worst {1 / worst - 1:.1%} longer"
    )


def speed() -> None:
    """Print the time of comparing five visits with about 2,000 readings."""
    survey = read_survey(DEMO)
    main_path = study(survey)
    compare_visits(survey, study=main_path)
    wall, cpu = time.perf_counter(), time.process_time()
    compare_visits(survey, study=main_path)
    print(
        f"5 visits x {len(main_path.readings)} readings: {time.perf_counter() - wall:.1f} s, "
        f"processor {time.process_time() - cpu:.1f} s"
    )


PARTS = {"stagnant": stagnant, "coverage": coverage, "placement": placement}

if __name__ == "__main__":
    if len(sys.argv) > 2:
        PARTS[sys.argv[2]](int(sys.argv[1]))
        sys.exit()
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    stagnant(count)
    coverage(2 * count)
    placement(40)
    speed()
