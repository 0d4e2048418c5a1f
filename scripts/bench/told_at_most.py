"""Which things can be told from the floor at most, by one who knows more than any search.

    python scripts/bench/told_at_most.py --floors 30 --first 2100
    python scripts/bench/told_at_most.py --floors 16 --first 4000 5000 --only mixed

What `things.py` asks of the search, asked of one who knows of each floor made from physics how wet
it is about each place (smoothed over 0.7 m), the noise, the footprint, and of all covariances below
the one under which the floor's own undisturbed readings are likeliest. Under a Gaussian floor
nothing tells a response r better than the likelihood ratio (Neyman & Pearson 1933), its score in
readings z being `t = r'K^-1 z / sqrt(r'K^-1 r)`.

*Exact* knows what each thing adds to each reading but for its strength, and all other things and
slips to the last digit: a bound from above. *Found* looks for them in the readings as they are:
among spots and straight even courses it takes out what scores highest, until nothing does.

What is told, open and missed is a matter of two scores, set on the undisturbed readings of the same
floors, with wet floor as it is and not as a Gaussian field. Above `told` at most 5 % of the floors
with nothing wet are named, and at most 1 % of the readings above the wet level; above `open` at
most 4 % of all readings. Where a higher one gives a better F1, that is taken.
"""

from __future__ import annotations

import argparse
from collections import Counter, defaultdict
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from floors_by_others import Floor
from floors_by_others.things import COVERS
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve
from scipy.spatial.distance import cdist
from things import AREA_THINGS, Case, by_others

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

TEXTURES, LENGTHS_M = (0.1, 0.3, 1.0, 3.0, 10.0), (0.3, 0.8, 2.0)
WET_SHARES, WET_LENGTHS_M = (0.05, 0.1, 0.2, 0.4, 0.8), (0.4, 0.8, 1.6, 3.2)
ABOUT_M, COVER_M, WIDER_M, SPOT_M = 0.7, 0.045, 0.9, 0.2
SQUARE, ASLANT_DEG, PARTS = (0.0, 90.0), np.arange(15.0, 180.0, 15.0), 5
FLOORS_NAMED, WET_TAKEN, OPEN_READINGS = 0.05, 0.01, 0.04
OFF_SD, SHOWN_SD, UNDER = 4.0, 2.0, 0.4
LEAST, MOST, TRIED = 3.0, 60, np.arange(3.0, 12.0, 0.25)
FAMILIES = ("mixed", "dry", "clean", "nothing")


def matern(away: Array, length: float) -> Array:
    """Matern correlation of smoothness 3/2 at distances [m]."""
    a = np.sqrt(3.0) * away / length
    return (1.0 + a) * np.exp(-a)


@dataclass(frozen=True)
class Known:
    """A floor as one knows it who knows too much.

    ``plain`` (n,) are its readings without things and slips, ``weight`` (n, n) is the inverse of
    their covariance, its level free.
    """

    case: Case
    floor: Floor
    plain: Array
    weight: Array

    def named(self, values: Array, responses: Array) -> Array:
        """Score at which each of some readings (n,) is named, what scores highest taken out."""
        drawn = self.weight @ responses
        scale = np.sqrt((responses * drawn).sum(axis=0) + 1e-12)
        found, values = np.zeros(len(values)), values.copy()
        for _ in range(MOST):
            scores = drawn.T @ values / scale
            best = int(np.abs(scores).argmax())
            if abs(scores[best]) < LEAST:
                break
            added = scores[best] / scale[best] * responses[:, best]
            shown = np.abs(added) >= SHOWN_SD * self.floor.noise_sd
            found[shown] = np.maximum(found[shown], abs(scores[best]))
            values -= added
        return found


