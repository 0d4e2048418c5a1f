"""Count wet floor at walls, in corners and at doors that is set aside as a pipe.

    python scripts/bench/wall_water.py --floors 12

The outermost row reads such water as it would read a pipe along the wall. Floors of 10 m x 7 m,
dry at 30, wet up to 80 (level 55), noise 1.5 to 2.5, read from half a spacing off the walls, seen
through a footprint of 0.12 m. `lost` are floors on which half and more of the wet area drops below
the level when the readings that are no things are kriged; in brackets, with nothing set aside.
`set aside` are readings above the level that leave the map. With `--sweeps` the proposed sweeps are
read and the floor is searched again.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray
from scipy.special import expit
from shapely.geometry import box
from things import USUAL_FOOTPRINT_M, Case, Scene, drawn_wet, standings

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.scanning import confirming_sweeps, sweep_places

Array = NDArray[np.float64]
Water = Callable[[Array], Array]

WIDTH, DEPTH, DRY, RISE, LEVEL = 10.0, 7.0, 30.0, 50.0, 55.0
SPACINGS = (0.25, 0.35, 0.5, 0.7)
HEAD = np.array([(i, j) for i in (-1, 0, 1) for j in (-1, 0, 1)]) * 1.22 * USUAL_FOOTPRINT_M
SHARE = np.outer((1, 2, 1), (1, 2, 1)).ravel() / 16.0


def waters(rng: np.random.Generator) -> dict[str, Water]:
    """How far each kind of water lifts places (n, 2), 0 to 1."""
    phase, reach = rng.uniform(0, 6), rng.uniform(0.35, 0.65)
    start, stop = sorted(rng.uniform(0.5, 9.5, 2))
    start, stop = (start, stop) if stop - start > 3 else (1.0, 8.0)

    def front(depth: Array, along: Array) -> Array:
        ragged = reach + 0.08 * np.sin(2.0 * along + phase) + 0.03 * np.sin(5.1 * along)
        return np.asarray(expit((ragged - depth) / 0.05))

    def ends(along: Array) -> Array:
        return np.asarray(expit((along - start) / 0.2) * expit((stop - along) / 0.2))

    return {
        "wall": lambda p: front(p[:, 1], p[:, 0]) * ends(p[:, 0]),
        "whole wall": lambda p: front(DEPTH - p[:, 1], p[:, 0]),
        "wall, soft front": lambda p: 1.1 * np.exp(-p[:, 1] / 0.4) * ends(p[:, 0]),
        "corner": lambda p: expit((1.1 - np.hypot(p[:, 0], p[:, 1])) / 0.05),
        "two walls": lambda p: np.maximum(front(p[:, 1], p[:, 0]), front(p[:, 0], p[:, 1])),
        "threshold": lambda p: expit((1.0 - np.hypot(p[:, 0] - 5.0, 1.4 * p[:, 1])) / 0.05),
    }


def made(kind: str, spacing: float, seed: int) -> tuple[Case, Callable[[Array], Array]]:
    """Return a floor and what the meter reads on it anywhere."""
    rng = np.random.default_rng([seed, int(100 * spacing)])
    water, noise = waters(rng)[kind], float(rng.uniform(1.5, 2.5))
    waves = rng.uniform(0.5, 1.6, (4, 2))

    def true(places: Array) -> Array:
        swell = np.sin(places @ waves.T).sum(axis=1)
        return np.asarray(DRY + 0.8 * swell + RISE * water(places))

    def read(places: Array) -> Array:
        seen = SHARE @ np.array([true(places + step) for step in HEAD])
        return np.asarray(np.clip(np.round(seen + rng.normal(0, noise, len(places))), 0, 100))

    x, y = np.arange(spacing / 2, WIDTH, spacing), np.arange(spacing / 2, DEPTH, spacing)
    points = np.column_stack([part.ravel() for part in np.meshgrid(x, y)])
    across, up = np.arange(0.05, WIDTH, 0.1), np.arange(0.05, DEPTH, 0.1)
    cells = np.column_stack([part.ravel() for part in np.meshgrid(across, up)])
    wet = true(cells) > LEVEL
    plan = FloorPlan((Room("hall", box(0, 0, WIDTH, DEPTH)),))
    nothing = np.zeros(len(points))
    scene = scene_of_readings(points, read(points), spacing)
    seen = [np.flatnonzero(wet)]
    case = Case(kind, scene, noise, nothing, nothing == 0, cells, wet, seen, plan)
    return case, read


def scene_of_readings(points: Array, values: Array, spacing: float) -> Scene:
    """Return what a search looks at."""
    ones, step = np.ones(len(points)), 1.0 / 12.0
    return Scene(
        points, values, ones, 0 * ones, spacing, USUAL_FOOTPRINT_M, step, 100.0, 100.0, LEVEL
    )


def swept(case: Case, found: gpd.GeoDataFrame, read: Callable[[Array], Array]) -> Case:
    """Return the floor with its proposed sweeps read."""
    sweeps = confirming_sweeps(found, case.plan)
    if sweeps.empty:
        return case
    places = np.vstack([sweep_places(line) for line in sweeps.geometry])
    points = np.vstack([case.scene.points, places + 1e-4])
    values = np.concatenate([case.scene.values, read(places)])
    scene = scene_of_readings(points, values, case.scene.spacing)
    return Case(
        case.group,
        scene,
        case.noise,
        np.zeros(len(points)),
        np.ones(len(points), dtype=bool),
        case.cells,
        case.wet,
        case.patches,
        case.plan,
    )


def tally(kind: str, spacing: float, seeds: range, sweeps: bool) -> list[int]:
    """Lost, lost anyway, floors with a reading set aside, readings above the level, set aside."""
    counts = np.zeros(5, dtype=int)
    for seed in seeds:
        case, read = made(kind, spacing, seed)
        marks, found = standings(case, case.scene)
        if sweeps:
            case = swept(case, found, read)
            marks, _ = standings(case, case.scene)
        high = case.scene.values > LEVEL
        gone = high & (marks == 2)
        lost = drawn_wet(case, marks != 2)[case.wet].mean() < 0.5
        anyway = drawn_wet(case, marks >= 0)[case.wet].mean() < 0.5
        counts += [lost, anyway, gone.any(), high.sum(), gone.sum()]
    return [int(count) for count in counts]


def main() -> None:
    """Parse the command line, run, print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--floors", type=int, default=12, help="how many of each kind and spacing")
    parser.add_argument("--first", type=int, default=0, help="seed of the first")
    parser.add_argument("--sweeps", action="store_true", help="read the proposed sweeps too")
    chosen = parser.parse_args()
    seeds = range(chosen.first, chosen.first + chosen.floors)
    print("| water | spacing, m | floors | lost | with any set aside | readings set aside |")
    print("|---|---|---|---|---|---|")
    for kind in waters(np.random.default_rng(0)):
        for spacing in SPACINGS:
            lost, anyway, some, high, gone = tally(kind, spacing, seeds, chosen.sweeps)
            print(
                f"| {kind} | {spacing} | {chosen.floors} | {lost} ({anyway}) | {some} | "
                f"{gone} of {high} |",
                flush=True,
            )


if __name__ == "__main__":
    main()
