"""Tell wet floor from things: the first duty and what it costs, by generator and spacing.

    python scripts/bench/things.py --floors 24 --sweeps

Floors of two generators that know nothing of the search (`floors_by_others`, made from physics) and
of the package (`synthetic`). Of a wet patch of 1 m2 and more, seen by at least four readings, half
and more must stay above the wet level when the readings that are no things are kriged; `outside` is
the part of such patches that does not. In brackets: the same with nothing set aside, which is what
the grid and the map lose by themselves. Readings off by 4 noise sd and more must be flagged, those
off by less than 1 must not; contested ones count for neither. Mesh and heating loops are reported
apart: where they lie under a part of the floor they lift it as wet floor does. With `--sweeps` the
proposed sweeps are read and the floor is searched again.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter, defaultdict
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely
from floors_by_others import Floor, make, wet_patches
from numpy.typing import NDArray
from scipy.ndimage import label
from scipy.spatial import cKDTree

from moisturemap.anomalies import Anomalies
from moisturemap.anomalies.assemble import assemble
from moisturemap.anomalies.scene import USUAL_FOOTPRINT_M, Scene
from moisturemap.anomalies.search import search
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.geostat import map_points
from moisturemap.scanning import confirming_sweeps, sweep_places
from moisturemap.synthetic import make_floor, mixed_recipe

Array = NDArray[np.float64]
Settled = list[tuple[str, str]]

AREA_THINGS = ("mesh", "heating loop", "heating wire")
CELL = 0.1
NEAR_M, PLACED_M, STANDS_SD = 0.2, 0.4, 3.0
EMBEDDED_OR_WET = ("mixed", "dry", "clean")


@dataclass(frozen=True)
class Case:
    """A scanned floor and what is true about it.

    ``off`` is how far each reading is off [noise sd], ``local`` whether by something else than
    mesh or loops; ``patches`` are indices of ``cells`` of wet patches seen by four readings.
    """

    group: str
    scene: Scene
    noise: float
    off: Array
    local: NDArray[np.bool_]
    cells: Array
    wet: NDArray[np.bool_]
    patches: list[NDArray[np.intp]]
    plan: FloorPlan
    floor: Floor | None = None


def by_others(family: str, seed: int, *, lent: bool = False) -> Case:
    """Make a floor from physics, its scanner's footprint known (lent by earlier floors) or not."""
    floor = make(family, seed)
    rows, columns = np.nonzero(floor.raster.inside)
    number = np.full(floor.truth_wet.shape, -1)
    number[rows, columns] = np.arange(rows.size)
    patches = [
        number[patch.cells & floor.raster.inside]
        for patch in wet_patches(floor)
        if len(patch.readings) >= 4
    ]
    local = np.ones(len(floor.values), dtype=bool)
    for thing in floor.things:
        if thing.kind in AREA_THINGS:
            local &= np.abs(floor.disturbed_by(floor.taken_at, (thing,))) < floor.noise_sd
    rooms = tuple(Room(f"room {k + 1}", shape) for k, shape in enumerate(floor.outline))
    return Case(
        f"others, {family}",
        _scene(floor.points, floor.values.astype(float), floor, lent=lent),
        floor.noise_sd,
        np.abs(floor.disturbance + floor.slip) / floor.noise_sd,
        local,
        np.column_stack([floor.x[columns], floor.y[rows]]),
        floor.truth_wet[rows, columns],
        patches,
        FloorPlan(rooms),
        floor,
    )


def _scene(points: Array, values: Array, floor: Floor, *, lent: bool = False) -> Scene:
    low, high = floor.scale
    ones = np.ones(len(points))
    step = floor.meter.step**2 / 12
    return Scene(
        points,
        values,
        ones,
        0 * ones,
        floor.spacing_m,
        floor.footprint_m if lent else USUAL_FOOTPRINT_M,
        step,
        high - low,
        high,
        floor.wet_level,
    )


