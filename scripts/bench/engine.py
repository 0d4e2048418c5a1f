"""Time, memory, error and coverage of the kriging engine and its peers, in one run.

python scripts/bench/engine.py [--smallest 0] [--largest 1000000] [--only ours,pykrige] [--out FILE]

The field is exponential with a practical range of 10 m on a 60 m x 60 m floor, field variance 0.9,
noise variance 0.1; every engine is given the true covariance, but "ours fitted", which fits it and
carries what it does not know into the standard deviation. Each engine and size runs in a
process of its own. Seconds are processor seconds, then those on the wall;
compare them within one run only.
"""

from __future__ import annotations

import argparse
import json
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SIDE, NODES = 60.0, 2048
VARIANCE, LENGTH, NOISE = 0.9, 10.0 / 3.0, 0.1
CASES = (
    (100, 10_000),
    (225, 3_600),
    (225, 10_000),
    (441, 10_000),
    (1_024, 10_000),
    (2_500, 10_000),
    (5_000, 10_000),
    (10_000, 250_000),
    (100_000, 250_000),
    (1_000_000, 1_000_000),
)
LATTICE = 1000
LIMITS = {
    "ours": 10**7,
    "ours fitted": 10**7,
    "ours exact": 2_500,
    "ours lattice": 10**7,
    "pykrige": 2_500,
    "pykrige window 16": 10_000,
    "gstools": 2_500,
    "scikit-learn": 2_500,
    "nearest 32": 100_000,
    "numba nearest 32": 10**7,
    "gstat nmax 32": 100_000,
}
"""Most readings each engine is asked for; beyond, it needs hours or more memory than there is."""


def make_field(seed: int = 0) -> Array:
    """Draw the field on NODES x NODES nodes by circulant embedding."""
    step = SIDE / NODES
    lag = np.minimum(np.arange(2 * NODES), 2 * NODES - np.arange(2 * NODES)) * step
    covariance = VARIANCE * np.exp(-np.hypot(lag[:, None], lag) / LENGTH)
    spectrum = np.maximum(np.fft.fft2(covariance).real, 0.0)
    rng = np.random.default_rng(seed)
    noise = rng.standard_normal(spectrum.shape) + 1j * rng.standard_normal(spectrum.shape)
    field = np.fft.fft2(np.sqrt(spectrum) * noise).real / (2 * NODES)
    return np.asarray(field[:NODES, :NODES])


def make_case(field: Array, readings: int, cells: int, lattice: bool, file: Path) -> None:
    """Write readings, cells and truth of one case."""
    rng = np.random.default_rng(readings)
    step = SIDE / NODES
    if lattice:
        line = np.arange(LATTICE) * 2
        row, column = (part.ravel() for part in np.meshgrid(line, line))
        cell_row, cell_column = row, column
    else:
        chosen = rng.choice(NODES * NODES, readings, replace=False)
        row, column = np.divmod(chosen, NODES)
        line = np.linspace(0, NODES - 1, round(np.sqrt(cells))).astype(int)
        cell_row, cell_column = (part.ravel() for part in np.meshgrid(line, line))
    np.savez(
        file,
        points=np.column_stack([row, column]) * step,
        values=field[row, column] + np.sqrt(NOISE) * rng.standard_normal(len(row)),
        cells=np.column_stack([cell_row, cell_column]) * step,
        truth=field[cell_row, cell_column],
    )


def ours(points: Array, values: Array, cells: Array, engine: str = "auto") -> tuple[Array, Array]:
    from moisturemap.geostat import Covariance, map_points

    model = Covariance("exponential", VARIANCE, LENGTH, nugget=NOISE)
    return map_points(points, values, cells, model=model, engine=engine)


def pykrige(points: Array, values: Array, cells: Array, window: int = 0) -> tuple[Array, Array]:
    from pykrige.ok import OrdinaryKriging

    kriging = OrdinaryKriging(
        *points.T,
        values,
        variogram_model="exponential",
        exact_values=False,
        variogram_parameters={"psill": VARIANCE, "range": 3 * LENGTH, "nugget": NOISE},
    )
    options = {"backend": "C", "n_closest_points": window} if window else {"backend": "vectorized"}
    mean, variance = kriging.execute("points", *cells.T, **options)
    return np.asarray(mean), np.sqrt(np.maximum(np.asarray(variance) - NOISE, 0.0))


def gstools(points: Array, values: Array, cells: Array) -> tuple[Array, Array]:
    import gstools

    kriging = gstools.krige.Ordinary(
        gstools.Exponential(dim=2, var=VARIANCE, len_scale=LENGTH),
        points.T,
        values,
        cond_err=NOISE,
        exact=False,
    )
    mean, variance = kriging(cells.T)
    return np.asarray(mean), np.sqrt(np.maximum(variance, 0.0))


