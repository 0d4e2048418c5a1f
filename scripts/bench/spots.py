"""How often the interval of the sealed humidity holds the truth, and how long a spot takes.

    python scripts/bench/spots.py [--slabs 1200]

Invented slabs of 150 mm, 40 to 700 days old, solved more finely than the package's own library; D
is 29 mm2/day within a factor of two (log-even), probes err with sd 1 %RH (+-2 %RH, k = 2), holes
with sd 2 mm, re-wetting concrete takes up 0.5 to 1 of the water drying concrete gives off. Slabs:

prior   anything the library allows
fib     the diffusivity curve of the fib Model Code, moderate mixes and rooms
film    the same, drying through a tight surface (Biot number 20)
damp    the same, in a room that was 25 %RH damper than the end of its drying suggests
"""

from __future__ import annotations

import argparse
import time

import numpy as np

from moisturemap.errors import InputError
from moisturemap.slab import (
    SEALED,
    Cells,
    DepthReading,
    DiffusivityCurve,
    Face,
    Isotherm,
    Layers,
    Material,
    SlabSpec,
    StepRule,
    diffuse,
    estimate_profile,
    sealed_humidity,
    surface_after_covering,
    wait_for_limit,
)
from moisturemap.slab.library import Library, library, solve_histories

CELLS = Cells.spread(60, finer_top=1.04)
TIMES = np.geomspace(0.01, 4.0, 300)
STEPS = StepRule(1e-4, 0.1, 1e-7)
THICKNESS = 150.0
DEPTHS = ((15.0, 60.0, 120.0), (30.0, 60.0, 105.0), (60.0,))


def invented(kind: str, count: int) -> Library:
    """Histories of one kind of slab."""
    if kind == "prior":
        return solve_histories(count, seed=99, cells=CELLS, times=TIMES, steps=STEPS)
    rng = np.random.default_rng(4)
    start, surface = rng.uniform(0.90, 0.99, count), rng.uniform(0.42, 0.65, count)
    mixes = zip(rng.uniform(0.4, 0.6, count), rng.uniform(0, 1, count), strict=True)
    isotherms = [Isotherm(ratio, linear_share=share) for ratio, share in mixes]
    material = Material.made(isotherms, [DiffusivityCurve()] * count)
    h = np.repeat(start[:, None], CELLS.z.size, axis=1)
    face = Face(surface)
    if kind == "film":
        water = [material.water_at(np.full((count, 1), at))[:, 0] for at in (0.85, 0.95)]
        face = Face(surface, film=20.0 * (water[1] - water[0]) / 0.1)
    if kind == "damp":
        damper = Layers(material, CELLS, (Face(np.minimum(surface + 0.25, 0.85)), SEALED))
        h = diffuse(damper, h, np.array([0.05]), steps=STEPS)[:, 0]
    path = diffuse(Layers(material, CELLS, (face, SEALED)), h, TIMES, steps=STEPS)
    return Library(material, start, surface, TIMES, CELLS, path)


def cover(truth: Library, depths: tuple[float, ...]) -> tuple[float, float, float, int]:
    """Share of intervals with the truth, their width, error of the middle [%RH], refused."""
    rng = np.random.default_rng(5)
    hits, widths, errors, refused = [], [], [], 0
    for row in range(len(truth.h)):
        age = np.exp(rng.uniform(np.log(40), np.log(700)))
        fo = 29.0 * 2.0 ** rng.uniform(-1, 1) * age / THICKNESS**2
        h = truth.h[row, np.abs(np.log(truth.times / fo)).argmin()]
        own = truth.material.take(np.array([row]))
        sealed = 100 * sealed_humidity(own, h[None], truth.cells, rng.uniform(0.5, 1.0))[0]
        at = (np.array(depths) + rng.normal(0, 2, len(depths))) / THICKNESS
        noise = rng.normal(0, 1, len(depths))
        read = np.minimum(np.round(100 * np.interp(at, CELLS.z, h) + noise, 1), 100.0)
        readings = [DepthReading(d, v) for d, v in zip(depths, read, strict=True)]
        try:
            found = estimate_profile(readings, SlabSpec(THICKNESS, 1, age)).sealed
        except InputError:
            refused += 1
            continue
        hits.append(found.low <= sealed <= found.high)
        widths.append(found.high - found.low)
        errors.append(found.value - sealed)
    root = float(np.sqrt(np.mean(np.square(errors))))
    return float(np.mean(hits)), float(np.mean(widths)), root, refused


def clock() -> None:
    """Processor seconds of one spot with three depths."""
    before = time.process_time()
    library()
    print(f"library {time.process_time() - before:.2f} s, once")
    readings = [DepthReading(15, 72), DepthReading(60, 86), DepthReading(120, 92)]
    spec = SlabSpec(THICKNESS, 1, 200)
    found = estimate_profile(readings, spec)
    for name, work in (
        ("estimate", lambda: estimate_profile(readings, spec)),
        ("surface after covering", lambda: surface_after_covering(found)),
        ("time to the limit", lambda: wait_for_limit(found, 80.0)),
    ):
        before = time.process_time()
        for _ in range(10):
            work()
        print(f"{name} {(time.process_time() - before) / 10:.3f} s")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--slabs", type=int, default=1200)
    options = parser.parse_args()
    clock()
    print("slabs  depths [mm]      coverage  width  error  refused")
    for kind in ("prior", "fib", "film", "damp"):
        truth = invented(kind, options.slabs)
        for depths in DEPTHS:
            share, width, error, refused = cover(truth, depths)
            shown = ", ".join(f"{depth:g}" for depth in depths)
            print(f"{kind:6} {shown:16} {share:8.3f} {width:6.2f} {error:6.2f} {refused:8d}")


if __name__ == "__main__":
    main()
