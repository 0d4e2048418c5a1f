"""How few causes readings at depth could leave open, for one who knows how the floors are made.

    python scripts/bench/best_possible.py SLAB [floors of each cause]

Floors of every cause are drawn from ``failed_floors.py`` and read at three depths twice and beside
the zone. Half of them make the density of the readings of each cause (a kernel density, Scott's
width), the other half are judged by it: a cause is left open while its density lies within a factor
of 20, or of 100, of the highest. No inference from readings alone can leave fewer open and keep the
true one as often. Seeds below 100: nothing here is a test.
"""

from __future__ import annotations

import sys
from collections import Counter

import numpy as np
from failed_floors import CAUSES, VISITS, matters, observe, simulate, stories
from scipy.stats import gaussian_kde

SEED = 77

LEAST = 40
"""Causes that make fewer floors than this wet are left out."""


def readings(cause: str, slab: int, count: int, rng: np.random.Generator) -> np.ndarray:
    """Return readings of floors [%RH], shape (floors, readings)."""
    story = stories(np.random.default_rng(SEED))[slab]
    made = simulate(cause, story, count, rng)
    rows = []
    for k in np.flatnonzero(matters(cause, made.h_pct[1])):
        bias = float(rng.normal(0.0, 1.0)) + (3.0 if rng.random() < 0.1 else 0.0)
        seen = [
            one
            for visit, day in enumerate(VISITS[:2])
            for one in observe(made.h_pct[visit, k, 0], story, (0.10, 0.40, 0.80), day, rng, bias)
        ]
        seen += observe(made.h_pct[1, k, 1], story, (0.4, 0.8), 0.0, rng, bias, beside=True)
        rows.append([one.rh_pct for one in seen])
    return np.array(rows)


def main(slab: int, count: int) -> None:
    """Print, by cause, how many are left open and which beside it."""
    rng = np.random.default_rng([SEED, slab])
    floating = slab == 3
    wanted = [one for one in CAUSES if "+" not in one and one != "pocket"]
    wanted = [one for one in wanted if floating or one != "insulation"]
    drawn = {cause: readings(cause, slab, count, rng) for cause in wanted}
    drawn = {cause: rows for cause, rows in drawn.items() if len(rows) >= LEAST}
    known = {cause: gaussian_kde(rows[::2].T) for cause, rows in drawn.items()}
    for cause, rows in drawn.items():
        support = np.array([one.logpdf(rows[1::2].T) for one in known.values()])
        behind = support.max(axis=0) - support
        shown = []
        for times in (20.0, 100.0):
            left = behind <= np.log(times)
            kept = left[list(known).index(cause)].mean()
            few = (left.sum(axis=0) <= 2).mean()
            shown.append(
                f"{times:5.0f}: open {left.sum(axis=0).mean():.1f}, two {few:.2f}, kept {kept:.2f}"
            )
        beside = Counter(dict(zip(known, (behind <= np.log(20.0)).mean(axis=1), strict=True)))
        beside.pop(cause)
        names = ", ".join(f"{name} {share:.2f}" for name, share in beside.most_common(5))
        print(f"{cause:20s}{rows[1::2].shape[0]:5d}  {'; '.join(shown)}; {names}", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 300)
