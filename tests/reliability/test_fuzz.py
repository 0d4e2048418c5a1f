"""Mutated files of every format: read, or refused on purpose, within three seconds each.

``FUZZ`` in the environment sets how many mutations a format gets (10,000 by default, in the slow
tests only; a few in every run), ``FUZZ_SEED`` where they begin.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import random
import re
import sqlite3
import time
import warnings
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import geopandas as gpd
import openpyxl
import pytest
from PIL import Image
from shapely.geometry import LineString, box

from moisturemap import store
from moisturemap.errors import MoistureMapError
from moisturemap.files import read_plan, read_readings, read_survey_toml, read_tests
from moisturemap.results.study_files import PLAN_FRAME
from moisturemap.store.attachment import look_into
from moisturemap.store.photograph import without_origin

FEW = 25
MANY = int(os.environ.get("FUZZ", "10000"))
SEED = int(os.environ.get("FUZZ_SEED", "1"))
LONGEST_S = 3.0

Mutation = Callable[[random.Random, bytes], bytes]

NASTY = (
    b"9" * 400,
    b"-1e308",
    b"NaN",
    b"Infinity",
    b"\x00",
    b"\xff\xfe",
    b"[" * 300,
    b'"' * 7,
    b"=1+1",
    b"\xed\xa0\x80",
    "\u202e\U0001f4a7".encode(),
    b"null",
    b"1,5",
    b"",
    b"<!DOCTYPE a [<!ENTITY b 'c'>]>",
    b"4294967296",
    b"../../etc/passwd",
)


def flip(choose: random.Random, content: bytes) -> bytes:
    changed = bytearray(content)
    for _ in range(choose.randint(1, 6)):
        changed[choose.randrange(len(changed))] = choose.randrange(256)
    return bytes(changed)


def cut(choose: random.Random, content: bytes) -> bytes:
    return content[: choose.randrange(len(content))]


def repeat(choose: random.Random, content: bytes) -> bytes:
    a, b = sorted(choose.randrange(len(content)) for _ in range(2))
    return content[:b] + content[a:b] * choose.randint(1, 4) + content[b:]


def remove(choose: random.Random, content: bytes) -> bytes:
    a = choose.randrange(len(content))
    return content[:a] + content[a + choose.randint(1, 40) :]


def plant(choose: random.Random, content: bytes) -> bytes:
    a = choose.randrange(len(content))
    return content[:a] + choose.choice(NASTY) + content[a + choose.randint(0, 6) :]


def renumber(choose: random.Random, content: bytes) -> bytes:
    found = list(re.finditer(rb"-?\d+(?:\.\d+)?", content))
    if not found:
        return plant(choose, content)
    one = choose.choice(found)
    return content[: one.start()] + choose.choice(NASTY) + content[one.end() :]


BYTES: tuple[Mutation, ...] = (flip, cut, repeat, remove, plant, renumber)


def in_zip(choose: random.Random, content: bytes) -> bytes:
    """Mutate one part of an archive, so that the archive itself stays sound."""
    if choose.random() < 0.15:
        return choose.choice(BYTES)(choose, content)
    goal = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(goal, "w") as new:
        names = old.namelist()
        sheets = [name for name in names if "sheet" in name or "Strings" in name]
        hit = choose.choice(sheets if choose.random() < 0.6 else names)
        for name in names:
            part = old.read(name)
            new.writestr(name, choose.choice(BYTES)(choose, part) if name == hit else part)
    return goal.getvalue()


def in_tables(choose: random.Random, content: bytes) -> bytes:
    """Change values of a database as its owner could, so that the file itself stays sound."""
    if choose.random() < 0.5:
        return choose.choice((flip, cut, plant))(choose, content)
    connection = sqlite3.connect(":memory:")
    connection.deserialize(content)
    tables = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'"
    names = [name for (name,) in connection.execute(tables) if not name.startswith("rtree")]
    for _ in range(choose.randint(1, 3)):
        table = choose.choice(names)
        columns = [row[1] for row in connection.execute(f'PRAGMA table_info("{table}")')]
        value = choose.choice([None, 10**18, -1.5, "x", b"\xff\x00", "9" * 400, b"GP\x00\x01", ""])
        with contextlib.suppress(sqlite3.Error):  # a constraint of the table refuses some
            connection.execute(f'UPDATE "{table}" SET "{choose.choice(columns)}" = ?', (value,))
    connection.commit()
    changed = connection.serialize()
    connection.close()
    return changed


PLAN = {
    "type": "FeatureCollection",
    "features": [
        {
            "type": "Feature",
            "properties": {"name": "hall"},
            "geometry": {
                "type": "Polygon",
                "coordinates": [
                    [[0, 0], [9, 0], [9, 6], [0, 6], [0, 0]],
                    [[2, 2], [3, 2], [3, 3], [2, 2]],
                ],
            },
        },
        {
            "type": "Feature",
            "properties": {"kind": "day-joint"},
            "geometry": {"type": "LineString", "coordinates": [[4.5, 0], [4.5, 6]]},
        },
    ],
}
WKT = "hall; POLYGON ((0 0, 9 0, 9 6, 0 6))\nday-joint: LINESTRING (4 0, 4 6)\n"
TOML = """
[survey]
name = "Two rooms"
coordinates = "m"
timezone = "Europe/Lisbon"
[plan]
file = "plan.geojson"
[[instruments]]
id = "scanner"
kind = "relative"
scale = [0, 100]
[[visits]]
id = "v1"
started = 2026-03-04T08:50:00
readings = [{ file = "readings.csv", instrument = "scanner" }]
[limit]
method = "in-situ-rh"
value = 80
unit = "%RH"
source = "Adhesive maker's sheet 12, revision 3"
"""
READINGS = "x,y,value,room,time\n" + "".join(
    f"{0.5 * i},0.5,{40 + i},hall,2026-03-04T09:{i:02d}\n" for i in range(12)
)
GRID = ";0,5;1,5;2,5\n1;40;41,5;>100\n2;42;43;44\n"
TESTS = """hole,x,y,method,depth_mm,value,unit,temperature_c,drilled,placed,read,instrument
H1,1,1,in-situ-rh,60,82,%RH,18,2026-03-04 10:00,2026-03-04 10:20,2026-03-07 10:00,probe 1
"""


def workbook() -> bytes:
    book = openpyxl.Workbook()
    rows = [[0.5, 1, 40, "hall"], [1.5, 1, 41.5, None], [2.5, 1, 42, "hall"], [3, 2, 45, "hall"]]
    for row in (["x", "y", "value", "room"], *rows):
        book.active.append(row)
    book.active.merge_cells("D2:D3")
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def drawing() -> bytes:
    ezdxf = pytest.importorskip("ezdxf")
    document = ezdxf.new(setup=True)
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (9, 0), (9, 6, 0, 0, 0.4), (0, 6)], close=True)
    block = document.blocks.new("B")
    block.add_lwpolyline([(0, 0), (1, 0), (1, 1)], close=True)
    space.add_blockref("B", (2, 2))
    space.add_text("hall", height=0.3).set_placement((4, 3))
    text = io.StringIO()
    document.write(text)
    return text.getvalue().encode()


def geopackage(folder: Path) -> bytes:
    path = folder / "made.gpkg"
    rooms = gpd.GeoDataFrame({"name": ["hall"]}, geometry=[box(0, 0, 9, 6)], crs=PLAN_FRAME)
    rooms.to_file(path, layer="rooms", driver="GPKG")
    lines = gpd.GeoDataFrame(
        {"kind": ["day-joint"]}, geometry=[LineString([(4, 0), (4, 6)])], crs=PLAN_FRAME
    )
    lines.to_file(path, layer="lines", driver="GPKG")
    return path.read_bytes()


def project(folder: Path) -> bytes:
    from moisturemap.floorplan import Room
    from moisturemap.survey import Instrument, Visit

    path = folder / "job.gpkg"
    with store.create_project(path, "Invented hall", "A. Tester") as made:
        made.add_room(Room("Hall", box(0, 0, 6, 4)), "A. Tester")
        made.add_visit(Visit("v1"), "A. Tester")
        made.add_instrument(Instrument("m1"), "A. Tester")
        row = {"visit": "v1", "instrument": "m1", "y": 2}
        rows = [{**row, "x": 1 + i / 10, "value": i} for i in range(20)]
        made.add_readings(rows, "A. Tester")
        made.correct("readings", 3, {"value": 50}, "A. Tester", "misread")
    return path.read_bytes()


def photograph() -> bytes:
    exif, content = Image.Exif(), io.BytesIO()
    exif.get_ifd(0x8769)[0x9003] = "2026:03:01 10:15:00"
    Image.effect_noise((40, 30), 60).convert("RGB").save(content, "JPEG", exif=exif)
    return content.getvalue()


def use_project(path: Path) -> None:
    with store.open_project(path) as opened:
        opened.verify()
        opened.survey()
        opened.record()


def use_photograph(path: Path) -> None:
    content = path.read_bytes()
    look_into(content, path.name)
    without_origin(content)


CASES: dict[str, tuple[str, Callable[[Path], bytes], Mutation | None, Callable[[Path], object]]] = {
    "geojson": (".geojson", lambda _: json.dumps(PLAN).encode(), None, read_plan),
    "wkt": (".wkt", lambda _: WKT.encode(), None, read_plan),
    "dxf": (".dxf", lambda _: drawing(), None, read_plan),
    "geopackage": (".gpkg", geopackage, in_tables, read_plan),
    "csv": (".csv", lambda _: READINGS.encode(), None, read_readings),
    "grid": (".csv", lambda _: GRID.encode(), None, read_readings),
    "tests": (".csv", lambda _: TESTS.encode(), None, read_tests),
    "xlsx": (".xlsx", lambda _: workbook(), in_zip, read_readings),
    "toml": (".toml", lambda _: TOML.encode(), None, read_survey_toml),
    "project": (".gpkg", project, in_tables, use_project),
    "photograph": (".jpg", lambda _: photograph(), None, use_photograph),
}


def mutations(content: bytes, mutate: Mutation | None, count: int) -> Iterator[tuple[int, bytes]]:
    for number in range(SEED, SEED + count):
        choose = random.Random(number)
        yield number, (mutate or choose.choice(BYTES))(choose, content)


def attempt(use: Callable[[Path], object], path: Path, what: str) -> tuple[bool, float]:
    """Return whether a file was read or refused, and how long it took [s]."""
    begun, read = time.perf_counter(), True
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            use(path)
    except MoistureMapError:
        read = False
    except Exception as error:
        message = f"{what}: {type(error).__name__}: {error}"
        raise AssertionError(message) from error
    return read, time.perf_counter() - begun


def fuzz(folder: Path, name: str, count: int) -> None:
    suffix, make, mutate, use = CASES[name]
    made = folder / "made"
    made.mkdir()
    for other, text in (("plan.geojson", json.dumps(PLAN)), ("readings.csv", READINGS)):
        (folder / other).write_text(text)
    path = folder / f"mutated{suffix}"
    content = make(made)
    path.write_bytes(content)
    use(path)
    read = 0
    for number, changed in mutations(content, mutate, count):
        path.write_bytes(changed)
        was_read, took = attempt(use, path, f"mutation {number} of {name}")
        if took >= LONGEST_S:  # somebody else may have had the processor: the quicker of two counts
            took = min(took, attempt(use, path, f"mutation {number} of {name}")[1])
        assert took < LONGEST_S, f"mutation {number} of {name} took {took:.1f} s"
        read += was_read
    assert count < 500 or 0 < read < count


@pytest.mark.parametrize("name", CASES)
def test_a_few_mutated_files_are_read_or_refused(name: str, tmp_path: Path) -> None:
    """In every run of the tests."""
    fuzz(tmp_path, name, FEW)


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_mutated_files_are_read_or_refused(name: str, tmp_path: Path) -> None:
    """Ten thousand of each format."""
    fuzz(tmp_path, name, MANY)
