"""Time and memory of the search for things on large floors.

    python scripts/bench/search_pace.py 500 5000 200000

A square floor read every 0.5 m: a wet patch and two pipes on every 400 m2, slow texture, noise of
1.2% of the scale. Printed are CPU seconds of the search, the peak of memory and what was found;
beside it, as a yardstick of the machine in the same run, one kriging of the same readings to as
many cells.
"""

from __future__ import annotations

import argparse
import resource
import time

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.scene import USUAL_FOOTPRINT_M, Scene
from moisturemap.anomalies.search import search
from moisturemap.geostat import map_points

Array = NDArray[np.float64]

SPACING, BAY, NOISE, LEVEL = 0.5, 20.0, 1.2, 40.0


def floor_of(count: int, seed: int = 0) -> Scene:
    """Return readings of a square floor with a patch and two pipes in every bay."""
    rng = np.random.default_rng(seed)
    side = int(np.ceil(np.sqrt(count)))
    axis = (np.arange(side) + 0.5) * SPACING
    points = np.column_stack([part.ravel() for part in np.meshgrid(axis, axis)])[:count]
    swell = 3 * np.sin(points[:, 0] / 7.0) * np.cos(points[:, 1] / 9.0)
    values = 22.0 + swell
    bays = int(np.ceil(side * SPACING / BAY))
    for column in range(bays):
        for row in range(bays):
            corner = np.array([column, row]) * BAY
            near = np.flatnonzero(
                ((points >= corner - 2) & (points <= corner + BAY + 2)).all(axis=1)
            )
            values[near] += _bay(points[near] - corner, rng)
    shown = np.clip(np.round(values + rng.normal(0, NOISE, len(points))), 0, 100)
    ones = np.ones(len(points))
    return Scene(
        points, shown, ones, 0 * ones, SPACING, USUAL_FOOTPRINT_M, 1 / 12, 100.0, 100.0, LEVEL
    )


def _bay(places: Array, rng: np.random.Generator) -> Array:
    """Return what a wet patch and two pipes add to the readings of one bay."""
    middle, reach = rng.uniform(4, BAY - 4, 2), rng.uniform(0.8, 2.5)
    added = 40 * np.exp(-0.5 * (np.hypot(*(places - middle).T) / reach) ** 2)
    for _ in range(2):
        pipe = Ridge(
            tuple(rng.uniform(4, BAY - 4, 2)), rng.uniform(0, np.pi), rng.uniform(4, 12), 0.13
        )
        added += rng.uniform(10, 30) * pipe.rise(places)
    return np.asarray(added)


def main() -> None:
    """Parse the command line, run, print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("counts", type=int, nargs="*", default=[500, 5000])
    print("| readings | search, CPU s | kriging, CPU s | peak memory, MB | things | contested |")
    print("|---|---|---|---|---|---|")
    for count in parser.parse_args().counts:
        scene = floor_of(count)
        begin = time.process_time()
        finds = search(scene)
        took = time.process_time() - begin
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        begin = time.process_time()
        map_points(scene.points, scene.values, scene.points + 0.1)
        krige = time.process_time() - begin
        found = f"{len(finds.things)} | {len(finds.contested)}"
        print(f"| {count} | {took:.2f} | {krige:.2f} | {peak:.0f} | {found} |", flush=True)


if __name__ == "__main__":
    main()