def scikit_learn(points: Array, values: Array, cells: Array) -> tuple[Array, Array]:
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import ConstantKernel, Matern

    kernel = ConstantKernel(VARIANCE, "fixed") * Matern(LENGTH, "fixed", nu=0.5)
    process = GaussianProcessRegressor(kernel, alpha=NOISE, optimizer=None)
    process.fit(points, values - values.mean())
    parts = [
        process.predict(cells[i : i + 5000], return_std=True) for i in range(0, len(cells), 5000)
    ]
    mean = np.concatenate([part[0] for part in parts]) + values.mean()
    return mean, np.concatenate([part[1] for part in parts])


def nearest(points: Array, values: Array, cells: Array, near: int = 32) -> tuple[Array, Array]:
    """Ordinary practice: simple kriging of each cell from its own 32 nearest, in plain numpy."""
    from scipy.spatial import cKDTree

    centre = values.mean()
    tree, mean, variance = cKDTree(points), np.empty(len(cells)), np.empty(len(cells))
    for start in range(0, len(cells), 10_000):
        at = cells[start : start + 10_000]
        group = tree.query(at, near)[1]
        place = points[group]
        apart = np.linalg.norm(place[:, :, None] - place[:, None], axis=3)
        matrix = VARIANCE * np.exp(-apart / LENGTH) + NOISE * np.eye(near)
        gap = np.linalg.norm(place - at[:, None], axis=2)
        cross = VARIANCE * np.exp(-gap / LENGTH)
        weights = np.linalg.solve(matrix, cross[..., None])[..., 0]
        mean[start : start + 10_000] = centre + (weights * (values[group] - centre)).sum(axis=1)
        variance[start : start + 10_000] = VARIANCE - (weights * cross).sum(axis=1)
    return mean, np.sqrt(np.maximum(variance, 0.0))


def numba_nearest(
    points: Array, values: Array, cells: Array, near: int = 32
) -> tuple[Array, Array]:
    """Krige each cell simply from its own 32 nearest, compiled, on one core."""
    from scipy.spatial import cKDTree

    group = cKDTree(points).query(cells, near)[1]
    mean, variance = _numba_kernel()(points, values - values.mean(), cells, group)
    return mean + values.mean(), np.sqrt(np.maximum(variance, 0.0))


@cache
def _numba_kernel():
    """Compile the kernel: a Cholesky factor for every cell."""
    # numba looks for the package coverage, and this folder holds a script of that name
    sys.path[:] = [path for path in sys.path if Path(path).resolve() != Path(__file__).parent]
    import numba

    @numba.njit(fastmath=True, nogil=True)
    def kernel(points, values, cells, group):
        count, near = group.shape
        mean, variance = np.empty(count), np.empty(count)
        matrix, cross, half = np.empty((near, near)), np.empty(near), np.empty(near)
        right = np.empty(near)
        for one in range(count):
            for i in range(near):
                a = group[one, i]
                for j in range(i + 1):
                    b = group[one, j]
                    apart = np.sqrt(
                        (points[a, 0] - points[b, 0]) ** 2 + (points[a, 1] - points[b, 1]) ** 2
                    )
                    matrix[i, j] = VARIANCE * np.exp(-apart / LENGTH)
                matrix[i, i] += NOISE
                apart = np.sqrt(
                    (points[a, 0] - cells[one, 0]) ** 2 + (points[a, 1] - cells[one, 1]) ** 2
                )
                cross[i] = VARIANCE * np.exp(-apart / LENGTH)
                right[i] = values[a]
            total, spread = 0.0, VARIANCE
            for i in range(near):
                for j in range(i + 1):
                    rest = matrix[i, j]
                    for k in range(j):
                        rest -= matrix[i, k] * matrix[j, k]
                    matrix[i, j] = np.sqrt(rest) if i == j else rest / matrix[j, j]
                first, second = cross[i], right[i]
                for k in range(i):
                    first -= matrix[i, k] * half[k]
                    second -= matrix[i, k] * right[k]
                half[i], right[i] = first / matrix[i, i], second / matrix[i, i]
                total += half[i] * right[i]
                spread -= half[i] ** 2
            mean[one], variance[one] = total, spread
        return mean, variance

    return kernel


def ours_fitted(points: Array, values: Array, cells: Array) -> tuple[Array, Array]:
    from moisturemap.geostat import map_points

    return map_points(points, values, cells)


def gstat(points: Array, values: Array, cells: Array) -> tuple[Array, Array]:
    """R's gstat with 32 nearest readings and the noise declared as measurement error."""
    with tempfile.TemporaryDirectory() as folder:
        data, target, out = (Path(folder) / name for name in ("data.csv", "cells.csv", "out.csv"))
        np.savetxt(data, np.column_stack([points, values]), delimiter=",")
        np.savetxt(target, cells, delimiter=",")
        script = f"""
        suppressMessages({{library(sp); library(gstat)}})
        d <- read.csv("{data}", header=FALSE, col.names=c("x","y","z")); coordinates(d) <- ~x+y
        g <- read.csv("{target}", header=FALSE, col.names=c("x","y")); coordinates(g) <- ~x+y
        m <- vgm({VARIANCE}, "Exp", {LENGTH}, add.to=vgm({NOISE}, "Err", 0))
        k <- krige(z~1, d, g, m, nmax=32, debug.level=0)
        write.table(cbind(k$var1.pred, k$var1.var), "{out}", row.names=FALSE, col.names=FALSE)
        """
        subprocess.run(["Rscript", "-e", script], check=True, capture_output=True)
        found = np.loadtxt(out)
    return found[:, 0], np.sqrt(np.maximum(found[:, 1], 0.0))


