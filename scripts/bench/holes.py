"""The whole path on floors of two generators: zone overlap, and holes near what is embedded.

    python scripts/bench/holes.py --floors 40 --first 2100

Each floor made from physics is packed as a survey folder, read and studied as a user would. Overlap
is intersection over union of the zones, contested ones included, with the floor above the wet
level. A hole is too near where anything embedded lies within 0.3 m of it that lifts the reading
right over itself by 6 noise sd and more at its nearest place; in brackets, how many of these say at
the hole `sweep first`; `marked` are all holes that say so, `warned` floors whose plan says it once
of all holes, `silent` holes too near of which nothing but the caution on every plan says it.
`Untold` are wet zones without a hole of which the plan says nothing, `wettest` floors with a hole
in the wettest twentieth of the undisturbed floor. `After sweeps` does as every plan asks: the meter
is swept across each place both ways (every 0.1 m to 0.4 m on either side), a place where it rises
by 4 noise sd over a lower reading on both sides is rejected and the rest planned again, up to four
times; what still rises is not drilled. Mesh, heating loops and wire lie under much of a floor and
are counted apart: no plan keeps clear of what the readings cannot show.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from floors_by_others import Floor, make
from floors_by_others.folder import pack

from moisturemap.drilling import DrillOptions, plan_holes
from moisturemap.drilling.sweep_first import EVERYWHERE
from moisturemap.synthetic import SyntheticFloor, make_floor, mixed_recipe
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.study import Study, study

CLEARANCE_M, STANDS_SD = 0.3, 6.0
AREA_THINGS = ("mesh", "heating loop", "heating wire")
LOCAL_THINGS = ("pipe", "plate", "box")
SHOWS_SD, ROUNDS = 4.0, 4


def near_embedded(floor: Floor, place: np.ndarray) -> list[tuple[str, float]]:
    """Kind and height [noise sd] of what lies too near a place (2,)."""
    found = []
    for thing in floor.things:
        away = np.hypot(*(thing.nodes - place).T)
        near = thing.nodes[away < CLEARANCE_M]
        if len(near):
            lift = np.abs(floor.disturbed_by(near, (thing,))).max() / floor.noise_sd
            if lift >= STANDS_SD:
                found.append((thing.kind, float(lift)))
    return found


def near_service(floor: SyntheticFloor, place: np.ndarray) -> list[tuple[str, float]]:
    """Return the same on a floor of the package's own generator."""
    found = []
    for one in floor.services:
        near = one.geometry.distance(shapely.Point(place)) < CLEARANCE_M
        lift = abs(one.strength) / floor.recipe.noise_sd
        if one.kind in LOCAL_THINGS and near and lift >= STANDS_SD:
            found.append((one.kind, lift))
    return found


def swept(read: Callable[[np.ndarray], np.ndarray], noise: float, place: np.ndarray) -> bool:
    """Whether a sweep across a place, along x and along y, rises, if only on a slope, or dips."""
    steps = np.arange(-4, 5) / 10.0
    for way in np.eye(2):
        row = read(place + steps[:, None] * way)
        before = np.minimum.accumulate(row)
        after = np.minimum.accumulate(row[::-1])[::-1]
        if (row - np.maximum(before, after)).max() >= SHOWS_SD * noise:
            return True
        if row[[0, -1]].max() - row[4] >= SHOWS_SD * noise:
            return True
    return False


def untold(result: Study) -> int:
    """Wet zones without a hole of which the plan says nothing."""
    holes = result.drill_plan[["x", "y"]].to_numpy(float)
    told = " ".join(result.drilling.unreached)
    return sum(
        not shapely.intersects_xy(zone.geometry, *holes.T).any()
        and f"zone {zone.zone} " not in told
        for zone in result.zones.itertuples()
    )


def overlap(floor: Floor, result: Study) -> float:
    """Intersection over union of zones and wet floor; NaN where there is neither."""
    rows, columns = np.nonzero(floor.raster.inside)
    wet = floor.truth_wet[rows, columns]
    drawn = np.zeros(wet.size, dtype=bool)
    if len(result.zones):
        union = shapely.union_all(result.zones.geometry.to_numpy())
        drawn = shapely.intersects_xy(union, floor.x[columns], floor.y[rows])
    return float((wet & drawn).sum() / (wet | drawn).sum()) if (wet | drawn).any() else np.nan


@dataclass(frozen=True)
class Truth:
    """What is true of a floor: what lies ``near`` a place, what a meter would ``read``, how wet."""

    near: Callable[[np.ndarray], list[tuple[str, float]]]
    read: Callable[[np.ndarray], np.ndarray]
    wet: Callable[[np.ndarray], np.ndarray]
    wettest: float
    noise: float

    def rises(self, place: np.ndarray) -> bool:
        """Whether the sweep every plan asks for rises at a place (2,)."""
        return swept(self.read, self.noise, place)