def by_package(seed: int) -> Case:
    """Make a floor of the package's own generator; every fourth has nothing embedded."""
    recipe = mixed_recipe(seed, disturbed=seed % 4 != 3)
    floor = make_floor(recipe, seed)
    rows = floor.survey.readings
    points = rows[["x", "y"]].to_numpy(dtype=float)
    _, first = np.unique(points, axis=0, return_index=True)
    first = np.sort(first)
    west, south, east, north = floor.survey.plan.bounds
    x, y = np.arange(west + CELL / 2, east, CELL), np.arange(south + CELL / 2, north, CELL)
    inside = shapely.contains_xy(floor.survey.plan.outline, *np.meshgrid(x, y))
    cells = np.column_stack([part[inside] for part in np.meshgrid(x, y)])
    grid = np.zeros(inside.shape, dtype=bool)
    grid[inside] = floor.wet(cells)
    number = np.full(inside.shape, -1)
    number[inside] = np.arange(len(cells))
    labels, count = label(grid, structure=np.ones((3, 3)))
    nearest = cKDTree(cells).query(points[first])[1]
    at = labels[inside][nearest]
    patches = [
        number[labels == k]
        for k in range(1, count + 1)
        if (labels == k).sum() * CELL**2 >= 1.0 and (at == k).sum() >= 4
    ]
    ones = np.ones(first.size)
    low, high = recipe.scale
    scene = Scene(
        points[first],
        rows["value"].to_numpy(dtype=float)[first],
        ones,
        0 * ones,
        recipe.spacing,
        USUAL_FOOTPRINT_M,
        recipe.step**2 / 12,
        high - low,
        high,
        floor.wet_level,
    )
    off = np.abs(floor.disturbance[first]) / recipe.noise_sd
    local = ~np.isin(floor.cause[first], ("mesh", "loop"))
    kind = "package" if seed % 4 != 3 else "package, nothing embedded"
    return Case(
        kind, scene, recipe.noise_sd, off, local, cells, grid[inside], patches, floor.survey.plan
    )


def standings(case: Case, scene: Scene) -> tuple[NDArray[np.intp], Anomalies]:
    """Standing of each reading - 0 clear, 1 contested, 2 thing, 3 mesh - and the anomalies."""
    marks = np.zeros(len(scene.values), dtype=np.intp)
    found = assemble(search(scene), scene, case.plan.outline, 2.0)
    for rank, stays in ((3, False), (1, True), (2, False)):
        for one in found:
            if (rank == 3) == (one.kind == "mesh"):
                marks[one.disturbed[one.stays == stays]] = rank
    rows = [
        {
            "anomaly": f"A{k}",
            "kind": one.kind,
            "standing": one.standing,
            "confirmed": one.told or one.stays.all(),
            "geometry": one.geometry,
        }
        for k, one in enumerate(found)
    ]
    names = ["anomaly", "kind", "standing", "confirmed", "geometry"]
    table = gpd.GeoDataFrame(rows, columns=names, geometry="geometry")
    x, y = scene.points.T
    read = gpd.GeoDataFrame({"x": x, "y": y, "flag": "clear"}, geometry=gpd.points_from_xy(x, y))
    return marks, Anomalies(table, read)


