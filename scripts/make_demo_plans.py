"""Make the invented floors of demo_plans/ again; the same seed gives the same files.

    python scripts/make_demo_plans.py

Everything here is invented: places, people, instruments, readings.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import shapely
from demo_clinic import (
    ANSWERS,
    CLINIC,
    PIPE,
    STORE,
    VISITS,
    WARD,
    scan_value,
    tests_of,
)
from demo_surveys import BAKERY, FLAT, WAREHOUSE
from numpy.typing import NDArray
from shapely.geometry import LineString, Point, Polygon, box, mapping
from shapely.geometry.base import BaseGeometry

from moisturemap.synthetic import FloorRecipe, Plume, Service
from moisturemap.synthetic.field import Texture

Array = NDArray[np.float64]
FOLDER = Path(__file__).resolve().parent.parent / "demo_plans"
Field = Callable[[Array], Array]


def grid(area: BaseGeometry, spacing: float, gap: float = 0.15) -> Array:
    """Return the places of a scan grid inside an area, rows from the south, walked to and fro."""
    west, south, east, north = area.bounds
    x = np.arange(west + gap, east - 0.05, spacing)
    y = np.arange(south + gap, north - 0.05, spacing)
    rows = [
        np.column_stack([x if i % 2 == 0 else x[::-1], np.full(x.size, v)]) for i, v in enumerate(y)
    ]
    places = np.concatenate(rows)
    return np.round(places[shapely.covers(area.buffer(-0.06), shapely.points(places))], 3)


def texture(sd: float, length: float, rng: np.random.Generator) -> Field:
    """Return the texture of the material as the scanner sees it."""
    return Texture.draw(FloorRecipe(texture_sd=sd, texture_length=length), rng).at


def shown(values: Array, scale: tuple[float, float]) -> list[str]:
    """Return what the display shows: whole numbers, ``>999`` at the top of the scale."""
    low, high = scale
    whole = np.maximum(np.round(values), low)
    return [f">{high:g}" if value >= high else f"{value:g}" for value in whole]


def feature(geometry: BaseGeometry, **properties: str) -> dict[str, object]:
    """Return one GeoJSON feature."""
    return {"type": "Feature", "properties": properties, "geometry": mapping(geometry)}


def write(folder: str, survey: str, features: list[dict[str, object]]) -> Path:
    """Write plan and survey.toml; return the folder."""
    path = FOLDER / folder
    path.mkdir(parents=True, exist_ok=True)
    plan = {"type": "FeatureCollection", "features": features}
    (path / "plan.geojson").write_text(json.dumps(plan, indent=1) + "\n", encoding="utf-8")
    (path / "survey.toml").write_text(survey, encoding="utf-8")
    return path


def bakery() -> None:
    """Make an L-shaped floor: water from the drain by the south wall, a pipe, a floor box."""
    rng = np.random.default_rng(20260304)
    outline = Polygon([(0, 0), (12, 0), (12, 5), (7, 5), (7, 9), (0, 9)])
    pipe = LineString([(0, 6.8), (7, 6.8)])
    walls = [
        feature(LineString(ends), kind="exterior-wall", name=name)
        for name, ends in {
            "south wall": [(0, 0), (12, 0)],
            "east wall": [(12, 0), (12, 5)],
            "west wall": [(0, 0), (0, 9)],
        }.items()
    ]
    supply = feature(LineString([(9.4, 5), (9.4, 3.4)]), kind="known-service", name="oven supply")
    path = write("bakery", BAKERY, [feature(outline, name="bakery"), *walls, supply])
    places = grid(outline, 0.4)
    leak = Plume("edge", LineString([(7.6, 0), (10.6, 0)]), 42.0, 1.25)
    rise = Service("pipe", pipe, 15.0, 0.2).at(places)
    rise += Service("box", box(3.0, 2.9, 3.3, 3.2), 26.0, 0.18).at(places)
    value = 31.0 + 0.25 * places[:, 1] + texture(2.2, 1.0, rng)(places) + leak.at(places) + rise
    again = np.flatnonzero(np.arange(len(places)) % 24 == 5)
    order = np.sort(np.concatenate([np.arange(len(places)), again]))
    read = value[order] + 1.5 * rng.standard_normal(order.size)
    start = datetime.fromisoformat("2026-03-04T09:10:00+01:00")
    table = pd.DataFrame(places[order], columns=["x", "y"])
    table["value"] = shown(read, (0, 100))
    table["time"] = [(start + timedelta(seconds=7 * i)).isoformat() for i in range(len(table))]
    table.loc[211, "value"] = "3"
    table.loc[211, "note"] = "keyed on the way past the oven"
    table.to_csv(path / "readings.csv", index=False)
    bakery_tests().to_csv(path / "tests.csv", index=False)


def bakery_tests() -> pd.DataFrame:
    """Return in-situ tests: all pass at 60 mm, three depths at one spot tell of a wet core."""
    rows = [
        ("H1", 9.4, 0.8, 60, 82.4, 1),
        ("H1a", 9.4, 0.8, 20, 73.0, 2),
        ("H1b", 9.4, 0.8, 120, 93.5, 3),
        ("H2", 0.7, 5.0, 60, 76.4, 1),
        ("H3", 11.3, 2.6, 60, 77.9, 2),
        ("H4", 3.4, 0.6, 60, 77.2, 3),
    ]
    drilled = datetime.fromisoformat("2026-03-06T10:00:00+01:00")
    records = []
    for i, (hole, x, y, depth, value, probe) in enumerate(rows):
        start = drilled + timedelta(minutes=20 * i)
        lined, read = start + timedelta(minutes=10), start + timedelta(hours=73)
        records.append(
            {
                "hole": hole,
                "x": x,
                "y": y,
                "method": "in-situ RH",
                "depth_mm": depth,
                "thickness_mm": 150,
                "value": value,
                "unit": "%RH",
                "temperature_c": 18.4,
                "probe_temperature_c": 18.6,
                "slab_temperature_c": 18.2,
                "air_temperature_c": 19.5,
                "air_rh_pct": 48,
                "drilled": start.isoformat(),
                "lined": lined.isoformat(),
                "placed": lined.isoformat(),
                "read": read.isoformat(),
                "drift_pct": 0.3,
                "conditioned_hours": 96,
                "service_conditions": "yes",
                "instrument": f"probe {probe}",
                "operator": "R. Fenn",
                "note": "",
            }
        )
    return pd.DataFrame(records)


def flat() -> None:
    """Make four rooms on one slab with thin walls, a timber deck; a leak under the bath."""
    rng = np.random.default_rng(20260518)
    rooms = {
        "living room": box(0, 0, 4.9, 5.0),
        "kitchen": box(5.0, 0, 8.0, 2.9),
        "hall": box(5.0, 3.0, 8.0, 5.0),
        "bath": box(8.1, 0, 10.4, 5.0),
    }
    deck = box(0, 5.3, 10.4, 8.0)
    features = [feature(room, name=name) for name, room in rooms.items()]
    features += [
        feature(deck, name="loft room"),
        feature(LineString([(0, 0), (10.4, 0)]), kind="exterior-wall", name="south wall"),
        feature(LineString([(10.4, 0), (10.4, 8.0)]), kind="exterior-wall", name="east wall"),
        feature(LineString([(8.5, 2.5), (10.2, 2.5)]), kind="known-service", name="bath waste"),
    ]
    path = write("flat", FLAT, features)
    slab = np.concatenate([grid(room, 0.4) for room in rooms.values()])
    timber = grid(deck, 0.5)
    burst = Plume("burst", Point(8.9, 3.6), 300.0, 1.15)
    on_slab = 210.0 + texture(16.0, 1.0, rng)(slab) + burst.at(slab)
    on_deck = 130.0 + texture(9.0, 1.4, rng)(timber)
    places = np.concatenate([slab, timber])
    read = np.concatenate([on_slab, on_deck]) + 10.0 * rng.standard_normal(len(places))
    texts = shown(read, (0, 500))
    lines = ["x;y;Messwert;Bemerkung"]
    lines += [
        f"{x:.2f};{y:.2f};{text};".replace(".", ",")
        for (x, y), text in zip(places, texts, strict=True)
    ]
    (path / "readings.csv").write_text("\n".join(lines) + "\n", encoding="utf-8-sig")


def columns() -> list[BaseGeometry]:
    """Return the columns of the warehouse."""
    return [box(x - 0.25, y - 0.25, x + 0.25, y + 0.25) for x in (8, 16, 24) for y in (5.5, 11)]


def warehouse_value(places: Array, days: float, rough: Array) -> Array:
    """Return the noise-free reading of the warehouse after some days of drying."""
    flood = Plume("burst", Point(11, 8), 34.0, 5.2).at(places) * 0.5 ** (days / 11)
    corner = Plume("corner", Point(32, 16.5), 40.0, 2.4).at(places) * 0.5 ** (days / 160)
    leak = Plume("burst", Point(25.5, 3.0), 13.0 + 0.75 * days, 1.6).at(places)
    pipe = Service("pipe", LineString([(3.2, 0), (3.2, 16.5)]), 17.0, 0.25).at(places)
    return 28.0 + rough + flood + corner + leak + pipe


def warehouse() -> None:
    """Make a column-grid hall over five weekly visits; a flood dries, a corner does not."""
    rng = np.random.default_rng(20260907)
    hall = box(0, 0, 32, 16.5)
    outline = Polygon(hall.exterior.coords, [column.exterior.coords for column in columns()])
    features = [
        feature(outline, name="hall"),
        feature(LineString(hall.exterior.coords), kind="exterior-wall", name="outer wall"),
        feature(LineString([(4.5, 0), (8.5, 0)]), kind="door", name="gate"),
        feature(box(28.5, 6.0, 32, 8.5), kind="keep-clear", name="rack aisle"),
    ]
    for x, y in ((0.2, 8.0), (16.0, 0.2), (16.0, 16.3), (31.8, 12.0)):
        features.append(feature(Point(x, y), kind="power-point", name=f"socket {x:g} {y:g}"))
    path = write("warehouse", WAREHOUSE, features)
    warehouse_machines().to_csv(path / "equipment.csv", index=False)
    places = grid(outline, 0.5, gap=0.25)
    rough = texture(1.8, 1.6, rng)(places)
    for count in range(5):
        value = warehouse_value(places, 7.0 * count, rough)
        read = value + 1.5 * rng.standard_normal(len(places))
        table = pd.DataFrame({"x": places[:, 0], "y": places[:, 1], "v": shown(read, (0, 100))})
        wide = table.pivot(index="y", columns="x", values="v").sort_index(ascending=False)
        wide.to_csv(path / f"visit-{count + 1}.csv", index_label="y\\x")


def warehouse_machines() -> pd.DataFrame:
    """Return machines as they were left after the flood: by the gate and where it is dry now."""
    columns = ["machine", "kind", "x", "y", "direction_deg", "capacity", "unit", "note"]
    rows = [
        ("D1", "dehumidifier", 3.0, 8.0, "", 90, "l/day", "by the gate since v1"),
        ("D2", "dehumidifier", 12.5, 8.5, "", 90, "l/day", "middle of the flood of v1"),
        ("F1", "air-mover", 9.5, 9.5, 0, "", "", "blows over floor that is dry now"),
        ("F2", "air-mover", 6.5, 1.5, 180, "", "", "blows at the gate"),
        ("F3", "air-mover", 18.0, 14.0, 270, "", "", ""),
    ]
    return pd.DataFrame(rows, columns=columns)


def clinic() -> None:
    """Make a ward and its store: dry when covered, over a leaking heating pipe a year later."""
    rng = np.random.default_rng(20240812)
    features = [feature(WARD, name="ward"), feature(STORE, name="store")]
    for ends in ([(0, 0), (15, 0)], [(0, 7), (15, 7)], [(0, 0), (0, 7)], [(15, 0), (15, 7)]):
        features.append(feature(LineString(ends), kind="exterior-wall", name="outer wall"))
    features.append(feature(PIPE, kind="known-service", name="heating supply"))
    waste = LineString([(1.2, 7), (1.2, 5.4)])
    features.append(feature(waste, kind="known-service", name="basin waste"))
    features.append(feature(LineString([(4.4, 0), (5.6, 0)]), kind="door", name="ward door"))
    path = write("clinic", CLINIC, features)
    (path / "answers.toml").write_text(ANSWERS, encoding="utf-8")
    places = np.concatenate([grid(WARD, 0.45), grid(STORE, 0.45)])
    rough = texture(1.7, 1.3, rng)(places)
    for visit in VISITS:
        read = scan_value(places, visit, rough) + 1.3 * rng.standard_normal(len(places))
        table = pd.DataFrame(places, columns=["x", "y"]).assign(value=shown(read, (0, 100)))
        table.to_csv(path / f"scan-{visit}.csv", index=False)
        tests_of(visit, rng).to_csv(path / f"tests-{visit}.csv", index=False)


if __name__ == "__main__":
    for make in (bakery, flat, warehouse, clinic):
        make()
