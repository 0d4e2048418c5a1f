"""What the readings allow at most: wet floor mapped, and things told, by one who knows the truth.

    python scripts/bench/oracle.py --floors 50 --first 2100

Floors made from physics, as `holes.py` and `things.py` read them. Printed by spacing:

*Overlap* (intersection over union with the floor above the wet level). What things and slips add is
taken out of each reading exactly, nothing is left out, the wet level is the true one; kriged with
the covariance, of 18 Matern ones (smoothness 1/2, 3/2, 5/2, lengths 0.2 to 6.4 m, the noise known),
that does best *on this floor against the truth*. No map by kriging does better on average; `usual`
is the package's own fitted kriging of the same corrected readings.

*Recall* of readings off by 4 noise sd and more. Place, course, footprint and strength of each thing
are known, and one question is left: did it, or wet floor (`rivals`), make these readings? A thing
whose log odds are over 5 is told, with all its readings; a slip is told where it stands 4.5 sd off
what the floor's covariance foretells from its neighbours.
"""

from __future__ import annotations

import argparse
from collections import Counter, defaultdict
from dataclasses import replace

import numpy as np
import shapely
from floors_by_others import Floor, make
from floors_by_others.things import Thing
from numpy.typing import NDArray
from scipy.spatial.distance import cdist
from scipy.special import logsumexp
from things import AREA_THINGS, Case, by_others

from moisturemap.anomalies.calm import CalmFloor, fit_calm
from moisturemap.anomalies.lone import standing_alone
from moisturemap.anomalies.rivals import PRIOR_FLOOR, PRIOR_WET, WET_STRENGTHS
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.window import Window, window_about
from moisturemap.geostat import map_points

Array = NDArray[np.float64]

LENGTHS_M = (0.2, 0.4, 0.8, 1.6, 3.2, 6.4)
SMOOTH = (1, 3, 5)
ABOUT_M, MOST = 1.2, 500
WIDE_M, ALONG_M = (0.35, 0.55, 0.9), (1.0, 3.0)
TOLD, OPEN, STANDS, OFF_SD = 5.0, 2.0, 4.5, 4.0


def matern(away: Array, twice: int, length: float) -> Array:
    """Matern correlation of smoothness 1/2, 3/2 or 5/2 at distances [m]."""
    a = np.sqrt(twice) * away / length
    return np.exp(-a) * {1: 1.0, 3: 1.0 + a, 5: 1.0 + a + a**2 / 3.0}[twice]


def overlap(wet: NDArray[np.bool_], drawn: NDArray[np.bool_]) -> float:
    """Intersection over union."""
    return float((wet & drawn).sum() / max((wet | drawn).sum(), 1))


def best_map(floor: Floor, values: Array, cells: Array, wet: NDArray[np.bool_]) -> float:
    """Overlap of the best of all kriged maps of some readings (n,)."""
    between, across = cdist(floor.points, floor.points), cdist(cells, floor.points)
    found = []
    noise = floor.noise_sd**2 / max(values.var(), 1e-9)
    for twice in SMOOTH:
        for length in LENGTHS_M:
            matrix = matern(between, twice, length) + noise * np.eye(len(values))
            ones = np.linalg.solve(matrix, np.column_stack([np.ones_like(values), values]))
            level = ones[:, 1].sum() / ones[:, 0].sum()
            weights = ones[:, 1] - level * ones[:, 0]
            drawn = level + matern(across, twice, length) @ weights > floor.wet_level
            found.append(overlap(wet, drawn))
    return max(found)


def wet_floor(floor: Floor) -> tuple[float, float, float]:
    """Overlap of the best map, of the usual one, and of the usual one with nothing taken out."""
    rows, columns = np.nonzero(floor.raster.inside)
    cells = np.column_stack([floor.x[columns], floor.y[rows]])
    wet = floor.truth_wet[rows, columns]
    values = floor.values - floor.slip - floor.disturbance
    usual = [
        overlap(wet, map_points(floor.points, one, cells)[0] > floor.wet_level)
        for one in (values, floor.values.astype(float))
    ]
    return best_map(floor, values, cells, wet), usual[0], usual[1]


