"""How often the interval of the map holds the truth, on invented floors, and what noise maps to.

python scripts/bench/coverage.py [--floors 120] [--readings 12,30,100,400] [--rough] [--noise]

Two families of stationary floors: mixed (four kinds, several ranges, noise 2 to 25 % of the field's
variance) and, with ``--rough``, exponential ones with a practical range of a sixth of the side and
noise of 10 %. With ``--noise``: readings without any field, against scikit-learn's Gaussian process
with a fitted Matern 1/2 and white noise. For wet patches on a dry floor see regions.py.
"""

from __future__ import annotations

import argparse
import warnings
from dataclasses import dataclass

import numpy as np

from moisturemap.geostat import (
    BlendedKriging,
    Covariance,
    CovarianceFit,
    fit_covariance,
    simulate,
)
from moisturemap.geostat.covariance.model import PRACTICAL

CELLS = 400
NINETY = 1.6448536269514722


@dataclass(frozen=True)
class FloorResult:
    """One invented floor: share of cells inside the 90 % interval, and errors in field sds."""

    coverage: float
    error: float
    best_error: float


def invented_floor(count: int, seed: int):
    """Covariance, places, readings, cells and truth of one floor, all chosen at random.

    Rooms of 5-20 by 4-14 m; gridded or scattered readings; four kinds of smoothness; practical
    range 0.15-0.8 of the longer side; noise 2-25 % of the field's variance.
    """
    rng = np.random.default_rng([count, seed])
    width, depth = rng.uniform(5, 20), rng.uniform(4, 14)
    kind = str(rng.choice(["exponential", "matern32", "matern52", "spherical"]))
    if rng.random() < 0.6:
        across = max(2, round(np.sqrt(count * width / depth)))
        along = max(2, round(count / across))
        x, y = np.meshgrid(
            (np.arange(across) + 0.5) * width / across, (np.arange(along) + 0.5) * depth / along
        )
        points = np.column_stack([x.ravel(), y.ravel()])
        points = points + rng.normal(0, 0.03, points.shape)
    else:
        points = rng.uniform(0, 1, (count, 2)) * [width, depth]
    reach = rng.uniform(0.15, 0.8) * max(width, depth)
    sd = rng.uniform(3, 15)
    nugget = rng.uniform(0.02, 0.25) * sd**2
    model = Covariance(kind, sd**2, reach / PRACTICAL[kind], nugget)
    cells = rng.uniform(0, 1, (CELLS, 2)) * [width, depth]
    field = 60 + simulate(np.concatenate([points, cells]), model, 1, seed)[0]
    readings = field[: len(points)] + np.sqrt(nugget) * rng.standard_normal(len(points))
    return model, points, readings, cells, field[len(points) :]


def rough_floor(count: int, seed: int):
    """Covariance, places, readings, cells and truth of one rough floor with scattered readings."""
    rng = np.random.default_rng([count, seed, 5])
    side = 10.0
    points, cells = rng.uniform(0, side, (count, 2)), rng.uniform(0, side, (CELLS, 2))
    model = Covariance("exponential", 100.0, side / 6.0 / PRACTICAL["exponential"], 10.0)
    field = 60 + simulate(np.concatenate([points, cells]), model, 1, seed)[0]
    readings = field[:count] + np.sqrt(10.0) * rng.standard_normal(count)
    return model, points, readings, cells, field[count:]


def noise_errors(count: int, seed: int) -> tuple[float, float]:
    """Mean squared error of our map and of scikit-learn's where there is nothing but noise."""
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import ConstantKernel, Matern, WhiteKernel

    rng = np.random.default_rng([count, seed])
    across = round(np.sqrt(count))
    axis = (np.arange(across) + 0.5) * 10.0 / across
    points = np.column_stack([part.ravel() for part in np.meshgrid(axis, axis)])
    values = 50 + 10 * rng.standard_normal(len(points))
    cells = rng.uniform(0, 10, (CELLS, 2))
    ours = BlendedKriging(points, values, fit_covariance(points, values)).predict(cells)[0]
    kernel = ConstantKernel(1.0) * Matern(3.0, (0.3, 30.0), nu=0.5) + WhiteKernel(0.1)
    process = GaussianProcessRegressor(
        kernel, normalize_y=True, n_restarts_optimizer=2, random_state=0
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = process.fit(points, values).predict(cells)
    return float(np.mean((ours - 50) ** 2)), float(np.mean((theirs - 50) ** 2))


def floor_coverage(count: int, seed: int, rough: bool = False) -> FloorResult:
    """Fit and map one invented floor; compare with its truth and with the true covariance."""
    draw = rough_floor if rough else invented_floor
    model, points, readings, cells, truth = draw(count, seed)
    kriging = BlendedKriging(points, readings, fit_covariance(points, readings))
    mean, sd = kriging.predict(cells)
    best, _ = BlendedKriging(points, readings, CovarianceFit.given(model)).predict(cells)
    scale = model.variance
    return FloorResult(
        float(np.mean(np.abs(truth - mean) <= NINETY * sd)),
        float(np.mean((truth - mean) ** 2) / scale),
        float(np.mean((truth - best) ** 2) / scale),
    )


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--floors", type=int, default=120)
    parser.add_argument("--readings", default="12,30,100,400")
    parser.add_argument("--rough", action="store_true")
    parser.add_argument("--noise", action="store_true")
    arguments = parser.parse_args()
    if arguments.noise:
        print("| readings | RMSE of ours | of scikit-learn | of the mean |")
        print("|---|---|---|---|")
        for count in map(int, arguments.readings.split(",")):
            pairs = [noise_errors(count, seed) for seed in range(arguments.floors)]
            ours, theirs = np.sqrt(np.mean(pairs, axis=0))
            mean = 10 / round(np.sqrt(count))
            print(f"| {count} | {ours:.2f} | {theirs:.2f} | {mean:.2f} |", flush=True)
        return
    print(
        "| readings | coverage of 90 % | worst tenth of floors | RMSE / RMSE of true covariance |"
    )
    print("|---|---|---|---|")
    for count in map(int, arguments.readings.split(",")):
        floors = [floor_coverage(count, seed, arguments.rough) for seed in range(arguments.floors)]
        covers = np.array([floor.coverage for floor in floors])
        ratio = np.sqrt(sum(f.error for f in floors) / sum(f.best_error for f in floors))
        error = 100 * covers.std() / np.sqrt(len(covers))
        tenth = 100 * np.quantile(covers, 0.1)
        print(
            f"| {count} | {100 * covers.mean():.1f} +- {error:.1f} | {tenth:.0f} | {ratio:.3f} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
