"""How much of the wet floor the readings allow to be mapped at most, by one who knows the truth.

    python scripts/bench/oracle.py --floors 25 --first 2500

Floors made from physics, as `holes.py` and `things.py` read them. Printed by spacing, on mixed and
on clean floors: *overlap* (intersection over union with the floor above the wet level) and the part
of wet patches *outside*. What things and slips add is taken out of each reading exactly, nothing is
left out, the wet level is the true one; kriged with the covariance, of 18 Matern ones (smoothness
1/2, 3/2, 5/2, lengths 0.2 to 6.4 m, the noise known), that does best *on this floor against the
truth*. No map by kriging does better on average; `usual` is the package's own fitted kriging of the
same corrected readings. Which things can be told at most: `told_at_most.py`.
"""

from __future__ import annotations

import argparse
from collections import defaultdict

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import cdist
from things import Case, by_others

from moisturemap.geostat import map_points

Array = NDArray[np.float64]

LENGTHS_M = (0.2, 0.4, 0.8, 1.6, 3.2, 6.4)
SMOOTH = (1, 3, 5)
CHUNK = 2000


def matern(away: Array, twice: int, length: float) -> Array:
    """Matern correlation of smoothness 1/2, 3/2 or 5/2 at distances [m]."""
    a = np.sqrt(twice) * away / length
    return np.exp(-a) * {1: 1.0, 3: 1.0 + a, 5: 1.0 + a + a**2 / 3.0}[twice]


def overlap(wet: NDArray[np.bool_], drawn: NDArray[np.bool_]) -> float:
    """Intersection over union."""
    return float((wet & drawn).sum() / max((wet | drawn).sum(), 1))


def best_map(case: Case, values: Array) -> tuple[float, float]:
    """Overlap of the best of all kriged maps of some readings (n,), and the least outside."""
    floor = case.floor
    assert floor is not None
    between = cdist(floor.points, floor.points)
    noise = floor.noise_sd**2 / max(values.var(), 1e-9)
    krigings = []
    for twice in SMOOTH:
        for length in LENGTHS_M:
            matrix = matern(between, twice, length) + noise * np.eye(len(values))
            ones = np.linalg.solve(matrix, np.column_stack([np.ones_like(values), values]))
            level = ones[:, 1].sum() / ones[:, 0].sum()
            krigings.append((twice, length, level, ones[:, 1] - level * ones[:, 0]))
    drawn: list[list[NDArray[np.bool_]]] = [[] for _ in krigings]
    for cells in np.array_split(case.cells, max(len(case.cells) // CHUNK, 1)):
        across = cdist(cells, floor.points)
        for part, (twice, length, level, weights) in zip(drawn, krigings, strict=True):
            part.append(level + matern(across, twice, length) @ weights > floor.wet_level)
    maps = [np.concatenate(parts) for parts in drawn]
    overlaps = [overlap(case.wet, one) for one in maps]
    best = int(np.argmax(overlaps))
    return overlaps[best], outside(case, maps[best])


def outside(case: Case, drawn: NDArray[np.bool_]) -> float:
    """Area of the wet patches that four readings see and that are not drawn [cells]."""
    return float(sum((~drawn[patch]).sum() for patch in case.patches))


def wet_floor(case: Case) -> tuple[float, ...]:
    """Overlap and area outside of the best map, of the usual one and of the readings as they are.

    And the area of the patches [cells].
    """
    floor = case.floor
    assert floor is not None
    values = floor.values - floor.slip - floor.disturbance
    found = [*best_map(case, values)]
    for one in (values, floor.values.astype(float)):
        drawn = map_points(floor.points, one, case.cells)[0] > floor.wet_level
        found += [overlap(case.wet, drawn), outside(case, drawn)]
    return (*found, float(sum(patch.size for patch in case.patches)))


def print_maps(cases: list[Case]) -> None:
    """Print what of the wet floor is mapped."""
    maps: dict[str, list[tuple[float, ...]]] = defaultdict(list)
    for case in cases:
        if case.wet.any():
            found = wet_floor(case)
            for name in (case.group.removeprefix("others, "), f"{case.scene.spacing:.2f} m"):
                maps[name].append(found)
    print("| floors | n | overlap: best | usual | with the things | outside: best | usual |")
    print("|---|---|---|---|---|---|---|")
    for name in sorted(maps):
        table = np.array(maps[name])
        area = max(table[:, 6].sum(), 1.0)
        best, usual, raw = table[:, [0, 2, 4]].mean(axis=0)
        lost = table[:, [1, 3]].sum(axis=0) / area
        print(
            f"| {name} | {len(table)} | {best:.2f} | {usual:.2f} | {raw:.2f} "
            f"| {lost[0]:.1%} | {lost[1]:.1%} |"
        )


def main() -> None:
    """Parse the command line, run, print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--floors", type=int, default=50, help="how many of each family")
    parser.add_argument("--first", type=int, default=2100, help="seed of the first")
    chosen = parser.parse_args()
    seeds = range(chosen.first, chosen.first + chosen.floors)
    cases = [by_others(family, seed) for family in ("mixed", "clean") for seed in seeds]
    print_maps(cases)


if __name__ == "__main__":
    main()