def too_near(truth: Truth, place: np.ndarray) -> tuple[bool, bool]:
    """Whether something local lies too near a place (2,), and whether mesh or a loop does."""
    kinds = [kind for kind, _ in truth.near(place)]
    area = sum(kind in AREA_THINGS for kind in kinds)
    return len(kinds) > area, area > 0


def after_sweeps(result: Study, truth: Truth, count: Counter[str]) -> Study:
    """Plan again without the places whose sweep rises, as the plan asks; count what is left."""
    rejected: list[tuple[float, float]] = []
    for _ in range(ROUNDS):
        places = result.drill_plan[["x", "y"]].to_numpy(float)
        rising = [(float(x), float(y)) for x, y in places if truth.rises(np.array([x, y]))]
        if not rising:
            break
        rejected += rising
        options = DrillOptions(rejected=tuple(rejected))
        result = replace(result, drilling=plan_holes(result, options=options))
    for place in result.drill_plan[["x", "y"]].to_numpy(float):
        drilled = not truth.rises(place)
        count.update(drilled=drilled, still=drilled and too_near(truth, place)[0])
    count.update(untold_after=untold(result))
    return result


def count_holes(result: Study, truth: Truth, count: Counter[str]) -> None:
    """Count the holes of a plan, as proposed and after their sweeps."""
    hit, everywhere = False, EVERYWHERE in result.drilling.warnings
    for hole in result.drill_plan.itertuples():
        place = np.array([hole.x, hole.y])
        near, area = too_near(truth, place)
        marked = "Sweep first" in hole.set_out
        count.update(holes=1, near=near, area=area, marked=marked, told=near and marked)
        count.update(silent=near and not (marked or everywhere))
        hit |= bool(truth.wet(place[None])[0] >= truth.wettest)
    count.update(untold=untold(result), wettest=hit, warned=everywhere)
    after_sweeps(result, truth, count)


def one_by_others(family: str, seed: int, count: Counter[str]) -> float:
    """Study one floor made from physics; return the overlap of its zones."""
    floor = make(family, seed)
    with tempfile.TemporaryDirectory() as folder:
        result = study(read_survey(pack(floor, Path(folder) / "floor")))
    wettest = float(np.quantile(floor.truth_signal[floor.raster.inside], 0.95))
    truth = Truth(
        lambda place: near_embedded(floor, place),
        floor.sweep,
        floor.undisturbed,
        wettest,
        floor.noise_sd,
    )
    count_holes(result, truth, count)
    return overlap(floor, result) if floor.truth_wet.any() else np.nan


def one_by_package(seed: int, count: Counter[str]) -> float:
    """Study one floor of the package's own generator."""
    floor = make_floor(mixed_recipe(seed), seed)
    result = study(floor.survey)
    noise, random = floor.recipe.noise_sd, np.random.default_rng(seed)

    def read(places: np.ndarray) -> np.ndarray:
        exact = floor.truth(places) + np.sum([one.at(places) for one in floor.services], axis=0)
        return exact + random.normal(0.0, noise, len(places))

    wettest = float(np.quantile(floor.truth(result.moisture.grid.centres()), 0.95))
    truth = Truth(lambda place: near_service(floor, place), read, floor.truth, wettest, noise)
    count_holes(result, truth, count)
    return np.nan


def main() -> None:
    """Parse the command line, run, print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--floors", type=int, default=8, help="how many of each family")
    parser.add_argument("--first", type=int, default=2000, help="seed of the first")
    parser.add_argument("--families", nargs="*", default=["mixed", "dry", "clean", "package"])
    chosen = parser.parse_args()
    print(
        "| floors | n (warned) | overlap | holes (marked) | too near (marked; silent) | after "
        "sweeps: drilled | too near | untold | too near mesh, loops | untold | wettest | CPU s |\n"
        "|---|---|---|---|---|---|---|---|---|---|---|---|"
    )
    for family in chosen.families:
        count, overlaps, began = Counter[str](), [], time.process_time()
        for seed in range(chosen.first, chosen.first + chosen.floors):
            package = family == "package"
            overlaps.append(
                one_by_package(seed, count) if package else one_by_others(family, seed, count)
            )
        took = time.process_time() - began
        mean = f"{np.nanmean(overlaps):.2f}" if np.isfinite(overlaps).any() else "-"
        print(
            f"| {family} | {chosen.floors} ({count['warned']}) | {mean} "
            f"| {count['holes']} ({count['marked']}) "
            f"| {count['near']} ({count['told']}; {count['silent']}) "
            f"| {count['drilled']} | {count['still']} | {count['untold_after']} "
            f"| {count['area']} | {count['untold']} | {count['wettest']} | {took:.0f} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