def rivals_of(window: Window, thing: Thing, points: Array, span: float) -> float:
    """Log evidence of no thing: the floor as seen beside it, or smooth wet floor."""
    away = shapely.distance(thing.geometry, shapely.points(points))
    apart = cdist(points, points)
    wet = []
    for wide in WIDE_M:
        for along in ALONG_M:
            smooth = np.exp(-0.5 * (apart / along) ** 2)
            for share in WET_STRENGTHS:
                envelope = share * span * np.exp(-0.5 * (away / wide) ** 2)
                wet.append(window.fit(np.outer(envelope, envelope) * smooth).log_likelihood)
    plain = window.fit().log_likelihood + np.log(PRIOR_FLOOR)
    return float(np.logaddexp(plain, logsumexp(wet) - np.log(len(wet)) + np.log(PRIOR_WET)))


def log_odds(case: Case, known: Scene, calm: CalmFloor, thing: Thing) -> float:
    """Log odds that a thing, known to the last digit, made its readings and not wet floor."""
    assert case.floor is not None
    added = case.floor.disturbed_by(case.floor.taken_at, (thing,))
    away = shapely.distance(thing.geometry, shapely.points(known.points))
    near = np.flatnonzero(away <= max(ABOUT_M, 2.2 * known.spacing))
    near = near[np.argsort(away[near], kind="stable")][:MOST]
    hidden = np.abs(added[near]) > 0.05 * np.abs(added).max()
    window = window_about(known, calm, known.values + added, near, hidden, [])
    without = replace(window, values=window.values - added[near])
    rivals = rivals_of(window, thing, known.points[near], known.span)
    return without.fit().log_likelihood - rivals


def told(case: Case, count: Counter[str]) -> None:
    """Count the readings off by 4 noise sd that an oracle tells, leaves open and misses."""
    floor = case.floor
    assert floor is not None
    known = replace(case.scene, values=floor.values - floor.slip - floor.disturbance)
    calm = fit_calm(known)
    strong = (case.off >= OFF_SD) & case.local
    best = np.full(strong.size, -np.inf)
    for thing in floor.things:
        added = np.abs(floor.disturbed_by(floor.taken_at, (thing,))) / floor.noise_sd
        if thing.kind not in AREA_THINGS and (added >= OFF_SD).any():
            odds = log_odds(case, known, calm, thing)
            best[added >= OFF_SD] = np.maximum(best[added >= OFF_SD], odds)
    residual, sd = standing_alone(known, calm, known.values + floor.slip, np.ones_like(strong))
    best[(floor.slip != 0) & (np.abs(residual) > STANDS * sd)] = np.inf
    count["told"] += int((strong & (best > TOLD)).sum())
    count["open"] += int((strong & (best > OPEN) & (best <= TOLD)).sum())
    count["missed"] += int((strong & (best <= OPEN)).sum())


def main() -> None:
    """Parse the command line, run, print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--floors", type=int, default=50, help="how many of each family")
    parser.add_argument("--first", type=int, default=2100, help="seed of the first")
    chosen = parser.parse_args()
    maps: dict[str, list[tuple[float, float, float]]] = defaultdict(list)
    for seed in range(chosen.first, chosen.first + chosen.floors):
        floor = make("mixed", seed)
        if floor.truth_wet.any():
            found = wet_floor(floor)
            maps["all"].append(found)
            maps[f"{floor.spacing_m:.2f} m"].append(found)
    print("| spacing | n | best map | usual map | with the things |\n|---|---|---|---|---|")
    for name in sorted(maps):
        best, usual, raw = np.mean(maps[name], axis=0)
        print(f"| {name} | {len(maps[name])} | {best:.2f} | {usual:.2f} | {raw:.2f} |")
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    for family in ("mixed", "dry", "clean"):
        for seed in range(chosen.first, chosen.first + chosen.floors):
            case = by_others(family, seed)
            one: Counter[str] = Counter()
            told(case, one)
            counts["all"] += one
            counts[f"{case.scene.spacing:.2f} m"] += one
    print("\n| spacing | told | open | missed | recall | F1 |\n|---|---|---|---|---|---|")
    for name in sorted(counts):
        found, missed = counts[name]["told"], counts[name]["missed"]
        recall = found / max(found + missed, 1)
        print(
            f"| {name} | {found} | {counts[name]['open']} | {missed} | {recall:.2f} "
            f"| {2 * recall / (1 + recall):.2f} |"
        )


if __name__ == "__main__":
    main()
