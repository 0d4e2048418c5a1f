"""A floor as a plain survey folder, and its readings back from there."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import shapely

from .floor import Floor


def pack(floor: Floor, folder: Path) -> Path:
    """Write ``survey.toml``, ``plan.geojson`` and ``readings.csv`` (no truth in any of them)."""
    folder.mkdir(parents=True, exist_ok=True)
    rooms = [
        {
            "type": "Feature",
            "properties": {"name": f"room {i + 1}"},
            "geometry": json.loads(shapely.to_geojson(room)),
        }
        for i, room in enumerate(floor.outline)
    ]
    plan = {"type": "FeatureCollection", "features": rooms}
    (folder / "plan.geojson").write_text(json.dumps(plan), encoding="utf-8")
    with (folder / "readings.csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file)
        table.writerow(["x", "y", "value"])
        for (x, y), value in zip(floor.points, floor.values, strict=True):
            table.writerow([f"{x:.2f}", f"{y:.2f}", f"{value:g}"])
    (folder / "survey.toml").write_text(_survey(floor), encoding="utf-8")
    return folder


def _survey(floor: Floor) -> str:
    low, high = floor.scale
    return f"""[survey]
name = "Invented floor {floor.family} {floor.seed}"
coordinates = "m"
timezone = "UTC"

[plan]
file = "plan.geojson"

[[instruments]]
id = "scanner"
kind = "relative"
scale = [{low:g}, {high:g}]
step = {floor.meter.step:g}

[[visits]]
id = "v1"
started = 2026-03-04T09:00:00
readings = [{{ file = "readings.csv", instrument = "scanner" }}]

[scan]
wet_level = {floor.wet_level:g}
"""


def unpack(folder: Path) -> tuple[np.ndarray, np.ndarray]:
    """Places (n, 2) in metres and readings (n,) of a packed floor."""
    with (folder / "readings.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    places = np.array([[float(row["x"]), float(row["y"])] for row in rows])
    return places, np.array([float(row["value"]) for row in rows])
