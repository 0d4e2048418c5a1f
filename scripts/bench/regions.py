"""How often the interval holds inside, at the rim and outside of wet patches on a dry floor.

python scripts/bench/regions.py [--floors 20]

A wet patch on a dry floor is not one stationary field: rough at its rim, quiet elsewhere. Two
generators: the package's own invented floors, and those by other hands (floors_by_others, family
"clean": wet patches, nothing embedded), without readings that slips put off. The rim is the floor
within one reading spacing of the line where the floor crosses the wet level.

A wet patch holds few places whose errors do not depend on each other, so that an interval that is
exactly right also misses much of a patch now and then. The last column says what such an interval
would hold on the worst tenth of floors: draws of our own map stand for the truth.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

import numpy as np
import shapely
from floors_by_others import make, quiet_readings
from scipy.ndimage import distance_transform_edt

from moisturemap.geostat import BlendedKriging, FitOptions, fit_covariance
from moisturemap.synthetic import FloorRecipe, make_floor

NINETY = 1.6448536269514722
CELLS = 2000
REGIONS = ("inside", "rim", "outside")
LEAST, MOST = 40, 300
DRAWS = 40


@dataclass(frozen=True)
class Case:
    """Readings of one floor, and its truth at cells with the region of each."""

    points: np.ndarray
    values: np.ndarray
    step: float
    cells: np.ndarray
    truth: np.ndarray
    region: np.ndarray


def regions_of(wet: np.ndarray, cell: float, rim: float) -> np.ndarray:
    """Region of every cell of a raster: 0 inside, 1 rim, 2 outside."""
    if not wet.any() or wet.all():
        return np.full(wet.shape, 0 if wet.all() else 2)
    away = distance_transform_edt(~wet) * cell
    deep = distance_transform_edt(wet) * cell
    return np.where(wet & (deep > rim), 0, np.where(~wet & (away > rim), 2, 1))


def by_others(seed: int) -> Case:
    """One floor of the other generator."""
    floor = make("clean", seed)
    kept = quiet_readings(floor)
    kept &= ~np.isnan(floor.values) & (floor.values < floor.scale[1])
    cell = float(floor.x[1] - floor.x[0])
    region = regions_of(floor.truth_wet, cell, floor.spacing_m)
    row, column = np.nonzero(np.isfinite(floor.truth_signal))
    chosen = np.random.default_rng(seed).choice(len(row), min(CELLS, len(row)), replace=False)
    row, column = row[chosen], column[chosen]
    return Case(
        floor.points[kept],
        floor.values[kept],
        1.0,
        np.column_stack([floor.x[column], floor.y[row]]),
        floor.truth_signal[row, column],
        region[row, column],
    )


def our_own(seed: int) -> Case:
    """One of the package's own floors."""
    spacing = (0.25, 0.35, 0.5, 0.7)[seed % 4]
    plumes = (("edge",), ("burst",), ("corner", "edge"), ("joint",))[(seed // 4) % 4]
    recipe = FloorRecipe(
        plumes=plumes, spacing=spacing, width=9.0, depth=7.0, texture_sd=1.5, noise_sd=1.5
    )
    floor = make_floor(recipe, seed)
    readings = floor.survey.readings
    west, south, east, north = floor.survey.plan.bounds
    x, y = np.arange(west + 0.025, east, 0.05), np.arange(south + 0.025, north, 0.05)
    at = np.column_stack([part.ravel() for part in np.meshgrid(x, y)])
    wet = floor.wet(at).reshape(len(y), len(x))
    region = regions_of(wet, 0.05, spacing).ravel()
    held = shapely.contains_xy(floor.survey.plan.outline, at[:, 0], at[:, 1])
    chosen = np.random.default_rng(seed).choice(np.flatnonzero(held), CELLS, replace=False)
    values = readings["value"].to_numpy(float)
    kept = np.isfinite(values) & (values < 100.0)
    return Case(
        readings[["x", "y"]].to_numpy(float)[kept],
        values[kept],
        recipe.step,
        at[chosen],
        floor.truth(at[chosen]),
        region[chosen],
    )


@dataclass(frozen=True)
class Share:
    """Share of each region, and of all, inside the 90% interval; NaN where it has few cells."""

    held: np.ndarray
    error: np.ndarray
    exactly_right: list[np.ndarray]


def shares(case: Case) -> Share:
    """Share inside the interval, root mean square error, and the share of draws by region."""
    options = FitOptions(nugget_floor=case.step**2 / 12.0, anisotropy=True)
    fit = fit_covariance(case.points, case.values, options=options)
    kriging = BlendedKriging(case.points, case.values, fit)
    mean, sd = kriging.predict(case.cells)
    error = case.truth - mean
    held, rms, right = np.full(4, np.nan), np.full(4, np.nan), []
    for number in range(4):
        part = np.flatnonzero((case.region == number) | (number == 3))
        right.append(np.empty(0))
        if len(part) < LEAST:
            continue
        held[number] = np.mean(np.abs(error[part]) <= NINETY * sd[part])
        rms[number] = np.sqrt(np.mean(error[part] ** 2))
        some = part[:: max(1, len(part) // MOST)]
        off = np.abs(kriging.draws(case.cells[some], DRAWS, 1) - mean[some])
        right[number] = np.mean(off <= NINETY * sd[some], axis=1)
    return Share(held, rms, right)


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--floors", type=int, default=20)
    arguments = parser.parse_args()
    print(
        "| floors | region | holds, mean | worst tenth of floors | error | were it exactly right |"
    )
    print("|---|---|---|---|---|---|")
    for name, draw in (("our own", our_own), ("by others", by_others)):
        found = [shares(draw(seed)) for seed in range(arguments.floors)]
        cover, error = np.array([one.held for one in found]), np.array([one.error for one in found])
        for number, region in enumerate((*REGIONS, "all")):
            seen = cover[:, number][np.isfinite(cover[:, number])]
            if len(seen) == 0:
                continue
            right = np.quantile(np.concatenate([one.exactly_right[number] for one in found]), 0.1)
            print(
                f"| {name} | {region} | {100 * seen.mean():.0f}% | "
                f"{100 * np.quantile(seen, 0.1):.0f}% | {np.nanmean(error[:, number]):.2f} | "
                f"{100 * right:.0f}% |",
                flush=True,
            )


if __name__ == "__main__":
    main()
