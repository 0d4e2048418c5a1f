"""Whether the interval of the relation of scan and tests holds where it is shown.

    python scripts/bench/relation.py [--floors 20000]

Scan means at n holes and tests with correlation rho, spread over the floor; a relation is shown
when its slope rises and its exact one-sided rank p is at most 0.05. "plain" and "shown" are the
shares of new tests inside the 95% interval of the regression and inside that of the package, among
the relations that are shown.
"""

from __future__ import annotations

import argparse
from itertools import permutations

import numpy as np
from scipy.special import ndtr, ndtri
from scipy.stats import t as student

from moisturemap.calibration import selection_factor

LEVEL = 0.95


def threshold(count: int) -> float:
    """Smallest rank correlation with a one-sided p of at most 0.05."""
    if count <= 8:
        base = np.arange(count) - (count - 1) / 2
        every = (
            (np.array(list(permutations(range(count)))) - (count - 1) / 2) @ base / (base @ base)
        )
        return next(r for r in np.unique(np.round(every, 10)) if (every >= r - 1e-9).mean() <= 0.05)
    steps = np.linspace(0, 0.999, 2000)
    p = student.sf(steps * np.sqrt((count - 2) / (1 - steps**2)), count - 2)
    return float(steps[np.argmax(p <= 0.05)])


def held(count: int, rho: float, floors: int, rng: np.random.Generator) -> tuple[float, float, int]:
    """Share inside the plain and the widened interval, and how many relations were shown."""
    x = rng.standard_normal((floors, count))
    left = np.sqrt(1 - rho**2)
    y = rho * x + left * rng.standard_normal((floors, count))
    middle = (count - 1) / 2
    ranks = [one.argsort(1).argsort(1) - middle for one in (x, y)]
    found = (ranks[0] * ranks[1]).sum(1) / (ranks[0] ** 2).sum(1)
    at = x.mean(1, keepdims=True)
    sxx = ((x - at) ** 2).sum(1)
    slope = ((x - at) * (y - y.mean(1, keepdims=True))).sum(1) / sxx
    shown = (found >= threshold(count) - 1e-9) & (slope > 0)
    x, y, at, sxx, slope = x[shown], y[shown], at[shown], sxx[shown], slope[shown]
    start = y.mean(1) - slope * at[:, 0]
    rest = y - start[:, None] - slope[:, None] * x
    sd = np.sqrt((rest**2).sum(1) / (count - 2))
    low, high = ndtr(x.min(1)), ndtr(x.max(1))
    new = ndtri(low + rng.uniform(size=len(x)) * (high - low))
    test = rho * new + left * rng.standard_normal(len(x))
    scale = sd * np.sqrt(1 + 1 / count + (new - at[:, 0]) ** 2 / sxx)
    off = np.abs(test - start - slope * new) / scale / student.ppf(0.5 + LEVEL / 2, count - 2)
    return float((off <= 1).mean()), float((off <= selection_factor(count)).mean()), len(x)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--floors", type=int, default=20_000)
    options = parser.parse_args()
    rng = np.random.default_rng(3)
    print("holes   rho   plain   shown   relations")
    for count in (4, 5, 6, 8, 10, 12):
        for rho in (0.0, 0.5, 0.7, 0.9):
            plain, wide, shown = held(count, rho, options.floors, rng)
            print(f"{count:5d} {rho:5.1f} {plain:7.3f} {wide:7.3f} {shown:10d}")


if __name__ == "__main__":
    main()
