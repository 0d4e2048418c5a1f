"""Files larger than a survey are refused before they take memory, with what is allowed."""

from __future__ import annotations

import json
import random
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from moisturemap.errors import FormatError, InputError, PlanError
from moisturemap.files import read_plan, read_readings, sheet_size
from moisturemap.files.sheet_size import check_size

Writer = Callable[..., Path]
END = b"</sheetData>"


@pytest.fixture
def sheet(tmp_path: Path) -> Callable[[bytes], Path]:
    """A workbook of three readings with more XML at the end of its sheet."""
    workbook = openpyxl.Workbook()
    for row in (["x", "y", "value"], [1, 1, 40], [2, 1, 41]):
        workbook.active.append(row)
    workbook.save(tmp_path / "plain.xlsx")

    def write(more: bytes, after: bytes = b"") -> Path:
        path = tmp_path / "scan.xlsx"
        with (
            zipfile.ZipFile(tmp_path / "plain.xlsx") as old,
            zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as new,
        ):
            for name in old.namelist():
                content = old.read(name)
                if name == "xl/worksheets/sheet1.xml":
                    content = content.replace(END, more + END + after)
                new.writestr(name, content)
        return path

    return write


@pytest.mark.parametrize(
    "more",
    [
        b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>',
        b"<row r='1048576'><c  r = 'XFD1048576' ><v>1</v></c></row>",
        b'<row r="1048576"><c r="CV1048576"><v>1</v></c></row>',
        b'<row r="1048575"><c r="XFC1048575"/><c><v>1</v></c></row>',
        b'<x:row r="1048576"><x:c r="XFD1048576"><x:v>1</x:v></x:c></x:row>',
    ],
)
def test_two_cells_far_apart_are_refused(sheet: Callable[..., Path], more: bytes) -> None:
    """A workbook of 5 kB would take 17 thousand million cells."""
    with pytest.raises(FormatError, match=r"reaches too far.*6,000,000 cells.*CSV"):
        read_readings(sheet(more))


@pytest.mark.parametrize(
    "more",
    [
        b'<row r="1048576"><c r="XF&#68;1048576"><v>1</v></c></row>',
        b'<row r="4294967295"><c><v>1</v></c></row>',
        b'<row r="99999999"><c r="ZZZ99999999"><v>1</v></c></row>',
    ],
)
def test_places_that_are_none_are_refused(sheet: Callable[..., Path], more: bytes) -> None:
    """Hidden behind entities, or beyond what any sheet has."""
    with pytest.raises(FormatError, match="does not say where it stands"):
        read_readings(sheet(more))


def test_cells_without_a_place_are_counted_in_their_order(monkeypatch: pytest.MonkeyPatch) -> None:
    """As the standard lets them be written; a wide and a long sheet are no square."""
    row = b"<row>" + b"<c><v>1</v></c>" * 30 + b"</row>"
    monkeypatch.setattr(sheet_size, "MOST_CELLS", 30_000)
    check_size(b"<sheetData>" + row * 1_000, "a", "b", looked_at=False)
    with pytest.raises(FormatError, match="1,001 rows by 30 columns"):
        check_size(b"<sheetData>" + row * 1_001, "a", "b", looked_at=False)


def test_merged_ranges_over_everything_are_refused(sheet: Callable[..., Path]) -> None:
    """The second reader would make each of their cells."""
    merged = b'<mergeCells count="1"><mergeCell ref="E5:XFD1048576"/></mergeCells>'
    with pytest.raises(FormatError, match=r"merged ranges.*unmerge"):
        read_readings(sheet(b"", merged))


def test_a_sheet_under_another_name_is_looked_at_too() -> None:
    """Which part is a sheet is said elsewhere in the workbook."""
    from moisturemap.files.workbook import _inspect_content

    content = b'<worksheet><sheetData><row r="1"><c r="XFD1048576"/></row></sheetData></worksheet>'
    with pytest.raises(FormatError, match="reaches too far"):
        _inspect_content(content, "xl/media/image1.png", "a.xlsx")


