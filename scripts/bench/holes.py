"""The whole path on floors of two generators: zone overlap, and holes near what is embedded.

    python scripts/bench/holes.py --floors 40 --first 2100

Each floor made from physics is packed as a survey folder, read and studied as a user would. Overlap
is intersection over union of the zones, contested ones included, with the floor above the wet
level. A hole is too near where anything embedded lies within 0.3 m of it that lifts the reading
right over itself by 6 noise sd and more at its nearest place; in brackets, how many of these a
sweep across the place both ways does not show (readings every 0.1 m to 0.4 m on either side, none
4 noise sd over both ends; every plan asks for it before drilling), and how many say at the hole
`sweep first`; `marked` are all holes that say so, `warned` floors whose plan says it once of all
holes, `silent` holes too near of which nothing but the caution on every plan says it. `untold` are
wet zones without a hole of which the plan says nothing, `wettest` floors with a hole in the wettest
twentieth of the undisturbed floor. Mesh, heating loops and wire lie under much of a floor and are
counted apart: no plan keeps clear of what the readings cannot show.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np
import shapely
from floors_by_others import Floor, make
from floors_by_others.folder import pack

from moisturemap.drilling.sweep_first import EVERYWHERE
from moisturemap.synthetic import SyntheticFloor, make_floor, mixed_recipe
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.study import Study, study

CLEARANCE_M, STANDS_SD = 0.3, 6.0
AREA_THINGS = ("mesh", "heating loop", "heating wire")
LOCAL_THINGS = ("pipe", "plate", "box")
SHOWS_SD = 4.0


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
    """Whether a sweep across a place, along x and along y, rises over both of its ends."""
    steps = np.arange(-4, 5) / 10.0
    for way in np.eye(2):
        row = read(place + steps[:, None] * way)
        if row.max() - max(row[0], row[-1]) >= SHOWS_SD * noise:
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


def one_by_others(family: str, seed: int, count: Counter[str]) -> float:
    """Study one floor made from physics; return the overlap of its zones."""
    floor = make(family, seed)
    with tempfile.TemporaryDirectory() as folder:
        result = study(read_survey(pack(floor, Path(folder) / "floor")))
    signal = floor.truth_signal[floor.raster.inside]
    wettest = np.quantile(signal, 0.95)

    def read(places: np.ndarray) -> np.ndarray:
        return floor.undisturbed(places) + floor.disturbed_by(places)

    hit, everywhere = False, EVERYWHERE in result.drilling.warnings
    for hole in result.drill_plan.itertuples():
        place = np.array([hole.x, hole.y])
        found = near_embedded(floor, place)
        area = [one for one in found if one[0] in AREA_THINGS]
        near = len(found) > len(area)
        hidden = near and not swept(read, floor.noise_sd, place)
        marked = "Sweep first" in hole.set_out
        count.update(holes=1, near=near, hidden=hidden, area=bool(area))
        count.update(
            marked=marked, told=near and marked, silent=near and not (marked or everywhere)
        )
        hit |= bool(floor.undisturbed(place[None])[0] >= wettest)
    count.update(untold=untold(result), wettest=hit, warned=everywhere)
    return overlap(floor, result) if floor.truth_wet.any() else np.nan


def one_by_package(seed: int, count: Counter[str]) -> float:
    """Study one floor of the package's own generator."""
    floor = make_floor(mixed_recipe(seed), seed)
    result = study(floor.survey)
    cells = result.moisture.grid.centres()
    wettest = np.quantile(floor.truth(cells), 0.95)

    def read(places: np.ndarray) -> np.ndarray:
        return floor.truth(places) + np.sum([one.at(places) for one in floor.services], axis=0)

    hit, everywhere = False, EVERYWHERE in result.drilling.warnings
    for hole in result.drill_plan.itertuples():
        place = np.array([hole.x, hole.y])
        near = bool(near_service(floor, place))
        hidden = near and not swept(read, floor.recipe.noise_sd, place)
        marked = "Sweep first" in hole.set_out
        count.update(holes=1, near=near, hidden=hidden, marked=marked, told=near and marked)
        count.update(silent=near and not (marked or everywhere))
        hit |= bool(floor.truth(place[None])[0] >= wettest)
    count.update(untold=untold(result), wettest=hit, warned=everywhere)
    return np.nan


def main() -> None:
    """Parse the command line, run, print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--floors", type=int, default=8, help="how many of each family")
    parser.add_argument("--first", type=int, default=2000, help="seed of the first")
    parser.add_argument("--families", nargs="*", default=["mixed", "dry", "clean", "package"])
    chosen = parser.parse_args()
    print(
        "| floors | n (warned) | overlap | holes (marked) | too near (no sweep shows it; marked; "
        "silent) | too near mesh, loops | untold | wettest | CPU s |\n"
        "|---|---|---|---|---|---|---|---|---|"
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
            f"| {count['near']} ({count['hidden']}; {count['told']}; {count['silent']}) "
            f"| {count['area']} | {count['untold']} | {count['wettest']} | {took:.0f} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
