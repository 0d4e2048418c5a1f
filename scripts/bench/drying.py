"""Stagnant areas, leaks, forecasts and placement on invented floors with known drying.

    python scripts/bench/drying.py [floors [stagnant|change|placement]]

Prints: overlap (IoU) of stagnant areas by the third visit; leaks and pipes told apart; change shown
where there is none, and a common fall; placement against every pair; time of five visits with 2,000
readings each over that of the main path. Forecasts have a bench of their own (``forecasts.py``).
"""

from __future__ import annotations

import math
import sys
import time
from pathlib import Path

import numpy as np
import shapely
from scipy.spatial.distance import cdist

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "tests" / "drying"))

from invented_visits import Invented, Recipe, Wet, invent

from moisturemap.equipment import APART_M, Demand, PlacementOptions
from moisturemap.equipment.air_space import air_space
from moisturemap.equipment.site import Site
from moisturemap.equipment.together import choose_together
from moisturemap.floorplan import FloorPlan, Room
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


def placement(floors: int) -> None:
    """Print machines placed together against every pair that keeps clear, on invented halls."""
    worst, least = 1.0, math.inf
    for seed in range(floors):
        rng = np.random.default_rng(seed)
        wide, deep = rng.uniform(5, 14), rng.uniform(4, 10)
        plan = FloorPlan((Room("hall", shapely.box(0, 0, wide, deep)),))
        wet = rng.normal(rng.uniform([1, 1], [wide - 1, deep - 1]), 1.2, (40, 2))
        wet = np.clip(wet, 0.1, [wide - 0.1, deep - 0.1])
        none = np.zeros(len(wet), dtype=bool)
        demand = Demand(wet, rng.exponential(1.0, len(wet)), none, np.full(len(wet), "A", object))
        space = air_space(plan)[0]
        sites = {
            kind: Site.of(plan, space, (), kind, demand, PlacementOptions())
            for kind in ("dehumidifier", "air-mover")
        }
        found = choose_together(sites, dict.fromkeys(sites, 1))
        served = sum(sites[kind].share(one.chosen) for kind, one in found.items())
        total = demand.weight.sum()
        alone = [
            100.0 * site.service @ demand.weight / (site.full * total) for site in sites.values()
        ]
        first, second = (site.positions.points for site in sites.values())
        apart = cdist(first, second)
        pairs = np.where(apart < APART_M, -1.0, alone[0][:, None] + alone[1][None, :])
        worst = min(worst, served / pairs.max())
        (one,), (other,) = (choice.chosen for choice in found.values())
        least = min(least, float(apart[one, other]))
    print(
        f"placement of one of each kind: at worst {worst:.1%} of the best of all pairs on {floors} "
        f"floors; never nearer than {least:.2f} m"
    )


def change(pairs: int) -> None:
    """Print how often a floor without change shows some, and how often a common fall shows."""
    for name, fall, drift in (
        ("no change, no drift", 0.0, 0.0),
        ("no change, drift as assumed", 0.0, 1.0),
        ("fall of two noise sd", -4.0, 1.0),
    ):
        shown, by_mean, spread, stated = 0, 0, [], []
        for seed in range(pairs):
            rng = np.random.default_rng([seed, 77])
            off = (float(rng.normal(0, drift)), fall + float(rng.normal(0, drift)))
            recipe = Recipe(
                width=6.0,
                depth=5.0,
                noise_sd=2.0,
                days=(0.0, 7.0),
                wets=(Wet(2, 2, 25, 1.2, 1e9),),
                offsets=off,
            )
            found = compare_visits(invent(recipe, seed).survey).drying
            shown += found.change.area_m2["dried"] + found.change.area_m2["rose"] > 0.0
            by_mean += found.means.iloc[0]["shown"] == "fell"
            spread.append(float(np.nanmean((found.change.dataset["mean"] - fall) ** 2)))
            stated.append(float(np.nanmean(found.change.dataset["sd"])))
        print(
            f"{name}: change shown on {shown}/{pairs}, mean shown to fall on {by_mean}/{pairs}; "
            f"rmse {math.sqrt(np.mean(spread)):.2f}, stated sd {np.mean(stated):.2f}"
        )


def speed() -> None:
    """Print the time of comparing five visits of about 2,000 readings, over one main path."""
    survey = read_survey(DEMO)
    main_path = study(survey)
    compare_visits(survey, study=main_path)
    took = []
    for go in (lambda: study(survey), lambda: compare_visits(survey, study=main_path)):
        wall, cpu = time.perf_counter(), time.process_time()
        go()
        took.append((time.perf_counter() - wall, time.process_time() - cpu))
    (path, path_cpu), (wall, cpu) = took
    print(
        f"5 visits x {len(main_path.readings)} readings: {wall:.1f} s, processor {cpu:.1f} s; the "
        f"main path of one visit {path:.1f} s, processor {path_cpu:.1f} s; ratio "
        f"{cpu / path_cpu:.2f}"
    )


PARTS = {"stagnant": stagnant, "change": change, "placement": placement}

if __name__ == "__main__":
    if len(sys.argv) > 2:
        PARTS[sys.argv[2]](int(sys.argv[1]))
        sys.exit()
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    stagnant(count)
    change(count)
    placement(40)
    speed()