def score(case: Case, marks: NDArray[np.intp]) -> dict[str, float]:
    """Count one floor."""
    tally: dict[str, float] = defaultdict(float)
    thing, contested = marks == 2, marks == 1
    strong, quiet = (case.off >= 4) & case.local, (case.off < 1) & case.local
    tally["floors"] += 1
    tally["right"] += (strong & thing).sum()
    tally["missed"] += (strong & (marks == 0)).sum()
    tally["false"] += (quiet & thing).sum()
    tally["area_things"] += ((case.off >= 4) & ~case.local).sum()
    tally["area_found"] += ((case.off >= 4) & ~case.local & (marks >= 2)).sum()
    tally["contested"] += contested.sum()
    tally["readings"] += marks.size
    tally["named"] += bool((quiet & thing).any())
    if not case.wet.any():
        return tally
    drawn, whole = drawn_wet(case, marks < 2), drawn_wet(case, np.ones(thing.size, dtype=bool))
    seen = np.concatenate([np.empty(0, dtype=np.intp), *case.patches])
    tally["patches"] += len(case.patches)
    for name, one in (("", drawn), ("_anyway", whole)):
        tally[f"lost{name}"] += sum(one[cells].mean() < 0.5 for cells in case.patches)
        tally[f"outside{name}"] += (~one[seen]).sum()
    tally["wet"] += seen.size
    tally["overlap"] += (case.wet & drawn).sum() / (case.wet | drawn).sum()
    tally["overlaps"] += 1
    return tally


