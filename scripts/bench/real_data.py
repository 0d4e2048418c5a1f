"""Left-out readings of ten open data sets: ours against scikit-learn, PyKrige and R's gstat.

Rscript scripts/bench/real_data.R FOLDER && python scripts/bench/real_data.py FOLDER

The R script writes the data sets (packages sp, gstat, MASS, nlme, RandomFields), each standardised
and cut into ten random folds, and the answers of gstat. Everybody fits each fold by one automatic
recipe: ours as map_points does; a Gaussian process with a fitted Matern 3/2 and white noise;
PyKrige's own fit of an exponential and of a spherical variogram; gstat the better fitting of an
exponential and a spherical one. RMSE in sds of the data; CRPS of a normal distribution (Gneiting
and Raftery, J. Am. Stat. Assoc. 102 (2007) 359, equation 21); share of readings inside 90%.
"""

from __future__ import annotations

import argparse
import json
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.special import ndtr

from moisturemap.geostat import BlendedKriging, FitOptions, fit_covariance

NINETY = 1.6448536269514722
Answer = tuple[np.ndarray, np.ndarray]
Rival = Callable[[np.ndarray, np.ndarray, np.ndarray], Answer]


def ours(points: np.ndarray, values: np.ndarray, at: np.ndarray) -> Answer:
    """Predict new readings by our blend, directions included."""
    fit = fit_covariance(points, values, options=FitOptions(anisotropy=True))
    return BlendedKriging(points, values, fit).predict_reading(at)


def gaussian_process(points: np.ndarray, values: np.ndarray, at: np.ndarray) -> Answer:
    """Predict new readings by scikit-learn."""
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import ConstantKernel, Matern, WhiteKernel

    scale = np.ptp(points, axis=0).max()
    kernel = ConstantKernel(1.0) * Matern(0.2, (0.01, 10.0), nu=1.5) + WhiteKernel(0.2)
    process = GaussianProcessRegressor(
        kernel, normalize_y=True, n_restarts_optimizer=1, random_state=0
    )
    return process.fit(points / scale, values).predict(at / scale, return_std=True)


def pykrige(kind: str) -> Rival:
    """Return a rival that lets PyKrige fit its own variogram."""

    def krige(points: np.ndarray, values: np.ndarray, at: np.ndarray) -> Answer:
        from pykrige.ok import OrdinaryKriging

        scale = np.ptp(points, axis=0).max()
        model = OrdinaryKriging(
            *(points / scale).T, values, variogram_model=kind, nlags=15, exact_values=False
        )
        mean, variance = model.execute("points", *(at / scale).T)
        # its variance carries the nugget, so it is that of a new reading
        return np.asarray(mean), np.sqrt(np.maximum(np.asarray(variance), 1e-9))

    return krige


RIVALS: dict[str, Rival] = {
    "ours": ours,
    "scikit-learn": gaussian_process,
    "PyKrige exponential": pykrige("exponential"),
    "PyKrige spherical": pykrige("spherical"),
}


def scores(value: np.ndarray, mean: np.ndarray, sd: np.ndarray) -> list[float]:
    """RMSE, mean CRPS and share inside the 90% interval."""
    z = (value - mean) / sd
    density = np.exp(-0.5 * z**2) / np.sqrt(2.0 * np.pi)
    crps = sd * (z * (2.0 * ndtr(z) - 1.0) + 2.0 * density - 1.0 / np.sqrt(np.pi))
    inside = np.abs(z) <= NINETY
    return [float(np.sqrt(np.mean((value - mean) ** 2))), float(crps.mean()), float(inside.mean())]


def folds_of(table: pd.DataFrame, rival: Rival) -> list[float]:
    """Scores of one engine over the ten folds of one data set."""
    points, values = table[["x", "y"]].to_numpy(float), table["value"].to_numpy(float)
    mean, sd = np.empty(len(table)), np.empty(len(table))
    for fold in range(1, 11):
        left = (table["fold"] == fold).to_numpy()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            mean[left], sd[left] = rival(points[~left], values[~left], points[left])
    return scores(values, mean, sd)


def main() -> None:
    """Print a table of RMSE, and of the means over all data sets."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    folder = parser.parse_args().folder
    kept = folder / "scores.json"
    found = json.loads(kept.read_text()) if kept.exists() else {}
    gstat = pd.read_csv(folder / "gstat.txt")
    for file in sorted(folder.glob("*.csv")):
        table, name = pd.read_csv(file), file.stem
        theirs = gstat[gstat["name"] == name]
        row = found.setdefault(name, {})
        row["gstat"] = scores(*(theirs[key].to_numpy(float) for key in ("value", "mean", "sd")))
        for rival, krige in RIVALS.items():
            if rival not in row:
                row[rival] = folds_of(table, krige)
                kept.write_text(json.dumps(found))
        cells = " | ".join(f"{row[rival][0]:.3f}" for rival in (*RIVALS, "gstat"))
        print(f"| {name} | {len(table)} | {cells} |", flush=True)
    for number, title in ((0, "RMSE / ours"), (1, "CRPS / ours")):
        base = np.array([row["ours"][number] for row in found.values()])
        ratios = [
            np.exp(np.mean(np.log(np.array([row[rival][number] for row in found.values()]) / base)))
            for rival in (*RIVALS, "gstat")
        ]
        print(f"| {title} | | " + " | ".join(f"{ratio:.3f}" for ratio in ratios) + " |")
    held = [np.array([row[rival][2] for row in found.values()]) for rival in (*RIVALS, "gstat")]
    cells = " | ".join(f"{100 * one.mean():.1f} ({100 * one.min():.1f})" for one in held)
    print(f"| 90% holds, mean (worst) | | {cells} |")


if __name__ == "__main__":
    main()
