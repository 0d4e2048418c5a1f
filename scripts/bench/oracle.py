"""What the readings allow at most: wet floor mapped, and things told, by one who knows the truth.

    python scripts/bench/oracle.py --floors 25 --first 2500

Floors made from physics, as `holes.py` and `things.py` read them. Printed by spacing:

*Overlap* (intersection over union with the floor above the wet level) and the part of wet patches
*outside*, on mixed and on clean floors. What things and slips add is taken out of each reading
exactly, nothing is left out, the wet level is the true one; kriged with the covariance, of 18
Matern ones (smoothness 1/2, 3/2, 5/2, lengths 0.2 to 6.4 m, the noise known), that does best *on
this floor against the truth*. No map by kriging does better on average; `usual` is the package's
own fitted kriging of the same corrected readings.

*Recall* of readings off by 4 noise sd and more, twice. `Known`: place, course, footprint and
strength of each thing are known, and one question is left: did it, or wet floor (`rivals`), make
these readings? `To be found`: what one knows who knows the physics and not the floor. The response
of each thing to each reading is known to the last digit but for its strength (the half-normal
prior of the package), and it is one of as many as could lie there: the log odds are less by the
log of how many courses, half a footprint apart, the floor has room for. A thing whose log odds are
over 5 is told, with all its readings, and over 0 open; a slip is told where it stands 4.5 sd off
what the floor's covariance foretells from its neighbours. `Contested` is the share of readings off
by 2 noise sd and more by things left open.
"""

from __future__ import annotations

import argparse
from collections import Counter, defaultdict
from dataclasses import replace

import numpy as np
import shapely
from floors_by_others.things import Thing
from numpy.typing import NDArray
from scipy.spatial.distance import cdist
from scipy.special import logsumexp
from things import AREA_THINGS, Case, by_others

from moisturemap.anomalies.calm import CalmFloor, fit_calm
from moisturemap.anomalies.lone import standing_alone
from moisturemap.anomalies.rivals import PRIOR_FLOOR, PRIOR_WET, WET_STRENGTHS
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.window import Window, log_evidence, window_about
from moisturemap.geostat import map_points

Array = NDArray[np.float64]

LENGTHS_M = (0.2, 0.4, 0.8, 1.6, 3.2, 6.4)
SMOOTH = (1, 3, 5)
ABOUT_M, MOST = 1.2, 500
CHUNK = 2000
WIDE_M, ALONG_M = (0.35, 0.55, 0.9), (1.0, 3.0)
TOLD, OPEN, STANDS, OFF_SD, SHOWN_SD = 5.0, 0.0, 4.5, 4.0, 2.0
ROUND_THINGS = ("metal plate", "floor box", "post bases", "tie wire")


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


def log_odds(case: Case, known: Scene, calm: CalmFloor, thing: Thing) -> tuple[float, float]:
    """Log odds that a thing made its readings and not wet floor: all known, and to be found."""
    assert case.floor is not None
    added = case.floor.disturbed_by(case.floor.taken_at, (thing,))
    away = shapely.distance(thing.geometry, shapely.points(known.points))
    near = np.flatnonzero(away <= max(ABOUT_M, 2.2 * known.spacing))
    near = near[np.argsort(away[near], kind="stable")][:MOST]
    hidden = np.abs(added[near]) > 0.05 * np.abs(added).max()
    window = window_about(known, calm, known.values + added, near, hidden, [])
    without = replace(window, values=window.values - added[near])
    rivals = rivals_of(window, thing, known.points[near], known.span)
    fitted, unit = window.fit(), added[near] / np.abs(added).max()
    _, information, score = fitted.project(unit[:, None] * np.sign(unit.sum()))
    found = fitted.log_likelihood + float(log_evidence(information, np.abs(score), known.span)[0])
    return without.fit().log_likelihood - rivals, found - rivals - log_courses(case, thing)


