"""What the search says of real lattices with nothing embedded.

    python scripts/bench/lattices.py

Public data of Debian packages (apt-get install r-cran-gstat r-cran-randomfields), read from
their files: the soil survey of `RandomFields` (five variables, moisture among them, each 30 m), the
coal ash of `gstat` (Gomez and Hazen 1970) and its Oxford soil survey (Burrough and
McDonnell 1998, every 100 m). Each is laid out as a floor read every 0.25, 0.5 and 1 m, the scale
1.2 times its range, once with no wet level stated and once with its 80% quantile. Nothing lies
below, so whatever is named as a line or spot is wrong; a single reading far off its neighbours may
be a fact of the field.
"""

from __future__ import annotations

import argparse
import gzip
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import rdata
from numpy.typing import NDArray
from shapely.geometry import MultiPoint

from moisturemap.anomalies.assemble import assemble
from moisturemap.anomalies.scene import USUAL_FOOTPRINT_M, WIDER_SCALE, Scene
from moisturemap.anomalies.search import search

Array = NDArray[np.float64]

R_LIBRARY = Path("/usr/lib/R/site-library")
SPACINGS_M = (0.25, 0.5, 1.0)
OXFORD = ("PH1", "OM1", "CEC1")
SOIL = ("moisture", "NO3N", "TotalN", "NH4N", "DOC")


def lattices() -> Iterator[tuple[str, Array, Array]]:
    """Yield name, places (n, 2) in steps of the lattice, and values (n,) of each."""
    with gzip.open(R_LIBRARY / "RandomFields" / "data" / "soil.txt.gz", "rt") as text:
        soil = np.genfromtxt(text, names=True)
    places = np.column_stack([soil["xcoord"], soil["ycoord"]]) / 30.0
    for name in SOIL:
        yield f"soil, {name}", places, soil[name]
    folder = R_LIBRARY / "gstat" / "data"
    coal = rdata.read_rda(folder / "coalash.rda")["coalash"]
    yield "coal ash", coal[["x", "y"]].to_numpy(float), coal["coalash"].to_numpy(float)
    oxford = rdata.read_rda(folder / "oxford.rda")["oxford"]
    for name in OXFORD:
        places = oxford[["XCOORD", "YCOORD"]].to_numpy(float) / 100.0
        yield f"oxford, {name}", places, oxford[name].to_numpy(float)


def scene_of(places: Array, values: Array, spacing: float, level: float | None) -> Scene:
    """Return a lattice as a floor read at a spacing [m]."""
    good = np.isfinite(values)
    places, values = places[good], values[good]
    ones = np.ones(len(values))
    span = WIDER_SCALE * float(np.ptp(values))
    least = 1e-5 * span**2
    return Scene(
        places * spacing,
        values,
        ones,
        0 * ones,
        spacing,
        USUAL_FOOTPRINT_M,
        least,
        span,
        np.inf,
        level,
    )


def main() -> None:
    """Search all, print the table."""
    argparse.ArgumentParser(description=__doc__.splitlines()[0]).parse_args()
    print("| spacing | wet level | lattices | readings | with a line or spot named | contested |")
    print("|---|---|---|---|---|---|")
    for spacing in SPACINGS_M:
        for stated in (False, True):
            count: Counter[str] = Counter()
            for name, places, values in lattices():
                level = float(np.nanquantile(values, 0.8)) if stated else None
                scene = scene_of(places, values, spacing, level)
                hull = MultiPoint(scene.points).convex_hull.buffer(0.5 * spacing)
                found = assemble(search(scene), scene, hull, 2.0)
                things = [one for one in found if one.standing == "thing" and one.kind != "stray"]
                contested = np.zeros(len(scene.values), dtype=bool)
                for one in found:
                    contested[one.disturbed[one.stays]] = True
                count.update(n=1, readings=contested.size, named=bool(things))
                count.update(contested=int(contested.sum()))
                count.update(strays=sum(one.kind == "stray" for one in found))
                if things:
                    print(f"<!-- {name}: {[one.kind for one in things]} -->")
            print(
                f"| {spacing:.2f} m | {'80% quantile' if stated else 'none'} | {count['n']} "
                f"| {count['readings']} | {count['named']} | {count['contested']} |"
            )


if __name__ == "__main__":
    main()
