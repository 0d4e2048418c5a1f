"""How often the interval of the map holds the truth, on invented floors, and what noise maps to.

python scripts/bench/coverage.py [--floors 120] [--readings 12,30,100,400] [--rough]
    [--noise | --censored]

Two families of stationary floors: mixed (four kinds, several ranges, noise 2 to 25% of the field's
variance) and, with ``--rough``, exponential ones with a practical range of a sixth of the side and
noise of 10%. With ``--noise``: readings without any field, against scikit-learn's Gaussian process
with a fitted Matern 1/2 and white noise. With ``--censored``: mixed floors, 5 to 40% of the
readings at full scale, taken as "at or above" and as numbers. For wet patches on a dry floor
see regions.py.
"""

from __future__ import annotations

import argparse
import warnings
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from moisturemap.geostat import (
    BlendedKriging,
    BlendOptions,
    Covariance,
    CovarianceFit,
    fit_censored,
    fit_covariance,
    simulate,
)
from moisturemap.geostat.covariance.model import PRACTICAL

CELLS = 400
NINETY = 1.6448536269514722


@dataclass(frozen=True)
class FloorResult:
    """One invented floor: share of cells inside the 90% interval, and errors in field sds.

    ``best_*``: of ordinary kriging that knows the true covariance, nugget and kind.
    ``shape_coverage``: of one that knows all but the variance, which it takes from the readings;
    its interval is Student's, and exact.
    """

    coverage: float
    best_coverage: float
    shape_coverage: float
    error: float
    best_error: float


def invented_floor(count: int, seed: int):
    """Covariance, places, readings, cells and truth of one floor, all chosen at random.

    Rooms of 5-20 by 4-14 m; gridded or scattered readings; four kinds of smoothness; practical
    range 0.15-0.8 of the longer side; noise 2-25% of the field's variance.
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


def student(model: Covariance, points: np.ndarray, readings: np.ndarray) -> float:
    """Half the width of an exact 90% interval in true sds, where the variance is estimated.

    The generalised least squares residuals give the variance with n - 1 degrees of freedom
    (Cressie, Statistics for Spatial Data, 1993, section 3.4).
    """
    matrix = model.between(points, points) + model.nugget * np.eye(len(points))
    ones = np.ones(len(points))
    weight = np.linalg.solve(matrix, ones)
    apart = readings - weight @ readings / weight.sum()
    freedom = len(points) - 1
    ratio = float(apart @ np.linalg.solve(matrix, apart)) / freedom
    return float(stdtrit(freedom, 0.95) * np.sqrt(ratio))


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
    known = BlendedKriging(points, readings, CovarianceFit.given(model))
    best, best_sd = known.predict(cells)
    scale = model.variance
    return FloorResult(
        float(np.mean(np.abs(truth - mean) <= NINETY * sd)),
        float(np.mean(np.abs(truth - best) <= NINETY * best_sd)),
        float(np.mean(np.abs(truth - best) <= best_sd * student(model, points, readings))),
        float(np.mean((truth - mean) ** 2) / scale),
        float(np.mean((truth - best) ** 2) / scale),
    )


def censored_coverage(count: int, seed: int) -> tuple[float, float]:
    """Coverage of one mixed floor whose wettest 5 to 40% read full scale: as such, as a number."""
    _, points, readings, cells, truth = invented_floor(count, seed)
    share = np.random.default_rng([count, seed, 9]).uniform(0.05, 0.4)
    full = float(np.quantile(readings, 1.0 - share))
    shown = np.minimum(readings, full)
    found = fit_censored(points, shown, (readings >= full).astype(int))
    kriging = BlendedKriging(points, shown, found.fit, options=BlendOptions(copies=found.copies))
    plain = BlendedKriging(points, shown, fit_covariance(points, shown))
    inside = []
    for one in (kriging, plain):
        mean, sd = one.predict(cells)
        inside.append(float(np.mean(np.abs(truth - mean) <= NINETY * sd)))
    return inside[0], inside[1]


def holds(shares: list[float]) -> str:
    """Mean with its standard error and worst tenth of coverages, as two cells of the table."""
    covers = 100 * np.array(shares)
    error = covers.std() / np.sqrt(len(covers))
    return f"{covers.mean():.1f} +- {error:.1f} | {np.quantile(covers, 0.1):.0f}"


def print_censored(counts: list[int], floors: int) -> None:
    """Print the table of readings at full scale."""
    print("| readings | full scale as such | worst tenth | as a number | worst tenth |")
    print("|---|---|---|---|---|")
    for count in counts:
        both = [censored_coverage(count, seed) for seed in range(floors)]
        as_such, number = (holds(list(shares)) for shares in zip(*both, strict=True))
        print(f"| {count} | {as_such} | {number} |", flush=True)


def print_noise(counts: list[int], floors: int) -> None:
    """Print the table of readings without any field."""
    print("| readings | RMSE of ours | of scikit-learn | of the mean |")
    print("|---|---|---|---|")
    for count in counts:
        pairs = [noise_errors(count, seed) for seed in range(floors)]
        ours, theirs = np.sqrt(np.mean(pairs, axis=0))
        mean = 10 / round(np.sqrt(count))
        print(f"| {count} | {ours:.2f} | {theirs:.2f} | {mean:.2f} |", flush=True)


def print_coverage(counts: list[int], floors: int, rough: bool) -> None:
    """Print the table of stationary floors."""
    print(
        "| readings | holds | worst tenth | true covariance holds | worst tenth | all but the "
        "variance true | worst tenth | RMSE ratio |"
    )
    print("|---|---|---|---|---|---|---|---|")
    for count in counts:
        found = [floor_coverage(count, seed, rough) for seed in range(floors)]
        ours, known, shape = (
            holds([getattr(floor, name) for floor in found])
            for name in ("coverage", "best_coverage", "shape_coverage")
        )
        ratio = np.sqrt(sum(f.error for f in found) / sum(f.best_error for f in found))
        print(f"| {count} | {ours} | {known} | {shape} | {ratio:.3f} |", flush=True)


def main() -> None:
    """Print a table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--floors", type=int, default=120)
    parser.add_argument("--readings", default="12,30,100,400")
    for flag in ("--rough", "--noise", "--censored"):
        parser.add_argument(flag, action="store_true")
    asked = parser.parse_args()
    counts = [int(count) for count in asked.readings.split(",")]
    if asked.censored:
        print_censored(counts, asked.floors)
    elif asked.noise:
        print_noise(counts, asked.floors)
    else:
        print_coverage(counts, asked.floors, asked.rough)


if __name__ == "__main__":
    main()