def log_courses(case: Case, thing: Thing) -> float:
    """Log of how many places or courses of a thing a floor has room for.

    Half a footprint apart: a straight run along a wall has one number of its own, each bend
    another, an aslant one two, what is round has two.
    """
    assert case.floor is not None
    step = 0.5 * case.floor.footprint_m
    west, south, east, north = case.plan.bounds
    sides = np.array([east - west, north - south]) / step
    if thing.kind in ROUND_THINGS:
        return float(np.log(sides).sum())
    corners = shapely.get_coordinates(shapely.get_parts(thing.geometry)[0].simplify(0.1))
    numbers = max(len(corners) - 1, 1)
    ways = np.abs(np.diff(corners, axis=0)).min(axis=1) if len(corners) > 1 else np.zeros(1)
    numbers += int(numbers == 1 and ways[0] > 2 * step)
    return float(np.log(sides.sum()) + (numbers - 1) * np.log(sides.mean()))


def told(case: Case, known_count: Counter[str], found_count: Counter[str]) -> None:
    """Count the readings off by 4 noise sd that an oracle tells, leaves open and misses."""
    floor = case.floor
    assert floor is not None
    known = replace(case.scene, values=floor.values - floor.slip - floor.disturbance)
    calm = fit_calm(known)
    strong = (case.off >= OFF_SD) & case.local
    best = np.full((2, strong.size), -np.inf)
    for thing in floor.things:
        added = np.abs(floor.disturbed_by(floor.taken_at, (thing,))) / floor.noise_sd
        if thing.kind not in AREA_THINGS and (added >= OFF_SD).any():
            shown = added >= SHOWN_SD
            odds = np.array(log_odds(case, known, calm, thing))
            best[:, shown] = np.maximum(best[:, shown], odds[:, None])
    residual, sd = standing_alone(known, calm, known.values + floor.slip, np.ones_like(strong))
    best[:, (floor.slip != 0) & (np.abs(residual) > STANDS * sd)] = np.inf
    for count, one in zip((known_count, found_count), best, strict=True):
        open_ = (one > OPEN) & (one <= TOLD)
        count["told"] += int((strong & (one > TOLD)).sum())
        count["open"] += int((strong & open_).sum())
        count["missed"] += int((strong & (one <= OPEN)).sum())
        count["contested"] += int(open_.sum())
        count["readings"] += strong.size


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


def print_things(cases: list[Case]) -> None:
    """Print what of the things is told."""
    counts: dict[str, tuple[Counter[str], Counter[str]]] = defaultdict(
        lambda: (Counter[str](), Counter[str]())
    )
    for case in cases:
        one = (Counter[str](), Counter[str]())
        told(case, *one)
        for name in ("all", f"{case.scene.spacing:.2f} m"):
            for total, part in zip(counts[name], one, strict=True):
                total.update(part)
    print("\n| spacing | known: told | open | missed | F1 | contested ", end="")
    print("| to be found: told | open | missed | F1 | contested |")
    print("|---|---|---|---|---|---|---|---|---|---|---|")
    for name in sorted(counts):
        cells = []
        for count in counts[name]:
            recall = count["told"] / max(count["told"] + count["missed"], 1)
            share = count["contested"] / max(count["readings"], 1)
            cells += [f"{count[part]}" for part in ("told", "open", "missed")]
            cells += [f"{2 * recall / (1 + recall):.2f}", f"{share:.1%}"]
        print(f"| {name} | {' | '.join(cells)} |")


def main() -> None:
    """Parse the command line, run, print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--floors", type=int, default=50, help="how many of each family")
    parser.add_argument("--first", type=int, default=2100, help="seed of the first")
    chosen = parser.parse_args()
    seeds = range(chosen.first, chosen.first + chosen.floors)
    cases = [by_others(family, seed) for family in ("mixed", "dry", "clean") for seed in seeds]
    print_maps(cases)
    print_things(cases)


if __name__ == "__main__":
    main()
