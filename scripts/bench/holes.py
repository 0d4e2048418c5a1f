"""The whole path on floors made from physics: zone overlap, and holes near what is embedded.

    python scripts/bench/holes.py --floors 8 --first 2000

Each floor is packed as a survey folder, read and studied as a user would. Overlap is intersection
over union of the zones, contested ones included, with the floor above the wet level. A hole is too
near where anything embedded lies within 0.3 m of it that lifts the reading right over itself by 6
noise sd and more at its nearest place. Mesh, heating loops and wire lie under much of a floor and
are counted apart: no plan keeps clear of what the readings cannot show.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from pathlib import Path

import numpy as np
import shapely
from floors_by_others import Floor, make
from floors_by_others.folder import pack

from moisturemap.workflow.read import read_survey
from moisturemap.workflow.study import Study, study

CLEARANCE_M, STANDS_SD = 0.3, 6.0
AREA_THINGS = ("mesh", "heating loop", "heating wire")


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


def overlap(floor: Floor, result: Study) -> float:
    """Intersection over union of zones and wet floor; NaN where there is neither."""
    rows, columns = np.nonzero(floor.raster.inside)
    wet = floor.truth_wet[rows, columns]
    drawn = np.zeros(wet.size, dtype=bool)
    if len(result.zones):
        union = shapely.union_all(result.zones.geometry.to_numpy())
        drawn = shapely.intersects_xy(union, floor.x[columns], floor.y[rows])
    return float((wet & drawn).sum() / (wet | drawn).sum()) if (wet | drawn).any() else np.nan


def main() -> None:
    """Parse the command line, run, print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--floors", type=int, default=8, help="how many of each family")
    parser.add_argument("--first", type=int, default=2000, help="seed of the first")
    parser.add_argument("--families", nargs="*", default=["mixed", "dry", "clean"])
    chosen = parser.parse_args()
    print("| floors | n | overlap | holes | too near | too near mesh and loops | CPU s |")
    print("|---|---|---|---|---|---|---|")
    for family in chosen.families:
        count, overlaps, began = Counter[str](), [], time.process_time()
        for seed in range(chosen.first, chosen.first + chosen.floors):
            floor = make(family, seed)
            with tempfile.TemporaryDirectory() as folder:
                result = study(read_survey(pack(floor, Path(folder) / "floor")))
            if floor.truth_wet.any():
                overlaps.append(overlap(floor, result))
            for hole in result.drill_plan.itertuples():
                found = near_embedded(floor, np.array([hole.x, hole.y]))
                area = [one for one in found if one[0] in AREA_THINGS]
                count.update(holes=1, near=len(found) > len(area), area=bool(area))
                for kind, lift in found:
                    if kind not in AREA_THINGS:
                        print(f"  {family} {seed} {hole.hole}: {kind}, {lift:.0f} noise sd")
        took = time.process_time() - began
        mean = f"{np.nanmean(overlaps):.2f}" if overlaps else "-"
        print(
            f"| {family} | {chosen.floors} | {mean} | {count['holes']} | {count['near']} | "
            f"{count['area']} | {took:.0f} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
