"""A small survey folder to spoil in one place at a time."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

PLAN = {
    "type": "FeatureCollection",
    "features": [
        {
            "type": "Feature",
            "properties": {"name": name},
            "geometry": {"type": "Polygon", "coordinates": [ring]},
        }
        for name, ring in (
            ("hall", [[0, 0], [4, 0], [4, 3], [0, 3], [0, 0]]),
            ("store", [[4.2, 0], [6, 0], [6, 3], [4.2, 3], [4.2, 0]]),
        )
    ],
}

READINGS = """x,y,value,room,time
0.5,0.5,40,hall,2026-03-04T09:00
1.5,0.5,42,hall,2026-03-04T09:01
2.5,0.5,45,hall,2026-03-04T09:02
5.0,0.5,47,store,2026-03-04T09:03
"""

TESTS = """hole,x,y,method,depth_mm,value,unit,temperature_c,drilled,placed,read,instrument
H1,1,1,in-situ-rh,60,82,%RH,18,2026-03-04 10:00,2026-03-04 10:20,2026-03-07 10:00,probe 1
"""

EQUIPMENT = """machine,kind,x,y,direction_deg,capacity,unit
D1,dehumidifier,1,1,,25,l/day
F1,air-mover,2,1,90,,
"""

TOML = """
[survey]
name = "Two rooms"
coordinates = "m"
timezone = "Europe/Lisbon"

[plan]
file = "plan.geojson"

[[rooms]]
name = "hall"
base = "concrete slab"
thickness_mm = 150
drying_faces = 1

[[instruments]]
id = "scanner"
kind = "relative"
scale = [0, 100]

[[instruments]]
id = "probe 1"
kind = "rh-probe"
scale = [0, 100]
[[instruments.checks]]
when = 2026-03-04T08:00:00
reference = "NaCl"
read = 75.1
temperature_c = 20

[[visits]]
id = "v1"
started = 2026-03-04T08:50:00
readings = [{ file = "readings.csv", instrument = "scanner" }]
tests = [{ file = "tests.csv" }]
equipment = [{ file = "equipment.csv" }]

[scan]
wet_level = 60

[limit]
method = "in-situ-rh"
value = 80
unit = "%RH"
source = "Adhesive maker's sheet 12, revision 3"
"""


NAMES = {
    "toml": "survey.toml",
    "readings": "readings.csv",
    "tests": "tests.csv",
    "equipment": "equipment.csv",
    "plan": "plan.geojson",
}
WHOLE = {
    "toml": TOML,
    "readings": READINGS,
    "tests": TESTS,
    "equipment": EQUIPMENT,
    "plan": json.dumps(PLAN),
}

Change = str | bytes | Callable[[str], str]


@pytest.fixture
def write_survey(tmp_path: Path) -> Callable[..., Path]:
    """Write the folder; each of ``NAMES`` may be given anew or as a function of what it was."""

    def write(**changed: Change) -> Path:
        for key, name in NAMES.items():
            content = changed.get(key, WHOLE[key])
            if callable(content):
                before, content = WHOLE[key], content(WHOLE[key])
                assert content != before, f"the change of {key} changes nothing"
            raw = content if isinstance(content, bytes) else content.encode()
            (tmp_path / name).write_bytes(raw)
        return tmp_path

    return write


@pytest.fixture
def table(tmp_path: Path) -> Callable[..., Path]:
    """Write one table of text and return its path."""

    def write(content: str | bytes, name: str = "table.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


@pytest.fixture
def book(tmp_path: Path) -> Callable[..., Path]:
    """Write sheets of rows as a workbook and return its path."""
    import openpyxl

    def write(name: str = "book.xlsx", **sheets: list[list[object]]) -> Path:
        workbook = openpyxl.Workbook()
        workbook.remove(workbook.active)
        for title, rows in sheets.items():
            sheet = workbook.create_sheet(title)
            for row in rows:
                sheet.append(row)
        workbook.save(tmp_path / name)
        return tmp_path / name

    return write