ENGINES: dict[str, Callable[[Array, Array, Array], tuple[Array, Array]]] = {
    "ours": ours,
    "ours fitted": ours_fitted,
    "ours exact": lambda p, v, c: ours(p, v, c, "exact"),
    "ours lattice": ours,
    "pykrige": pykrige,
    "pykrige window 16": lambda p, v, c: pykrige(p, v, c, 16),
    "gstools": gstools,
    "scikit-learn": scikit_learn,
    "nearest 32": nearest,
    "numba nearest 32": numba_nearest,
    "gstat nmax 32": gstat,
}


def run_one(engine: str, file: Path) -> None:
    """Run one engine on one case and print what it took as JSON."""
    case = np.load(file)
    points, values, cells, truth = (case[k] for k in ("points", "values", "cells", "truth"))
    ENGINES[engine](points[:300], values[:300], cells[:50])
    before, wall = processor_seconds(), time.perf_counter()
    mean, sd = ENGINES[engine](points, values, cells)
    seconds, wall = processor_seconds() - before, time.perf_counter() - wall
    error = np.abs(mean - truth)
    print(
        json.dumps(
            {
                "seconds": seconds,
                "wall": wall,
                "memory_mb": peak_megabytes(),
                "rmse": float(np.sqrt(np.mean(error**2))),
                "coverage": float(np.mean(error <= 1.6448536 * sd)),
            }
        )
    )


def peak_megabytes() -> float:
    """Most memory this process, or one it started, held.

    Linux's own mark is read where there is one, because a parent's size does not raise it.
    """
    import resource

    children = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    status = Path("/proc/self/status")
    if status.exists():
        line = next(one for one in status.read_text().splitlines() if one.startswith("VmHWM"))
        return max(int(line.split()[1]) / 1024, children)
    return max(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, children)


def processor_seconds() -> float:
    """Processor seconds of this process and of those it started."""
    import resource

    own, children = (
        resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    return own.ru_utime + own.ru_stime + children.ru_utime + children.ru_stime


def wanted(engine: str, readings: int, lattice: bool, only: set[str]) -> bool:
    """Tell whether an engine takes part in a case."""
    if only and engine not in only:
        return False
    if engine == "gstat nmax 32" and shutil.which("Rscript") is None:
        return False
    return readings <= LIMITS[engine] and lattice == (engine == "ours lattice")


def main() -> None:
    """Run every case and print one table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--largest", type=int, default=1_000_000)
    parser.add_argument("--smallest", type=int, default=0)
    parser.add_argument("--only", default="")
    parser.add_argument("--out", type=Path)
    parser.add_argument("--run", nargs=2, metavar=("ENGINE", "FILE"), help=argparse.SUPPRESS)
    arguments = parser.parse_args()
    if arguments.run:
        run_one(arguments.run[0], Path(arguments.run[1]))
        return
    only = {name.strip() for name in arguments.only.split(",") if name.strip()}
    lines = [
        "| readings -> cells | engine | seconds | wall | x ours | memory MB | RMSE | coverage % |",
        "|---|---|---|---|---|---|---|---|",
    ]
    print("\n".join(lines), flush=True)
    field = make_field()
    cases = [(n, m, False) for n, m in CASES if arguments.smallest <= n <= arguments.largest]
    if arguments.largest >= LATTICE**2:
        cases.append((LATTICE**2, LATTICE**2, True))
    with tempfile.TemporaryDirectory() as folder:
        for readings, cells, lattice in cases:
            file = Path(folder) / "case.npz"
            make_case(field, readings, cells, lattice, file)
            lines += run_case((readings, cells, lattice), file, only)
    if arguments.out:
        arguments.out.write_text("\n".join(lines) + "\n", encoding="utf-8")


def run_case(case: tuple[int, int, bool], file: Path, only: set[str]) -> list[str]:
    """Run all engines on one case; return rows of the table."""
    readings, cells, lattice = case
    rows, base = [], None
    for engine in ENGINES:
        if not wanted(engine, readings, lattice, only):
            continue
        command = [sys.executable, __file__, "--run", engine, str(file)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            reason = (done.stderr.strip().splitlines() or ["killed"])[-1][:60]
            rows.append(f"| {readings:,} -> {cells:,} | {engine} | failed: {reason} | | | | | |")
        else:
            found = json.loads(done.stdout.strip().splitlines()[-1])
            base = base or found["seconds"]
            rows.append(
                f"| {readings:,} -> {cells:,} | {engine} | {found['seconds']:.2f} | "
                f"{found['wall']:.2f} | {found['seconds'] / base:.1f} | "
                f"{found['memory_mb']:.0f} | {found['rmse']:.4f} | {100 * found['coverage']:.1f} |"
            )
        print(rows[-1], flush=True)
    return rows


if __name__ == "__main__":
    main()
