"""Invented buildings of as many rooms as asked, scanned twice, with tests, a pipe and machines."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

ACROSS = 10
WIDE, DEEP = 4.0, 3.5
"""Rooms of a row, and the size of each [m]."""

INSTRUMENTS = """
[[instruments]]
id = "meter"
kind = "relative"
scale = [0, 100]
step = 1
[[instruments]]
id = "probe"
kind = "rh-probe"
serial = "P-11"
certificate = "C-1"
uncertainty = 1.5
[[instruments.checks]]
when = 2026-03-05T08:00:00
reference = "NaCl"
read = 75.9
temperature_c = 20.0
[scan]
wet_level = 45
[limit]
method = "in-situ-rh"
value = 85
unit = "%RH"
source = "an invented data sheet, revision 2"
"""

VISIT = """
[[visits]]
id = "{id}"
started = 2026-03-{day:02d}T09:00:00+01:00
air_temperature_c = {air}
air_rh_pct = 55
slab_temperature_c = 17
readings = [{{ file = "{id}.csv", instrument = "meter" }}]
equipment = [{{ file = "machines.csv" }}]
"""

COLUMNS = (
    "hole,x,y,method,depth_mm,value,unit,temperature_c,air_temperature_c,air_rh_pct,"
    "drilled,placed,read,drift_pct,service_conditions,instrument"
)
MOMENTS = "20,20,50,2026-03-05T08:00,2026-03-05T09:00,2026-03-09T09:00,0.2,yes,probe"


def block_of_rooms(folder: Path, count: int) -> Path:
    """Write the survey of a building of ``count`` rooms into a folder and return the folder."""
    across = min(count, ACROSS if count > 6 else 3)
    places = [(k % across * WIDE, k // across * DEEP) for k in range(count)]
    random = np.random.default_rng(count)
    every = 0.5 if count < 7 else 0.8
    x, y = (
        part.ravel()
        for part in np.meshgrid(
            np.arange(0.25, across * WIDE, every),
            np.arange(0.25, -(-count // across) * DEEP, every),
        )
    )
    inside = (np.abs(x % WIDE - WIDE / 2) < 1.9) & (np.abs(y % DEEP - DEEP / 2) < 1.65)
    x, y = x[inside], y[inside]
    peaks = [(px + 0.8, py + 0.9) for px, py in places[:: max(1, count // 6)]]
    wet = sum(np.exp(-((x - px) ** 2 + (y - py) ** 2) / 1.2) for px, py in peaks)
    pipe = 22 * np.exp(-((y - 2.7) ** 2) / 0.02)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "plan.geojson").write_text(json.dumps(_plan(places, across)))
    for visit, strength in (("first", 38.0), ("second", 24.0)):
        value = np.round(30 + strength * wet + pipe + random.normal(0, 1.5, x.size))
        _table(folder / f"{visit}.csv", "x,y,value", zip(x, y, np.clip(value, 0, 100), strict=True))
    tests = [
        (f"T{k}", px, py, "in-situ-rh", depth, value, "%RH", MOMENTS)
        for k, (px, py) in enumerate(peaks[:5], 1)
        for depth, value in ((40, 79 + 3 * k), (70, 82 + 3 * k))
    ]
    _table(folder / "tests.csv", COLUMNS, tests)
    machines = [
        ("D1", "dehumidifier", 3.2, 2.6, "", 40, "l/day"),
        ("F1", "air-mover", 1, 2, 0, "", ""),
    ]
    _table(folder / "machines.csv", "machine,kind,x,y,direction_deg,capacity,unit", machines)
    slab = 'base = "concrete slab"\nthickness_mm = 100\n'
    (folder / "survey.toml").write_text(
        f'[survey]\nname = "A building of {count} rooms"\n[plan]\nfile = "plan.geojson"\n'
        + INSTRUMENTS
        + "".join(f'[[rooms]]\nname = "{_name(k)}"\n{slab}' for k in range(count))
        + VISIT.format(id="first", day=4, air=19)
        + VISIT.format(id="second", day=11, air=21)
        + 'tests = [{ file = "tests.csv" }]\n'
    )
    return folder


def _name(room: int) -> str:
    return f"Room {room // 20 + 1}.{room % 20 + 1:02d}"


def _plan(places: list[tuple[float, float]], across: int) -> dict[str, Any]:
    rooms = [
        _feature({"kind": "room", "name": _name(k)}, "Polygon", [_ring(px, py, WIDE, DEEP)])
        for k, (px, py) in enumerate(places)
    ]
    wide, deep = across * WIDE, -(-len(places) // across) * DEEP
    outside = _feature({"kind": "exterior-wall"}, "LineString", _ring(0, 0, wide, deep))
    door = _feature({"kind": "door", "name": "door"}, "LineString", [[0, 1], [0, 2]])
    socket = _feature({"kind": "power-point", "name": "socket"}, "Point", [3.9, 3.0])
    return {"type": "FeatureCollection", "features": [*rooms, outside, door, socket]}


def _ring(x: float, y: float, wide: float, deep: float) -> list[list[float]]:
    return [[x, y], [x + wide, y], [x + wide, y + deep], [x, y + deep], [x, y]]


def _feature(properties: dict[str, str], kind: str, coordinates: Any) -> dict[str, Any]:
    geometry = {"type": kind, "coordinates": coordinates}
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def _table(path: Path, head: str, rows: Any) -> None:
    lines = [
        ",".join(f"{one:.2f}" if isinstance(one, float) else str(one) for one in row)
        for row in rows
    ]
    path.write_text("\n".join([head, *lines]) + "\n")
