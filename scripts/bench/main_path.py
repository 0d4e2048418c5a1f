"""Time the whole main path, stage by stage, and one more reading mapped again.

    python scripts/bench/main_path.py            # both cores
    OMP_NUM_THREADS=1 python scripts/bench/main_path.py --repeats 5
    python scripts/bench/main_path.py --hall     # 20,000 readings, 40 rooms, 200 columns, alone

Floors of about 500 readings, rectangular and L-shaped, with pipes, plates and stray values; the
warehouse demo; and the map alone of 10,000 readings. Every row is the quickest of the repeats,
after one run to warm up.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from tempfile import TemporaryDirectory

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from engine import peak_megabytes

from moisturemap.bundles import Study, StudyOptions
from moisturemap.mapping import map_readings, remap
from moisturemap.survey import Survey
from moisturemap.synthetic import FloorRecipe, make_floor
from moisturemap.workflow.live_map import LiveMap
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.study import study

HALL = """
[survey]
name = "Hall"
coordinates = "m"

[plan]
file = "plan.geojson"

[[instruments]]
id = "scanner A"
kind = "relative"
scale = [0, 100]
step = 1

[scan]
wet_level = 45

[[visits]]
id = "v1"
readings = [{ file = "readings.csv", instrument = "scanner A" }]
"""

DEMO = Path(__file__).resolve().parents[2] / "demo_plans" / "warehouse"
BUSY = FloorRecipe(
    plumes=("edge", "burst"), pipes=1, bent_pipes=1, plates=1, strays=2, repeat_share=0.05
)
FLOORS = {
    "rectangle": replace(BUSY, width=8.0, depth=6.0, spacing=0.315),
    "L": replace(BUSY, outline="l-shape", width=9.0, depth=7.0, spacing=0.31),
}


@dataclass
class Clock:
    """Wall time of the stages a study tells of."""

    begun: float = field(default_factory=time.perf_counter)
    stage: str = "reading the plan"
    spent: dict[str, float] = field(default_factory=dict)

    def __call__(self, phrase: str, _: float) -> None:
        """Close the stage before and open the next."""
        now = time.perf_counter()
        self.spent[self.stage] = self.spent.get(self.stage, 0.0) + now - self.begun
        self.stage, self.begun = phrase, now


def quickest(work: Callable[[], object], repeats: int) -> tuple[float, float]:
    """Wall and processor time of the quickest of several runs, after one to warm up [s]."""
    work()
    found = []
    for _ in range(repeats):
        wall, processor = time.perf_counter(), time.process_time()
        work()
        found.append((time.perf_counter() - wall, time.process_time() - processor))
    return min(found)


def row(name: str, count: int, spent: tuple[float, float], more: str = "") -> None:
    """Print one row."""
    print(f"{name:34s} {count:6d} {spent[0]:7.3f} {spent[1]:7.3f}  {more}", flush=True)


def whole(name: str, survey: Survey, repeats: int) -> None:
    """Print the time of the whole study and of its stages."""
    spent = quickest(lambda: study(survey), repeats)
    clock = Clock()
    result = study(survey, progress=clock)
    stages = ", ".join(f"{stage} {seconds:.2f}" for stage, seconds in clock.spent.items())
    row(f"{name}: whole study", len(result.readings), spent, stages)
    again(name, result, repeats)


def again(name: str, result: Study, repeats: int) -> None:
    """Print the time of the map with the covariance known, and of the quick map."""
    spent = quickest(lambda: remap(result.moisture, result.readings, result.clean), repeats)
    row(f"{name}: mapped again", len(result.readings), spent)
    live = LiveMap()
    spent = quickest(lambda: live.draw(result.survey, result.visit.id), repeats)
    row(f"{name}: quick map while walking", len(result.readings), spent)


def large(repeats: int) -> None:
    """Print the time of the map alone of 10,000 readings."""
    recipe = FloorRecipe(width=40.0, depth=25.0, spacing=0.316, plumes=("edge",))
    survey = make_floor(recipe, 1).survey
    result = study(survey, options=StudyOptions(max_cells=20_000))
    for cells in (20_000, 250_000):
        grid = StudyOptions(max_cells=cells)
        spacing = (recipe.width * recipe.depth / grid.max_cells) ** 0.5
        spent = quickest(lambda spacing=spacing: map_on(result, spacing), repeats)
        row(f"map of {cells} cells, fit included", len(result.readings), spent)


def hall_folder(folder: Path) -> Path:
    """Write a survey of a hall of 250 m x 200 m: 40 bays, 200 columns, a reading each 1.58 m."""
    rng = np.random.default_rng(7)
    wide, deep = 250.0 / 8, 200.0 / 5
    columns = [
        shapely.box(x - 0.25, y - 0.25, x + 0.25, y + 0.25)
        for x in wide * (np.arange(20) + 0.5) / 2.5
        for y in deep * (np.arange(10) + 0.5) / 2.0
    ]
    solid = shapely.union_all(columns)
    bays = [
        shapely.box(wide * i, deep * j, wide * (i + 1), deep * (j + 1)).difference(solid)
        for i in range(8)
        for j in range(5)
    ]
    rooms = [f"bay {number + 1}" for number in range(len(bays))]
    plan = gpd.GeoDataFrame({"name": rooms}, geometry=bays)
    (folder / "plan.geojson").write_text(plan.to_json(drop_id=True), encoding="utf-8")
    x, y = np.meshgrid(np.arange(0.8, 250.0, 1.58), np.arange(0.8, 200.0, 1.58))
    places = np.column_stack([x.ravel(), y.ravel()])
    places = places[~shapely.intersects_xy(solid, places)]
    value = 28.0 + 3.0 * np.sin(places[:, 0] / 9.0) * np.cos(places[:, 1] / 13.0)
    for centre in rng.uniform(20.0, 180.0, (12, 2)):
        value += 35.0 * np.exp(-0.5 * (np.hypot(*(places - centre).T) / 5.0) ** 2)
    value = np.clip(np.round(value + 1.5 * rng.standard_normal(len(value))), 0, 99)
    table = pd.DataFrame({"x": places[:, 0], "y": places[:, 1], "value": value})
    table.round(3).to_csv(folder / "readings.csv", index=False)
    (folder / "survey.toml").write_text(HALL, encoding="utf-8")
    return folder


def hall() -> None:
    """Print the time of the study of a large hall, and the most memory it held."""
    with TemporaryDirectory() as name:
        survey = read_survey(hall_folder(Path(name)))
        wall, processor = time.perf_counter(), time.process_time()
        clock = Clock()
        result = study(survey, progress=clock)
        spent = time.perf_counter() - wall, time.process_time() - processor
        stages = ", ".join(f"{stage} {seconds:.1f}" for stage, seconds in clock.spent.items())
        row("hall of 40 bays: whole study", len(result.readings), spent, stages)
        print(f"most memory {peak_megabytes():.0f} MB, {len(result.drill_plan)} holes")


def map_on(result: Study, spacing: float) -> object:
    """Fit and map the readings of a study on cells of a size [m]."""
    from moisturemap.floorplan import make_grid

    grid = make_grid(result.survey.plan, result.domains, spacing, 1_000_000)
    return map_readings(result.readings, result.clean, result.domains, grid)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--small", action="store_true", help="only the floors of 500 readings")
    parser.add_argument("--hall", action="store_true", help="only the large hall, once")
    asked = parser.parse_args()
    print(f"{'':34s} {'count':>6s} {'wall s':>7s} {'cpu s':>7s}")
    if asked.hall:
        hall()
        return
    for name, recipe in FLOORS.items():
        whole(name, make_floor(recipe, 4).survey, asked.repeats)
    if not asked.small:
        whole("warehouse demo", read_survey(DEMO), asked.repeats)
        large(asked.repeats)


if __name__ == "__main__":
    main()
