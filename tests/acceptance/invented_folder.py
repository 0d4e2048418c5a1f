"""A survey folder of an invented shop, written as its user would, to be judged by the command."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from click.testing import CliRunner
from invented_tests import AROUND

from moisturemap.cli import main

ROOM = """
[[rooms]]
name = "shop"
base = "concrete slab"
thickness_mm = 150
drying_faces = 1
on = "ground"
"""
STORE = """
[[rooms]]
name = "store"
base = "concrete slab"
thickness_mm = 150
on = "ground"
"""
SUSPENDED = ROOM.replace("ground", "suspended")
HEATED = ROOM.replace("concrete slab", "cement screed").replace("150", "65") + "heated = true\n"

IN_SITU = """
[limit]
method = "in-situ-rh"
value = 75
unit = "%RH"
source = "invented sheet 4"
"""
HOODS = IN_SITU.replace("in-situ-rh", "hood-rh")
CARBIDE = """
[limit]
method = "carbide"
value = 2.0
unit = "CM-%"
source = "invented sheet 5"
"""
BOTTLE = '[[instruments]]\nid = "P1"\nkind = "carbide"\n'
SCANNER = '[[instruments]]\nid = "scanner"\nkind = "relative"\nscale = [0, 100]\n'

SALTS = (("NaCl", 75.07), ("KCl", 84.71))
BEFORE = tuple((f"2026-03-08T{10 + n}:00:00", salt, read) for n, (salt, read) in enumerate(SALTS))
AFTER = tuple((f"2026-03-10T{10 + n}:00:00", salt, read) for n, (salt, read) in enumerate(SALTS))

Row = dict[str, Any]
Check = tuple[str, str, float]


def probe(checks: Sequence[Check] = (*BEFORE, *AFTER)) -> str:
    """A probe that reads 0.4 low, with its salt checks."""
    lines = ['[[instruments]]\nid = "P1"\nkind = "rh-probe"\nserial = "S-1"\ncertificate = "C-2"']
    lines += ["calibrated = 2025-09-01\nuncertainty = 1.5"]
    lines += [
        f'[[instruments.checks]]\nwhen = {when}\nreference = "{salt}"\nread = {read}\n'
        "temperature_c = 20.0"
        for when, salt, read in checks
    ]
    return "\n".join(lines) + "\n"


def holes(**changes: object) -> list[Row]:
    """Four complete in-situ tests at 70 %RH, one by each wall."""
    row = {
        "method": "in-situ-rh",
        "depth_mm": 60,
        "value": 70,
        "temperature_c": 20.0,
        "slab_temperature_c": 20.1,
        "air_temperature_c": 21,
        "air_rh_pct": 48,
        "drilled": "2026-03-08 07:00",
        "lined": "2026-03-08 08:00",
        "placed": "2026-03-08 08:00",
        "read": "2026-03-09 10:00",
        "drift_pct": 0.4,
        "conditioned_hours": 72,
        "service_conditions": "yes",
        "edition": "ASTM F2170-19a",
    }
    return _around({**row, **changes})


def hoods(**changes: object) -> list[Row]:
    """Four complete hoods at 70 %RH."""
    row = {
        "method": "hood-rh",
        "value": 70,
        "temperature_c": 20.0,
        "placed": "2026-03-05 10:00",
        "read": "2026-03-09 10:00",
        "second_value": 70,
        "second_read": "2026-03-10 10:30",
        "heating_off_hours": 120,
        "surface": "ground clean",
        "surface_bare": "yes",
    }
    return _around({**row, **changes})


def samples(**changes: object) -> list[Row]:
    """Four complete carbide samples at 1.6 CM-%."""
    row = {"method": "carbide", "value": 1.6, "unit": "CM-%", "read": "2026-03-09 10:00"}
    more = {"depth_mm": 140, "sample_mass_g": 50, "heating_off_hours": 120, "temperature_c": 20}
    return _around({**row, **more, **changes})


def _around(row: Row) -> list[Row]:
    return [
        {"hole": f"H{n}", "x": x, "y": y, "instrument": "P1", **row}
        for n, (x, y) in enumerate(AROUND, 1)
    ]


def verdict_of(
    folder: Path,
    tests: Sequence[Row],
    *options: str,
    rooms: str = ROOM,
    instruments: str | None = None,
    limit: str = IN_SITU,
    readings: str = "",
    as_of: str = "2026-03-11",
) -> str:
    """Write the folder, judge it by the command, and return its verdict or "refused"."""
    _write(folder, tests, rooms, readings)
    scan = 'readings = [{ file = "readings.csv", instrument = "scanner" }]\n' if readings else ""
    parts = (
        '[survey]\nname = "Invented shop"\ncoordinates = "m"\ntimezone = "UTC"\n',
        '[plan]\nfile = "plan.geojson"\n',
        rooms,
        (probe() if instruments is None else instruments) + (SCANNER if readings else ""),
        '[[visits]]\nid = "v1"\nstarted = 2026-03-09T09:00:00\ntests = [{ file = "tests.csv" }]\n'
        + scan,
        limit,
    )
    (folder / "survey.toml").write_text("\n".join(parts))
    call = ["decide", str(folder), "--json", "--as-of", as_of, *options]
    answer = json.loads(CliRunner().invoke(main, call).stdout)
    return "refused" if "refused" in answer else str(answer["verdict"])


def _write(folder: Path, tests: Sequence[Row], rooms: str, readings: str) -> None:
    folder.mkdir(exist_ok=True)
    names = ["shop", *(["store"] if '"store"' in rooms else [])]
    features = [
        {
            "type": "Feature",
            "properties": {"name": name},
            "geometry": {
                "type": "Polygon",
                "coordinates": [[[x, 0], [x + 8, 0], [x + 8, 6], [x, 6], [x, 0]]],
            },
        }
        for x, name in zip((0.0, 8.2), names, strict=False)
    ]
    plan = {"type": "FeatureCollection", "features": features}
    (folder / "plan.geojson").write_text(json.dumps(plan))
    columns = list(dict.fromkeys(name for row in tests for name in row))
    with (folder / "tests.csv").open("w", newline="") as file:
        table = csv.DictWriter(file, columns)
        table.writeheader()
        table.writerows(tests)
    if readings:
        (folder / "readings.csv").write_text(readings)
