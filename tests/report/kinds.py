"""Invented floors that reports are hard to write for: messy records, few readings, very many."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np

ROOMS = {
    'Küche / WC "Süd" <b>': [[0, 0], [18, 0], [18, 12], [8, 12], [8, 20], [0, 20]],
    "=SUM(A1:A9)": [[18, 0], [34, 0], [34, 12], [18, 12]],
    "Lager hinter der Treppe, früher Kohlenkeller, jetzt Abstellraum der Mieter, Nr. 4": [
        [8, 12],
        [34, 12],
        [34, 20],
        [8, 20],
    ],
}
"""Outlines in feet by names that are hard to print."""

MESSY = """
[survey]
name = "Altbau & Söhne – „Keller“ #3 * _x_ $y$"
coordinates = "ft"
timezone = "+01:00"
client = "C. Cliente <c@example.invalid>"
covering = "PVC; 2,5 mm"

[plan]
file = "plan.geojson"

[[instruments]]
id = "Meßgerät №1"
kind = "relative"
scale = [0, 100]
step = 0.5

[[instruments]]
id = "probe"
kind = "rh-probe"
serial = "P-11"
certificate = "C-1"
uncertainty = 1.5

[[instruments.checks]]
when = 2026-03-05T08:00:00+01:00
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
BASE = 'base = "concrete slab"\nthickness_mm = 120\ndrying_faces = 1\n'
VISIT = """
[[visits]]
id = "Besuch {n}"
started = 2026-03-{day:02d}T09:00:00+01:00
operator = "Ö. Ł'Hôpital"
air_temperature_c = {air}
air_rh_pct = 55
slab_temperature_c = 17
readings = [{{ file = "besuch-{n}.csv", instrument = "Meßgerät №1", decimal = "," }}]
"""
TESTED = 'tests = [{ file = "tests.csv", decimal = "," }]\n'
TESTS = (
    "H1;6,0;5,5;in-situ-rh;48;91,5;%RH;20;20;50;2026-03-05T08:00;2026-03-05T09:00;"
    "2026-03-09T09:00;0,2;yes;probe;über der Fuge; naß",
    "H2;27,0;5,0;in-situ-rh;48;78,2;%RH;20;20;50;2026-03-09T08:00;2026-03-09T08:20;"
    "2026-03-09T09:00;0,2;yes;probe;zu früh gelesen",
    "H-3/b;30,0;16,0;in-situ-rh;48;86,1;%RH;20;20;50;2026-03-05T08:00;2026-03-05T09:00;"
    "2026-03-09T09:00;;no;probe;",
    "H4;2,5;17,0;in-situ-rh;48;72,0;%RH;20;20;50;2026-03-05T08:00;2026-03-05T09:00;"
    "2026-03-09T09:00;0,2;yes;probe;",
)
HEADINGS = (
    "hole;x;y;method;depth_mm;value;unit;temperature_c;air_temperature_c;air_rh_pct;"
    "drilled;placed;read;drift_pct;service_conditions;instrument;note"
)


def messy(folder: Path) -> Path:
    """Write three visits in feet, with decimal commas, failing tests and hostile names."""
    folder.mkdir(parents=True, exist_ok=True)
    features = [_room(name, ring) for name, ring in ROOMS.items()]
    pipe = {"type": "LineString", "coordinates": [[0, 9], [34, 9]]}
    line = {"kind": "known-service", "name": "'Rohr'; DROP --"}
    features.append({"type": "Feature", "properties": line, "geometry": pipe})
    _plan(folder, features)
    random = np.random.default_rng(7)
    x, y = (one.ravel() for one in np.meshgrid(np.arange(0.8, 34, 1.6), np.arange(0.8, 20, 1.6)))
    for visit, strength in enumerate((45.0, 38.0, 30.0), 1):
        wet = np.exp(-((x - 6) ** 2 + (y - 5) ** 2) / 20) + 0.7 * np.exp(
            -((x - 29) ** 2 + (y - 16) ** 2) / 12
        )
        value = np.clip(
            np.round(2 * (30 + strength * wet + random.normal(0, 2, x.size))) / 2, 0, 100
        )
        rows = (
            f"{a:.2f};{b:.2f};{c:g}".replace(".", ",") for a, b, c in zip(x, y, value, strict=True)
        )
        _lines(folder / f"besuch-{visit}.csv", "x;y;value", rows)
    _lines(folder / "tests.csv", HEADINGS, (one.replace("Fuge; naß", "Fuge, naß") for one in TESTS))
    text = MESSY + "".join(f"[[rooms]]\nname = {json.dumps(one)}\n{BASE}" for one in ROOMS)
    text += "".join(VISIT.format(n=n, day=2 + 7 * (n - 1), air=18 + n) for n in (1, 2, 3)) + TESTED
    (folder / "survey.toml").write_text(text, encoding="utf-8")
    return folder


PLAIN = """
[survey]
name = "{name}"
[plan]
file = "plan.geojson"
[[rooms]]
name = "{room}"
base = "concrete slab"
thickness_mm = 120
[[instruments]]
id = "scanner"
kind = "relative"
scale = [0, 100]
step = 1
[[visits]]
id = "first"
started = 2026-03-04T09:00:00Z
readings = [{{ file = "readings.csv", instrument = "scanner" }}]
"""


def twelve(folder: Path) -> Path:
    """Write a store room that was read at twelve places."""
    values = (31, 33, 30, 32, 30, 31, 34, 58, 32, 33, 61, 66)
    rows = (f"{0.5 + k % 4},{0.5 + k // 4},{value}" for k, value in enumerate(values))
    return _one_room(folder, "Twelve readings", "store room", (4, 3), rows)


def five_thousand(folder: Path) -> Path:
    """Write a hall that was read at five thousand places."""
    random = np.random.default_rng(11)
    x, y = (one.ravel() for one in np.meshgrid(np.arange(0.2, 40, 0.4), np.arange(0.2, 20, 0.4)))
    wet = sum(
        strength * np.exp(-((x - a) ** 2 + (y - b) ** 2) / (2 * wide**2))
        for a, b, wide, strength in ((6, 5, 1.5, 40), (22, 14, 2.5, 32), (35, 4, 0.8, 45))
    )
    value = np.clip(np.round(31 + wet + random.normal(0, 2, x.size)), 0, 100)
    rows = (f"{a:.2f},{b:.2f},{c:g}" for a, b, c in zip(x, y, value, strict=True))
    return _one_room(folder, "Five thousand readings", "hall", (40, 20), rows)


KINDS: dict[str, Callable[[Path], Path]] = {
    "messy": messy,
    "twelve": twelve,
    "five-thousand": five_thousand,
}


def _one_room(
    folder: Path, name: str, room: str, size: tuple[float, float], rows: Iterable[str]
) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    wide, deep = size
    _plan(folder, [_room(room, [[0, 0], [wide, 0], [wide, deep], [0, deep]])])
    _lines(folder / "readings.csv", "x,y,value", rows)
    (folder / "survey.toml").write_text(PLAIN.format(name=name, room=room))
    return folder


def _plan(folder: Path, features: list[dict[str, object]]) -> None:
    plan = {"type": "FeatureCollection", "features": features}
    (folder / "plan.geojson").write_text(json.dumps(plan))


def _room(name: str, ring: list[list[float]]) -> dict[str, object]:
    geometry = {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}
    return {"type": "Feature", "properties": {"kind": "room", "name": name}, "geometry": geometry}


def _lines(path: Path, head: str, rows: Iterable[str]) -> None:
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