def known(case: Case) -> Known:
    """Fit the covariance of a floor to its own undisturbed readings."""
    floor = case.floor
    assert floor is not None
    plain = floor.values - floor.slip - floor.disturbance
    apart = cdist(floor.points, floor.points)
    near = np.exp(-0.5 * (apart / ABOUT_M) ** 2)
    wet = near @ np.maximum(floor.signal - floor.dry_level, 0.0) / near.sum(axis=1)
    noise = floor.noise_sd**2 * np.eye(len(plain)) + floor.meter.span**2
    dry = wet <= 0.05 * (floor.wet_level - floor.dry_level)
    dry = dry if dry.sum() >= 30 else wet <= np.quantile(wet, 0.5)
    part = np.ix_(dry, dry)
    calm = max(
        (
            share * floor.noise_sd**2 * matern(apart, length)
            for share in TEXTURES
            for length in LENGTHS_M
        ),
        key=lambda one: likelihood((one + noise)[part], plain[dry]),
    )
    wets = [np.zeros_like(apart)]
    if wet.max() > 0.05 * (floor.wet_level - floor.dry_level):
        shares = [(share, length) for share in WET_SHARES for length in WET_LENGTHS_M]
        wets += [share**2 * np.outer(wet, wet) * matern(apart, to) for share, to in shares]
    matrix = calm + noise + max(wets, key=lambda one: likelihood(calm + noise + one, plain - wet))
    return Known(case, floor, plain - wet, cho_solve(cho_factor(matrix), np.eye(len(plain))))


def likelihood(matrix: Array, values: Array) -> float:
    """Log likelihood but for a constant."""
    factor = cho_factor(matrix, lower=True)
    return float(-np.log(np.diag(factor[0])).sum() - 0.5 * values @ cho_solve(factor, values))


def profile(floor: Floor, wide: float = 0.0) -> tuple[Array, Array, Array]:
    """Distances [m], and the answer to a long line and to a spot at them."""
    away, table = floor.meter.field.table(float(np.hypot(floor.footprint_m, wide)))
    spot = np.array([np.interp(COVER_M, COVERS, column) for column in table.T])
    along = np.arange(-WIDER_M, WIDER_M, 0.02)
    line = np.interp(np.hypot(away[:, None], along), away, spot, right=0.0).sum(axis=1)
    return away, line / line[0], spot / spot[0]


def courses(floor: Floor) -> list[Array]:
    """Responses (n,) to straight lines across a floor and to parts of them."""
    away, line, _ = profile(floor)
    middle = floor.taken_at.mean(axis=0)
    found = []
    for turn in (*SQUARE, *ASLANT_DEG):
        way = np.array([np.cos(np.radians(turn)), np.sin(np.radians(turn))])
        along = (floor.taken_at - middle) @ way
        across = (floor.taken_at - middle) @ np.array([-way[1], way[0]])
        cuts = np.linspace(along.min(), along.max(), (PARTS if turn in SQUARE else 2) + 1)
        for offset in np.arange(across.min(), across.max(), 0.5 * floor.footprint_m):
            whole = np.interp(np.abs(across - offset), away, line, right=0.0)
            found += [
                whole * ((along >= first) & (along <= last))
                for first, last in combinations(cuts, 2)
            ]
    return [one for one in found if (one >= UNDER).sum() >= 3]


def spots(floor: Floor) -> list[Array]:
    """Responses (n, n) to spots under each reading: narrow, wide, and the reading alone."""
    apart = cdist(floor.taken_at, floor.taken_at)
    shapes = [np.interp(apart, *profile(floor, wide)[::2], right=0.0) for wide in (0.0, SPOT_M)]
    return [*shapes, np.eye(len(apart))]


def exactly(one: Known) -> Array:
    """Of each reading the highest score of a thing or slip that puts it off, known exactly."""
    floor = one.floor
    best = np.zeros(len(one.plain))
    for thing in floor.things:
        added = floor.disturbed_by(floor.taken_at, (thing,))
        if thing.kind in AREA_THINGS or not (np.abs(added) >= OFF_SD * floor.noise_sd).any():
            continue
        drawn = one.weight @ added
        score = drawn @ (one.plain + added) / np.sqrt(added @ drawn)
        shown = np.abs(added) >= SHOWN_SD * floor.noise_sd
        best[shown] = np.maximum(best[shown], score)
    own = np.diag(one.weight)
    alone = np.abs(one.weight @ one.plain + own * floor.slip) / np.sqrt(own)
    return np.where(floor.slip != 0, np.maximum(alone, best), best)


