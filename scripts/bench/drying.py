"""Stagnant areas, leaks, forecasts and placement on invented floors with known drying.

    python scripts/bench/drying.py [floors [stagnant|placement|speed]]
    python scripts/bench/drying.py pairs change [first]

Prints: overlap (IoU) of stagnant areas by the third visit; leaks and pipes told apart; change shown
where there is none, and a common fall; placement against every pair; time of five visits with 2,000
readings each over that of the main path. Forecasts have a bench of their own (``forecasts.py``).
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable
from dataclasses import replace
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
from moisturemap.floorplan import FloorPlan, PlanLine, Room
from moisturemap.survey import Survey
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


def invented_plan(rng: np.random.Generator, shape: int) -> FloorPlan:
    """Draw a hall, an L, or a corridor with two rooms and open doors."""
    wide, deep = rng.uniform(6, 14), rng.uniform(5, 10)
    if shape == 0:
        return FloorPlan((Room("hall", shapely.box(0, 0, wide, deep)),))
    if shape == 1:
        cut = shapely.box(wide * 0.5, deep * 0.5, wide, deep)
        return FloorPlan((Room("shop", shapely.box(0, 0, wide, deep).difference(cut)),))
    middle = wide * rng.uniform(0.35, 0.65)
    rooms = (
        Room("corridor", shapely.box(0, 0, wide, 1.6)),
        Room("office", shapely.box(0, 1.7, middle - 0.05, deep)),
        Room("store", shapely.box(middle + 0.05, 1.7, wide, deep)),
    )
    doors = tuple(
        PlanLine("door", shapely.LineString([(x, 1.65), (x + 0.9, 1.65)]), f"D{x:.1f}")
        for x in (middle - 1.5, middle + 0.6)
    )
    return FloorPlan(rooms, doors)


def placement(floors: int) -> None:
    """Print machines placed together against every combination that keeps clear."""
    ratios, least, away = [], math.inf, 0
    for seed in range(floors):
        rng = np.random.default_rng([seed, 8])
        plan = invented_plan(rng, seed % 3)
        inside = shapely.union_all([room.polygon.buffer(-0.05) for room in plan.rooms])
        wide, deep = inside.bounds[2:]
        wet = np.concatenate(
            [
                rng.normal(rng.uniform([1, 1], [wide - 1, deep - 1]), 0.8, (40, 2))
                for _ in range(1 + seed % 2)
            ]
        )
        wet = wet[shapely.contains_xy(inside, wet[:, 0], wet[:, 1])]
        none = np.zeros(len(wet), dtype=bool)
        demand = Demand(wet, rng.exponential(1.0, len(wet)), none, np.full(len(wet), "A", object))
        space = air_space(plan)[0]
        sites = {
            kind: Site.of(plan, space, (), kind, demand, PlacementOptions())
            for kind in ("dehumidifier", "air-mover")
        }
        driers = 1 + seed % 2
        found = choose_together(sites, {"dehumidifier": driers, "air-mover": 1})
        served = sum(sites[kind].share(one.chosen) for kind, one in found.items())
        ratios.append(served / best_of_all(sites, driers))
        chosen = [sites[kind].positions.points[list(one.chosen)] for kind, one in found.items()]
        apart = cdist(np.concatenate(chosen), np.concatenate(chosen))
        least = min(least, float(apart[np.triu_indices(len(apart), 1)].min()))
        away += blows_away(sites["air-mover"], found["air-mover"].chosen[0])
    print(
        f"placement of 1 or 2 dehumidifiers and an air mover: at worst {min(ratios):.1%} of the "
        f"best of all combinations on {floors} floors (mean {np.mean(ratios):.2%}); never nearer "
        f"than {least:.2f} m; air movers that blow away from the wet floor: {away}"
    )


def best_of_all(sites: dict[str, Site], driers: int) -> float:
    """Return the best share of every combination of one or two dehumidifiers and an air mover."""
    drier, mover = sites["dehumidifier"], sites["air-mover"]
    total = drier.demand.weight.sum()
    near = cdist(drier.positions.points, mover.positions.points) < APART_M
    blown = 100.0 * mover.service @ mover.demand.weight / (mover.full * total)
    best = 0.0
    rows = np.arange(len(drier.positions.points))
    own = cdist(drier.positions.points, drier.positions.points) < APART_M
    for first in rows:
        others = rows[rows > first][~own[first, rows > first]] if driers == 2 else [first]
        for second in others:
            service = np.maximum(drier.service[first], drier.service[second])
            share = 100.0 * float(service @ drier.demand.weight) / (drier.full * total)
            free = ~(near[first] | near[second])
            if free.any():
                best = max(best, share + float(blown[free].max()))
    return best


def blows_away(site: Site, chosen: int) -> bool:
    """Whether more of the wet floor within the throw lies behind an air mover than before it."""
    offset = site.demand.points - site.positions.points[chosen]
    turn = math.radians(float(site.positions.direction_deg[chosen]))
    near = np.hypot(*offset.T) < PlacementOptions().throw_m
    ahead = offset @ np.array([math.cos(turn), math.sin(turn)]) > 0.0
    weight = site.demand.weight
    return float(weight[near & ahead].sum()) < float(weight[near & ~ahead].sum())


CHANGES = (
    ("no change, no drift", 0.0, 0.0, 0),
    ("no change, drift as assumed", 0.0, 1.0, 0),
    ("no change, drift, 8 dry references", 0.0, 1.0, 8),
    ("fall of two noise sd, drift as assumed", -4.0, 1.0, 0),
    ("fall of two noise sd, drift, 8 dry references", -4.0, 1.0, 8),
)
"""Name, common fall, sd of the drift of a visit, readings of known-dry floor."""


def change(pairs: int, first: int = 0) -> None:
    """Print how often a floor without change shows some, and how often a common fall shows.

    The fall is one of the floor, not of the known-dry floor that references are read on.
    """
    for name, fall, drift, references in CHANGES:
        shown = by_mean = by_any = held = 0
        squares, stated, inside = [], [], []
        for seed in range(first, first + pairs):
            found = compare_visits(changed_floor(seed, fall, drift, references)).drying
            on_map = found.change.area_m2["dried"] + found.change.area_m2["rose"] > 0.0
            shown += on_map
            by_mean += found.means.iloc[0]["shown"] == "fell"
            by_any += on_map or bool((found.means["shown"] != "").any())
            held += found.means.iloc[0]["low"] <= fall <= found.means.iloc[0]["high"]
            error = found.change.dataset["mean"].to_numpy() - fall
            sd = found.change.dataset["sd"].to_numpy()
            squares.append(float(np.nanmean(error**2)))
            stated.append(float(np.nanmean(sd**2)))
            inside.append(float(np.mean((np.abs(error) <= 1.645 * sd)[np.isfinite(error)])))
        print(
            f"{name}: of {pairs} pairs change on the map {shown}, mean of the floor fell "
            f"{by_mean}, anything {by_any}; interval of the mean holds {held}; rmse "
            f"{math.sqrt(np.mean(squares)):.2f}, stated sd {math.sqrt(np.mean(stated)):.2f}, 90% "
            f"of a cell hold {np.mean(inside):.3f}",
            flush=True,
        )


def changed_floor(seed: int, fall: float, drift: float, references: int) -> Survey:
    """Invent a floor of 120 places read twice, all of which fall alike."""
    rng = np.random.default_rng([seed, 77])
    off = rng.normal(0.0, drift, 2) if drift else np.zeros(2)
    recipe = Recipe(
        width=6.0,
        depth=5.0,
        noise_sd=2.0,
        days=(0.0, 7.0),
        wets=(Wet(2, 2, 25, 1.2, 1e9),),
        offsets=(float(off[0]), float(off[1])),
        dry_reference=references,
    )
    survey = invent(recipe, seed).survey
    later = survey.readings["visit"] == survey.visits[-1].id
    readings = survey.readings.assign(
        value=survey.readings["value"].where(~later, np.round(survey.readings["value"] + fall))
    )
    return replace(survey, readings=readings)


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


PARTS: dict[str, Callable[..., None]] = {
    "stagnant": stagnant,
    "change": change,
    "placement": placement,
    "speed": lambda _: speed(),
}

if __name__ == "__main__":
    if len(sys.argv) > 2:
        PARTS[sys.argv[2]](*(int(one) for one in (sys.argv[1], *sys.argv[3:])))
        sys.exit()
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    stagnant(count)
    change(count)
    placement(40)
    speed()
