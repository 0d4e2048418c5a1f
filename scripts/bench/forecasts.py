"""How often forecasts hold: slabs, exponentials and leaks by other numerics than the package's.

    python scripts/bench/forecasts.py GROUP FIRST COUNT FILE
    python scripts/bench/forecasts.py table FILE [FILE ...]

GROUP is ``usual``, ``weekly`` (four weekly visits), ``strange`` (courses the package does not
know), ``readings`` (meters and visits it does not expect), ``leaks`` (quick falls to a plateau,
read three or four times) or ``floors`` (read on a grid and compared by ``mm.compare_visits``);
seeds run from FIRST on. The rows of a run are added to FILE
(CSV), so that long runs can be cut in pieces. The table gives, with exact 90% bounds (Clopper and
Pearson, Biometrika 26 (1934) 404):
*holds*, two-sided intervals among those given; *one*, "not before" that holds; *early*, latest days
before the truth, of all; *given*, share with a latest day; *due*, the same of the zones that
deserve one: the target is met within three times the days watched, and the last true fall is more
than two sd of a level; *kept*, mean chance that something keeps it wet. Tuned on seeds
10,000 to 10,150 and 12,000 to 12,080; what is published runs from 70,000 on.
"""

from __future__ import annotations

import csv
import math
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.stats import beta

sys.path.insert(0, str(Path(__file__).resolve().parent))

from forecast_floors import FLOOR_KINDS, floor_case
from forecast_kinds import FAR, KINDS, STRANGE, Draw, Made, deserves, first_day, with_tests

from moisturemap.drying import DryingOptions, DryLevel, ForecastBasis, KnownSlab, ZoneCourse
from moisturemap.drying.forecast import forecast_zone

OPTIONS = DryingOptions()
Row = tuple[float, float, float, float, bool]
"""True day, ends of the forecast, chance that something keeps the zone wet, and whether the zone
deserves a latest day."""


@dataclass(frozen=True)
class Readings:
    """When a zone is read, and by how much readings are off: true and stated."""

    days: np.ndarray
    error: np.ndarray
    stated_sd: float


def usual(rng: Draw, visits: int | None = None, step: float | None = None) -> Readings:
    """Read on 3 to 8 visits, 3 to 14 days apart, noise and drift as stated."""
    visits = visits or int(rng.choice([3, 4, 5, 8]))
    days = (step or float(rng.choice([3, 7, 14]))) * np.arange(visits)
    noise, drift = float(rng.uniform(0.35, 1.0)), float(rng.choice([0.5, 1.0]))
    sd = math.hypot(noise, drift)
    return Readings(days, rng.normal(0, sd, visits), sd)


def four_weekly(rng: Draw) -> Readings:
    """Read on four weekly visits."""
    return usual(rng, 4, 7.0)


def three_days(rng: Draw) -> Readings:
    """Read on three days in a row."""
    return usual(rng, 3, 1.0)


def unequal_gaps(rng: Draw) -> Readings:
    """Read 1 to 25 days apart."""
    visits = int(rng.integers(3, 7))
    days = np.r_[0.0, np.cumsum(np.exp(rng.uniform(0.0, np.log(25), visits - 1)))]
    return Readings(days, rng.normal(0, 1.0, visits), 1.0)


def small_noisy(rng: Draw) -> Readings:
    """Read few points: sd 2.5 a visit."""
    of = usual(rng)
    return Readings(of.days, rng.normal(0, 2.5, of.days.size), 2.5)


def drift_walks(rng: Draw) -> Readings:
    """Let the meter walk off, sd 1 a visit; 1 is stated."""
    of = usual(rng)
    walk = np.cumsum(rng.normal(0, 1.0, of.days.size))
    return Readings(of.days, walk + rng.normal(0, 0.6, of.days.size), math.hypot(1.0, 0.6))


def drift_understated(rng: Draw) -> Readings:
    """Let the drift be of sd 1, stated as 0.5."""
    of = usual(rng)
    return Readings(of.days, rng.normal(0, math.hypot(0.6, 1.0), of.days.size), 0.78)


READINGS: dict[str, Callable[[Draw], Readings]] = {
    "three visits in three days": three_days,
    "unequal gaps": unequal_gaps,
    "small noisy zone": small_noisy,
    "drift that walks": drift_walks,
    "drift understated": drift_understated,
}
READ_KINDS = ("exponential", "one face", "D falling", "leak holds a slab")