@pytest.mark.parametrize(
    "text",
    ["x,y,value\n" + "," * 100_000 + "\n" + "1,1,1\n" * 1_000, "," * 7_000_000, "\n" * 6_000_001],
)
def test_a_text_table_that_would_fill_the_memory_is_refused(table: Writer, text: str) -> None:
    """One long row makes all rows long."""
    with pytest.raises(FormatError, match=r"too large.*6,000,000"):
        read_readings(table(text))


def geojson(tmp_path: Path, ring: str) -> Path:
    path = tmp_path / "plan.geojson"
    path.write_text(f'{{"type": "Polygon", "coordinates": [{ring}]}}')
    return path


@pytest.mark.parametrize("digits", [17, 400, 5000])
def test_numbers_of_hundreds_of_digits_are_refused_by_corner(tmp_path: Path, digits: int) -> None:
    """They are no overflow of ours."""
    path = geojson(tmp_path, f"[[0,0],[{'9' * digits},0],[4,3],[0,3]]")
    with pytest.raises(PlanError, match=r"corner 2: a coordinate is not a finite|m wide"):
        read_plan(path)


def test_lines_of_hundreds_of_digits_are_refused(tmp_path: Path) -> None:
    """In lines as in rooms."""
    huge = int("9" * 400)
    features = [
        {"type": "Feature", "properties": {"kind": kind}, "geometry": geometry}
        for kind, geometry in (
            ("room", {"type": "Polygon", "coordinates": [[[0, 0], [4, 0], [4, 3], [0, 3]]]}),
            ("day-joint", {"type": "LineString", "coordinates": [[0, 0], [huge, 1]]}),
        )
    ]
    path = tmp_path / "plan.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    with pytest.raises(InputError):
        read_plan(path)


def test_a_ring_drawn_at_random_is_refused_at_once(tmp_path: Path) -> None:
    """Its crossings grow with the square of its corners: 5,000 have five million."""
    draw = random.Random(1)
    ring = [[round(draw.random() * 9, 3), round(draw.random() * 9, 3)] for _ in range(5000)]
    with pytest.raises(PlanError, match="crosses itself more than 200 times"):
        read_plan(geojson(tmp_path, json.dumps(ring)))


@pytest.mark.thorough
def test_too_many_corners_are_refused(tmp_path: Path) -> None:
    """In rooms and in lines."""
    many = [[i % 1000 / 100, i // 1000 / 100] for i in range(200_001)]
    with pytest.raises(PlanError, match="200,000 corners"):
        read_plan(geojson(tmp_path, json.dumps(many)))
    path = tmp_path / "lines.geojson"
    line = {"type": "LineString", "coordinates": many}
    feature = {"type": "Feature", "properties": {"kind": "wall"}, "geometry": line}
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    with pytest.raises(PlanError, match="200,000 corners"):
        read_plan(path)


@pytest.mark.thorough
def test_a_layer_that_never_ends_is_refused_in_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A view in a GeoPackage can be a query without end."""
    import sqlite3

    import geopandas as gpd
    from shapely.geometry import box

    from moisturemap.files import apart
    from moisturemap.results.study_files import PLAN_FRAME

    path = tmp_path / "plan.gpkg"
    gpd.GeoDataFrame({"name": ["a"]}, geometry=[box(0, 0, 4, 3)], crs=PLAN_FRAME).to_file(
        path, layer="rooms"
    )
    connection = sqlite3.connect(path)
    endless = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n)"
    with connection:
        connection.execute("ALTER TABLE rooms RENAME TO hidden")
        view = f"CREATE VIEW rooms AS {endless} SELECT hidden.* FROM hidden, n WHERE n.i < 0"
        connection.execute(view)
    connection.close()
    monkeypatch.setattr(apart, "LONGEST_S", 3.0)
    with pytest.raises(FormatError):
        read_plan(path)