@dataclass(frozen=True)
class Asked:
    """Scores of the readings (n,) of one floor: undisturbed, and of what puts them off."""

    case: Case
    above: Mask
    plain: Array
    exact: Array
    found: Array


def ask(case: Case) -> Asked:
    """Score what might lie under each reading of a floor, and what does."""
    one = known(case)
    floor = one.floor
    shapes = np.column_stack([*courses(floor), *spots(floor)])
    area = tuple(thing for thing in floor.things if thing.kind in AREA_THINGS)
    as_read = one.plain + floor.disturbance + floor.slip
    if area:
        as_read -= floor.disturbed_by(floor.taken_at, area)
    return Asked(
        case,
        floor.signal > floor.wet_level,
        one.named(one.plain, shapes),
        exactly(one),
        one.named(as_read, shapes),
    )


def allowed(asked: list[Asked]) -> tuple[float, float]:
    """Least scores over which readings may be told and left open."""
    dry = [one.plain.max() for one in asked if not one.case.wet.any()]
    wet = np.concatenate([one.plain[one.above] for one in asked])
    every = np.concatenate([one.plain for one in asked])
    told = max(
        float(np.quantile(dry, 1 - FLOORS_NAMED)) if dry else LEAST,
        float(np.quantile(wet, 1 - WET_TAKEN)) if wet.size else LEAST,
    )
    return told, min(told, max(float(np.quantile(every, 1 - OPEN_READINGS)), LEAST))


def count(asked: list[Asked], which: str, told: float, open_: float) -> Counter[str]:
    """Count the readings told, left open, missed and named falsely."""
    total: Counter[str] = Counter()
    for one in asked:
        case, scores = one.case, getattr(one, which)
        strong, quiet = (case.off >= OFF_SD) & case.local, (case.off < 1.0) & case.local
        false = (one.plain if which == "exact" else scores) > told
        total["told"] += int((strong & (scores > told)).sum())
        total["open"] += int((strong & (scores > open_) & (scores <= told)).sum())
        total["missed"] += int((strong & (scores <= open_)).sum())
        total["false"] += int((quiet & false).sum())
    return total


def f1(total: Counter[str]) -> float:
    """F1, what is left open neither right nor wrong."""
    return 2 * total["told"] / max(2 * total["told"] + total["missed"] + total["false"], 1)


def print_row(name: str, asked: list[Asked], only: str | None) -> None:
    """Print what is told of the floors of one spacing, or of one family of them."""
    least, open_ = allowed(asked)
    counted = [one for one in asked if only in (None, one.case.floor and one.case.floor.family)]
    cells = [name, f"{len(counted)}", f"{least:.1f}", f"{open_:.1f}"]
    for which in ("exact", "found"):
        tried = [least, *TRIED[least < TRIED]]
        told = max(tried, key=lambda one: f1(count(asked, which, one, open_)))
        total = count(counted, which, told, open_)
        cells += [f"{told:.1f}", *(f"{total[part]}" for part in ("told", "open", "missed"))]
        cells += [f"{total['false']}", f"{f1(total):.2f}"]
    print(f"| {' | '.join(cells)} |", flush=True)


def main() -> None:
    """Parse the command line, run, print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--floors", type=int, default=50, help="how many of each family")
    parser.add_argument("--first", type=int, nargs="+", default=[2100], help="seeds of the first")
    parser.add_argument("--only", choices=FAMILIES, help="count these; scores are set on all")
    chosen = parser.parse_args()
    by_spacing: dict[str, list[Asked]] = defaultdict(list)
    for family in FAMILIES:
        for seed in [first + k for first in chosen.first for k in range(chosen.floors)]:
            case = by_others(family, seed)
            by_spacing[f"{case.scene.spacing:.2f} m"].append(ask(case))
    part = "told over | told | open | missed | quiet named | F1"
    print(f"| spacing | floors | told from | open from | exact: {part} | found: {part} |")
    print("|---" * 16 + "|")
    for spacing, asked in sorted(by_spacing.items()):
        print_row(spacing, asked, chosen.only)


if __name__ == "__main__":
    main()
