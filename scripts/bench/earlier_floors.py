"""What floors read before with the same instrument add to the map of a small survey.

python scripts/bench/earlier_floors.py [--floors 20] [--first 0] [--readings 12,30,60] [--keep FILE]

Earlier floors of one kind, of some 130 readings each, tell a range and a noise; a small survey is
mapped with and without them, on a floor like those before and on floors unlike them: rough, smooth,
noisy, and by another generator altogether (floors_by_others, another scale and instrument, which
the package itself would refuse). The interval must hold all the same, inside, at the rim and
outside of wet patches. With ``--keep`` the floors done are kept, and a run goes on from them.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import shapely
from regions import CELLS, LEAST, NINETY, REGIONS, Case, by_others, regions_of

from moisturemap.geostat import (
    BlendedKriging,
    EarlierFloors,
    FitOptions,
    FloorPattern,
    fit_covariance,
)
from moisturemap.synthetic import FloorRecipe, make_floor

BEFORE = FloorRecipe(
    width=9.0, depth=7.0, spacing=0.7, texture_sd=2.0, texture_length=1.2, noise_sd=1.5
)
PLUMES = (("edge",), ("burst",), ("corner", "edge"), ("joint",), ())
UNLIKE = {
    "like": {},
    "rough": {"texture_length": 0.35, "texture_sd": 4.0},
    "smooth": {"texture_length": 5.0, "texture_sd": 5.0},
    "noisy": {"noise_sd": 5.0},
}
NUMBERS = (3, 20)
AT_FIRST = 50_000
"""Seed of the first earlier floor: none of them is a floor of the proof."""


def case_of(recipe: FloorRecipe, seed: int) -> Case:
    """Return readings, cells and truth of one floor of the package's own generator."""
    floor = make_floor(replace(recipe, plumes=PLUMES[seed % len(PLUMES)]), seed)
    west, south, east, north = floor.survey.plan.bounds
    x, y = np.arange(west + 0.025, east, 0.05), np.arange(south + 0.025, north, 0.05)
    at = np.column_stack([part.ravel() for part in np.meshgrid(x, y)])
    wet = floor.wet(at).reshape(len(y), len(x))
    region = regions_of(wet, 0.05, 0.7).ravel()
    held = shapely.contains_xy(floor.survey.plan.outline, at[:, 0], at[:, 1])
    chosen = np.random.default_rng(seed).choice(np.flatnonzero(held), CELLS, replace=False)
    readings = floor.survey.readings
    values = readings["value"].to_numpy(float)
    kept = np.isfinite(values) & (values < 100.0)
    points = readings[["x", "y"]].to_numpy(float)[kept]
    truth = floor.truth(at[chosen])
    return Case(points, values[kept], recipe.step, at[chosen], truth, region[chosen])


def small_case(kind: str, seed: int, readings: int) -> Case:
    """Return one floor of a kind, read at so many places."""
    if kind == "by others":
        whole = by_others(seed)
        chosen = np.random.default_rng([seed, readings]).permutation(len(whole.values))[:readings]
        return replace(whole, points=whole.points[chosen], values=whole.values[chosen])
    spacing = float(np.sqrt(BEFORE.width * BEFORE.depth / readings))
    return case_of(replace(BEFORE, spacing=spacing, **UNLIKE[kind]), seed)


def options_of(case: Case, earlier: EarlierFloors | None = None) -> FitOptions:
    """Return the options of the fit as the map takes them."""
    return FitOptions(nugget_floor=case.step**2 / 12.0, anisotropy=True, earlier=earlier)


def earlier_patterns(count: int) -> list[FloorPattern]:
    """Return what so many floors of the kind before told."""
    patterns: list[FloorPattern] = []
    for number in range(2 * count):
        case = case_of(BEFORE, AT_FIRST + number)
        found = fit_covariance(case.points, case.values, options=options_of(case)).pattern()
        patterns += [] if found is None or len(patterns) == count else [found]
        if len(patterns) == count:
            break
    return patterns


def scores(case: Case, earlier: EarlierFloors | None) -> list[float]:
    """Return the share inside by region and over all, mean square error, width, and interval score.

    The interval score of a 90% interval is its width plus 20 times what lies beyond it (Gneiting
    and Raftery, J. Am. Stat. Assoc. 102 (2007) 359, eq. 43); less is better.
    """
    fit = fit_covariance(case.points, case.values, options=options_of(case, earlier))
    mean, sd = BlendedKriging(case.points, case.values, fit).predict(case.cells)
    off, half = np.abs(case.truth - mean), NINETY * sd
    parts = [case.region == number for number in range(len(REGIONS))]
    held = [float((off <= half)[one].mean()) if one.sum() >= LEAST else np.nan for one in parts]
    score = 2.0 * half + 20.0 * np.maximum(off - half, 0.0)
    return [*held, *(float(one.mean()) for one in (off <= half, off**2, 2.0 * half, score))]


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--floors", type=int, default=20)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--readings", default="12,30,60")
    parser.add_argument("--keep", type=Path)
    asked = parser.parse_args()
    kept = json.loads(asked.keep.read_text()) if asked.keep and asked.keep.exists() else {}
    patterns = earlier_patterns(max(NUMBERS))
    ways: dict[str, EarlierFloors | None] = {"none": None}
    ways |= {f"{count} earlier": EarlierFloors.of(patterns[:count]) for count in NUMBERS}
    counts = [int(one) for one in asked.readings.split(",")]
    seeds = range(asked.first, asked.first + asked.floors)
    for seed, count, kind in product(seeds, counts, (*UNLIKE, "by others")):
        key = f"{count}/{kind}/{seed}"
        if key not in kept:
            case = small_case(kind, seed, count)
            kept[key] = {name: scores(case, earlier) for name, earlier in ways.items()}
            if asked.keep:
                asked.keep.write_text(json.dumps(kept))
    report(kept, counts, list(ways))


def report(kept: dict, counts: list[int], ways: list[str]) -> None:
    """Print coverage by region, error, width and score beside those without earlier floors."""
    head = "| readings | floor | earlier | inside | rim | outside | all | worst tenth "
    print(head + "| error | width | score |")
    print("|---" * 11 + "|")
    for count in counts:
        for kind in (*UNLIKE, "by others"):
            rows = [one for key, one in kept.items() if key.startswith(f"{count}/{kind}/")]
            plain = np.array([one["none"] for one in rows])
            for way in ways:
                _row(f"{count} | {kind} | {way}", np.array([one[way] for one in rows]), plain)


def _row(name: str, found: np.ndarray, plain: np.ndarray) -> None:
    held = " | ".join(f"{100 * one:.0f}" for one in np.nanmean(found[:, :4], axis=0))
    tenth = 100 * np.quantile(found[:, 3], 0.1)
    error = np.sqrt(found[:, 4].mean() / plain[:, 4].mean())
    width, score = (found[:, part].mean() / plain[:, part].mean() for part in (5, 6))
    print(f"| {name} | {held} | {tenth:.0f} | {error:.3f} | {width:.3f} | {score:.3f} |")


if __name__ == "__main__":
    main()