def drawn_wet(case: Case, kept: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Cells above the wet level when the kept readings are kriged."""
    mean, _ = map_points(case.scene.points[kept], case.scene.values[kept], case.cells)
    return np.asarray(mean > case.scene.level)


def swept(case: Case, found: Anomalies) -> tuple[NDArray[np.intp], Settled] | None:
    """Standings after the proposed sweeps, and how what was contested stands then."""
    assert case.floor is not None
    sweeps = confirming_sweeps(found, case.plan)
    if sweeps.empty:
        return None
    places = np.vstack([sweep_places(line) for line in sweeps.geometry])
    points = np.vstack([case.scene.points, places + 1e-4])
    values = np.concatenate([case.scene.values, case.floor.sweep(places)])
    marks, after = standings(case, _scene(points, values, case.floor))
    return marks[: len(case.scene.values)], _settled(case, found, after)


def _settled(case: Case, found: Anomalies, after: Anomalies) -> Settled:
    """Of each thing contested on the grid what it is, and how it stands after sweeps."""
    tree = cKDTree(case.scene.points)
    settled = []
    for one in found.table[found.table["standing"] == "contested"].itertuples():
        course = shapely.get_coordinates(one.geometry.segmentize(0.1))
        near = tree.query_ball_point(course, NEAR_M)
        hit = np.unique(np.concatenate([np.asarray(part, dtype=int) for part in near]))
        if hit.size:
            settled.append((_truth_at(case, course, hit), _standing_at(after, course)))
    return settled


def _truth_at(case: Case, course: Array, hit: NDArray[np.intp]) -> str:
    """Tell what disturbs most readings on a course (k, 2) or most of its places, else floor."""
    assert case.floor is not None
    off = case.off[hit] >= STANDS_SD
    if off.mean() > 0.5:
        return "thing" if case.local[hit[off]].any() else "mesh"
    for name, area in (("thing", False), ("mesh", True)):
        things = tuple(one for one in case.floor.things if (one.kind in AREA_THINGS) == area)
        lift = np.abs(case.floor.disturbed_by(course, things)) / case.noise
        if (lift >= STANDS_SD).mean() > 0.5:
            return name
    return "floor"


def _standing_at(found: Anomalies, course: Array) -> str:
    """Standing of what lies along most of a course (k, 2), else of some of it, else floor."""
    for standing, share in (("thing", 0.5), ("contested", 0.3)):
        shapes = found.table.geometry[found.table["standing"] == standing]
        if len(shapes):
            away = shapely.distance(shapely.union_all(shapes.to_numpy()), shapely.points(course))
            if (away <= PLACED_M).mean() > share:
                return standing
    return "floor"


def line_of(name: str, tally: Counter[str]) -> str:
    """One row of the table."""

    def share(part: str, *whole: str) -> float:
        total = sum(tally[one] for one in whole)
        return tally[part] / total if total else float("nan")

    precision, recall = share("right", "right", "false"), share("right", "right", "missed")
    f1 = 2 * precision * recall / (precision + recall) if precision + recall else float("nan")
    cells = [
        name,
        f"{tally['floors']:.0f}",
        f"{tally['lost']:.0f} ({tally['lost_anyway']:.0f}) of {tally['patches']:.0f}",
        f"{share('outside', 'wet'):.1%} ({share('outside_anyway', 'wet'):.1%})",
        f"{share('overlap', 'overlaps'):.2f}",
        f"{precision:.2f} / {recall:.2f} / {f1:.2f}",
        f"{share('contested', 'readings'):.1%}",
        f"{share('named', 'floors'):.0%}",
        f"{tally['area_found']:.0f} of {tally['area_things']:.0f}",
    ]
    return f"| {' | '.join(cells)} |".replace("nan", "-").replace("-%", "-")


HEAD = (
    "| floors | n | patches lost | wet area outside | overlap | precision / recall / F1, contested "
    "neither | contested | floors with a quiet reading flagged | of mesh and loops |"
)


def said(settled: Settled) -> str:
    """Say what sweeps made of what was contested, mesh and loops apart."""
    count = Counter(settled)
    local = {pair: number for pair, number in count.items() if pair[0] != "mesh"}
    open_ones = sum(number for pair, number in local.items() if pair[1] == "contested")
    right = sum(number for pair, number in local.items() if pair[0] == pair[1])
    return (
        f"Sweeps: of {sum(local.values())} contested, {open_ones} stay open, "
        f"{right} are settled rightly; {count['floor', 'thing']} that was floor is taken for a "
        f"thing, {count['thing', 'floor']} things for floor. Of mesh and loops: "
        f"{count['mesh', 'thing']} things, {count['mesh', 'contested']} open, "
        f"{count['mesh', 'floor']} floor."
    )


def cases(floors: int, firsts: list[int]) -> list[tuple[str, int]]:
    """Which floors are made: family (or the package) and seed."""
    families = ("mixed", "dry", "clean", "nothing")
    seeds = [first + k for first in firsts for k in range(floors)]
    listed = [(family, seed) for seed in seeds for family in families]
    return [*listed, *(("package", firsts[0] + k) for k in range(floors))]


def main() -> None:
    """Parse the command line, run, print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--floors", type=int, default=24, help="how many of each family")
    parser.add_argument("--first", type=int, nargs="+", default=[1000], help="seeds of the first")
    parser.add_argument("--sweeps", action="store_true", help="read the proposed sweeps as well")
    parser.add_argument(
        "--lent", action="store_true", help="the footprint is known, as lent by earlier floors"
    )
    chosen = parser.parse_args()
    tallies: dict[str, Counter[str]] = defaultdict(Counter[str])
    settled: Settled = []
    seconds: list[float] = []
    for family, seed in cases(chosen.floors, chosen.first):
        case = (
            by_package(seed) if family == "package" else by_others(family, seed, lent=chosen.lent)
        )
        began = time.process_time()
        marks, found = standings(case, case.scene)
        seconds.append(time.process_time() - began)
        counted = score(case, marks)
        tallies[case.group].update(counted)
        if family in EMBEDDED_OR_WET:
            at = f"{case.scene.spacing:.2f} m"
            tallies[f"others, spacing {at}"].update(counted)
            if chosen.sweeps:
                # what no sweep is proposed for stands as it stood
                after, standing = swept(case, found) or (marks, [])
                counted = score(case, after)
                for name in ("others, after sweeps", f"others, after sweeps, {at}"):
                    tallies[name].update(counted)
                settled += standing
    print(HEAD + "\n|---|---|---|---|---|---|---|---|---|")
    for name in sorted(tallies):
        print(line_of(name, tallies[name]))
    print(f"\nCPU time of a search: mean {np.mean(seconds):.2f} s, longest {max(seconds):.2f} s.")
    if settled:
        print(said(settled))


if __name__ == "__main__":
    main()