def zone_case(kind: str, seed: int, made: Made, read: Callable[[Draw], Readings]) -> Row:
    """Forecast one zone."""
    rng = np.random.default_rng([seed, sum(map(ord, kind))])
    found = read(rng)
    zone = made(rng, found.days)
    dry, excess = 30.0 + rng.normal(0, 2), float(rng.uniform(20, 50))
    level = dry + excess * zone.course(found.days)
    target = dry + float(rng.uniform(0.3, 0.75)) * (level[-1] - dry)
    true = first_day(dry + excess * zone.course(found.days[-1] + FAR), target)
    sd = np.full(found.days.size, found.stated_sd)
    course = ZoneCourse("A", found.days, level + found.error, sd)
    known_dry = DryLevel(30.0, 2.0, "as supplied")
    basis = ForecastBasis(zone.known, zone.air, zone.tests)
    ends = forecast_zone(course, target, known_dry, OPTIONS, basis)
    due = deserves(true, level, found.days, found.stated_sd)
    return true, ends.low, ends.high, ends.kept_wet, due


LEAKS = {
    "leak holds 45%, three visits": (3, 0.45, 9.0),
    "leak holds 35%, four visits": (4, 0.35, 10.0),
    "quick leak, three visits": (3, None, None),
    "quick leak, four visits": (4, None, None),
}
"""Weekly visits, share of the excess that stays, days in which the rest falls by a factor e."""


def leak_case(kind: str, seed: int) -> Row:
    """Forecast a zone that falls quickly to a plateau above the target."""
    visits, share, time = LEAKS[kind]
    rng = np.random.default_rng([seed, sum(map(ord, kind))])
    share = share or float(rng.uniform(0.25, 0.6))
    time = time or float(rng.uniform(6.0, 14.0))
    excess, noise = float(rng.uniform(30, 60)), float(rng.uniform(0.6, 1.3))
    days = 7.0 * np.arange(visits)
    dry = 30.0 + float(rng.normal(0, 1))
    level = dry + excess * (share + (1.0 - share) * np.exp(-days / time))
    target = dry + excess * share * float(rng.uniform(0.4, 0.95))
    sd = np.full(visits, noise)
    course = ZoneCourse("A", days, level + rng.normal(0, noise, visits), sd)
    known_dry = DryLevel(30.0, 1.0, "as supplied")
    basis = ForecastBasis(KnownSlab(100.0, 1))
    ends = forecast_zone(course, target, known_dry, OPTIONS, basis)
    return math.inf, ends.low, ends.high, ends.kept_wet, False


def cases(group: str, seeds: range) -> Iterable[tuple[str, Row]]:
    """Yield the cases of a group by name: every kind for a seed before the next seed."""
    kinds = {**STRANGE, "tests at depth": with_tests} if group == "strange" else KINDS
    for seed in seeds:
        if group == "leaks":
            yield from ((f"leaks: {kind}", leak_case(kind, seed)) for kind in LEAKS)
        elif group == "floors":
            for kind in FLOOR_KINDS:
                yield from ((f"floors: {kind}", row) for row in floor_case(kind, seed))
        elif group == "readings":
            for name, read in READINGS.items():
                for kind in READ_KINDS:
                    yield f"{name}: {kind}", zone_case(kind, seed, KINDS[kind], read)
        else:
            weekly = group == "weekly"
            for kind, made in kinds.items():
                read = four_weekly if weekly else usual
                yield f"{'weekly: ' * weekly}{kind}", zone_case(kind, seed, made, read)


def share(held: int, of: int) -> str:
    """Write a share with its exact 90% bounds."""
    if not of:
        return "-"
    low = 0.0 if held == 0 else beta.ppf(0.05, held, of - held + 1)
    high = 1.0 if held == of else beta.ppf(0.95, held + 1, of - held)
    return f"{held / of:.2f} ({low:.2f}-{high:.2f})"


def table(files: Iterable[str]) -> None:
    """Print what the rows of files come to."""
    rows = pd.concat([pd.read_csv(name) for name in files]).drop_duplicates()
    for name, part in rows.groupby("kind", sort=False):
        true, low, high = (part[column].to_numpy(float) for column in ("true", "low", "high"))
        given, due = np.isfinite(high), part["due"].to_numpy(bool)
        held = int(((low <= true) & (true <= high))[given].sum())
        n = true.size
        print(
            f"{name:40s} n {n:4d}  holds {share(held, int(given.sum())):18s}"
            f"  one {share(int((low <= true).sum()), n)}"
            f"  early {share(int((high < true).sum()), n)}"
            f"  given {given.mean():.2f}  due {share(int((due & given).sum()), int(due.sum()))}"
            f"  kept {part['kept'].mean():.2f}"
        )


if __name__ == "__main__":
    if sys.argv[1] == "table":
        table(sys.argv[2:])
        sys.exit()
    group, first, count, file = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), Path(sys.argv[4])
    new = not file.exists()
    with file.open("a", newline="") as out:
        writer = csv.writer(out)
        if new:
            writer.writerow(["kind", "true", "low", "high", "kept", "due"])
        for name, row in cases(group, range(first, first + count)):
            writer.writerow([name, *row])
            out.flush()
