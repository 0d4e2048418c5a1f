"""Reading plans from any format: the same plan, the same refusals."""

import json

import pytest

from moisturemap.errors import FormatError, OptionError, PlanError
from moisturemap.files import read_plan

SQUARE = [[0, 0], [4, 0], [4, 3], [0, 3], [0, 0]]


def feature(form, coordinates, **properties):
    geometry = {"type": form, "coordinates": coordinates}
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def collection(*features):
    return {"type": "FeatureCollection", "features": list(features)}


@pytest.fixture
def written(tmp_path):
    """Write a plan file and return its path."""

    def write(name, content):
        path = tmp_path / name
        if isinstance(content, bytes):
            path.write_bytes(content)
        else:
            text = content if isinstance(content, str) else json.dumps(content)
            path.write_text(text, encoding="utf-8")
        return path

    return write


def test_geojson_rooms_lines_and_columns_are_told_apart(written):
    """By geometry and by the property kind, whatever the spelling."""
    second = [[[10, 0], [12, 0], [12, 3], [10, 3], [10, 0]]]
    path = written(
        "plan.geojson",
        collection(
            feature("Polygon", [SQUARE], Name="Kitchen"),
            feature(
                "MultiPolygon", [[[[5, 0], [9, 0], [9, 3], [5, 3], [5, 0]]], second], room="hall"
            ),
            feature("LineString", [[2, 0], [2, 3]], kind="Day joint", name="J1"),
            feature("Point", [1, 1], kind="socket"),
            feature("Polygon", [[[1, 1], [1.3, 1], [1.3, 1.3], [1, 1.3], [1, 1]]], kind="column"),
            feature("LineString", [[2, 0], [2, 3]]),
        ),
    )
    plan, notes = read_plan(path)
    assert [room.name for room in plan.rooms] == ["Kitchen", "hall 1", "hall 2"]
    assert plan.rooms[0].polygon.area == pytest.approx(12 - 0.09)
    assert [(line.kind, line.name) for line in plan.lines] == [
        ("day-joint", "J1"),
        ("power-point", ""),
        ("known-service", "(kind not known)"),
    ]
    assert any("'hall' has 2 parts" in note for note in notes)
    assert any("kept clear of as a service" in note for note in notes)
    assert plan.notes == notes


@pytest.mark.parametrize(
    "content",
    [
        {"type": "Polygon", "coordinates": [SQUARE]},
        feature("Polygon", [SQUARE]),
        {
            "type": "GeometryCollection",
            "geometries": [{"type": "Polygon", "coordinates": [SQUARE]}],
        },
        json.dumps({"type": "Polygon", "coordinates": [SQUARE]}).encode("utf-16"),
        b"\xef\xbb\xbf" + json.dumps(feature("Polygon", [SQUARE])).encode(),
    ],
)
def test_bare_geometry_makes_a_numbered_room(written, content):
    """With a byte-order mark or in UTF-16, too."""
    plan, notes = read_plan(written("plan.json", content))
    assert plan.room("room 1").polygon.area == 12
    assert any("no name" in note for note in notes)


@pytest.mark.parametrize(("unit", "size"), [("mm", 4000), ("cm", 400), ("ft", 4 / 0.3048)])
def test_unit_of_the_coordinates_is_understood(written, unit, size):
    """The plan is always in metres."""
    ring = [[0, 0], [size, 0], [size, size], [0, size], [0, 0]]
    plan, _ = read_plan(
        written("plan.geojson", feature("Polygon", [ring], name="a")), coordinates=unit
    )
    assert plan.outline.area == pytest.approx(16)


def test_longitude_and_latitude_are_refused_with_an_explanation(written):
    """A plan is not a place on the globe."""
    ring = [[11.5 + x * 1e-5, 48.1 + y * 1e-5] for x, y in SQUARE]
    with pytest.raises(FormatError, match="longitude and latitude"):
        read_plan(written("plan.geojson", feature("Polygon", [ring])))


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ('{"type": "Polygon", "coordinates": [[[0,0],[1,', "line 1, column .*not JSON"),
        ("[" * 100_000, "nested too deeply"),
        ('<?xml version="1.0"?><!DOCTYPE a [<!ENTITY x "y">]><a>&x;</a>', "not JSON"),
        ("[1, 2]", "not GeoJSON"),
        ('{"type": "FeatureCollection", "features": [1]}', "feature 1: this is not a feature"),
        ('{"type": "FeatureCollection", "features": 3}', "no list of features"),
        ('{"type": "Polygon", "coordinates": 5}', "no ring"),
        ('{"type": "Polygon", "coordinates": [5]}', "rings of the polygon"),
        ('{"type": "Curve", "coordinates": []}', "type of the geometry"),
        (b"\x00\x01\x02" * 99, "not a text file"),
        (b"", "empty"),
        (
            {
                "type": "Feature",
                "geometry": {"type": "LineString", "coordinates": [[0]]},
                "properties": {"kind": "door"},
            },
            "feature 1: the corners of the line",
        ),
        ('{"type": "Polygon", "coordinates": [[[0,0],[4,0],[' + "9" * 5000 + ",3]]]}", "number"),
    ],
)
def test_damaged_or_hostile_geojson_is_refused_in_plain_words(written, content, message):
    """File and place are named."""
    with pytest.raises((FormatError, PlanError), match=message) as refused:
        read_plan(written("plan.geojson", content))
    assert "plan.geojson" in str(refused.value)


@pytest.mark.thorough
def test_huge_outline_is_refused(written):
    """Before any geometry is built."""
    ring = [[i % 1000, i // 1000] for i in range(250_000)]
    with pytest.raises(PlanError, match="more than 200,000 corners"):
        read_plan(written("plan.geojson", {"type": "Polygon", "coordinates": [ring]}))


def test_wkt_names_kinds_and_open_rings_are_understood(written):
    """One geometry after another, also over several lines."""
    path = written(
        "plan.wkt",
        """# ground floor
name;wkt
kitchen; POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))
hall\tPOLYGON ((4 0, 9 0, 9 3,
    4 3), (5 1, 6 1, 6 2))
POLYGON Z ((0 3 0, 9 3 0, 9 6 0, 0 6 0))
day-joint: LINESTRING (4 0, 4 6)
known-service: cold water; LINESTRING (0 1, 9 1)
column: POLYGON ((2 1, 2.3 1, 2.3 1.3, 2 1.3))
power point: MULTIPOINT ((1 1), (2 2))
"SRID=0;MULTIPOLYGON (((10 0, 14 0, 14 3, 10 3, 10 0)), ((15 0, 16 0, 16 3, 15 3)))"
""",
    )
    plan, notes = read_plan(path)
    assert {room.name: round(room.polygon.area, 2) for room in plan.rooms} == {
        "kitchen": 11.91,
        "hall": 14.5,
        "room 1": 27,
        "room 2": 12,
        "room 3": 3,
    }
    assert [(line.kind, line.name) for line in plan.lines] == [
        ("day-joint", ""),
        ("known-service", "cold water"),
        ("power-point", ""),
    ]
    assert any("line 2: 'name;wkt' taken as a heading" in note for note in notes)


def test_a_power_point_drawn_as_a_line_is_the_cable_to_it(tmp_path):
    """A socket has no length; what leads to it lies in the floor."""
    path = tmp_path / "plan.wkt"
    path.write_text(
        "hall; POLYGON ((0 0, 8 0, 8 6, 0 6, 0 0))\n"
        "power point floor box: LINESTRING (1 1, 5 1)\n"
        "power point: LINESTRING (2 0, 2.2 0)\n"
    )
    assert [line.kind for line in read_plan(path)[0].lines] == ["known-service", "power-point"]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("POLYGON ((0 0, 4 x, 4 3))", "line 1: this is not a coordinate .*'x'"),
        ("\n\nPOLYGON ((0 0, 4 0, 4 3)", "line 3: a bracket is never closed"),
        ("POLYGON ((0 0, 4 0, 4 3)))", "line 1: a closing bracket too many"),
        ("hello (1)", "line 1: no geometry found"),
        ("POLYGON " + "(" * 5000 + ")" * 5000, "nested too deeply"),
        ("POLYGON ((0 0, 4 0,, 4 3))", "brackets or commas"),
        ("POLYGON ((0,0, 4,0, 4,3))", "x and y"),
        ("POLYGON EMPTY", "no room"),
        ("POLYGON ((0 0, 4 0, nan 3))", "corner 3"),
        ("POINT ()", "brackets or commas"),
    ],
)
def test_damaged_wkt_is_refused_by_line(written, text, message):
    """File and line are named."""
    with pytest.raises((FormatError, PlanError), match=message):
        read_plan(written("plan.wkt", text))


def test_unknown_missing_and_oversized_files_are_refused(written, tmp_path, monkeypatch):
    """Before anything is read."""
    with pytest.raises(FormatError, match=r"\.geojson, \.json, \.wkt"):
        read_plan(written("plan.pdf", "x"))
    with pytest.raises(FormatError, match="no such file"):
        read_plan(tmp_path / "lost.geojson")
    (tmp_path / "folder.wkt").mkdir()
    with pytest.raises(FormatError, match="not a file"):
        read_plan(tmp_path / "folder.wkt")
    with pytest.raises(OptionError, match="unit"):
        read_plan(written("plan.wkt", "POLYGON ((0 0, 4 0, 4 3))"), coordinates="miles")
    monkeypatch.setattr("moisturemap.files.plan.MOST_BYTES", 10)
    with pytest.raises(FormatError, match="at most"):
        read_plan(written("plan.wkt", "POLYGON ((0 0, 4 0, 4 3))"))


def test_a_line_that_names_a_service_is_one_and_none_is_left_out_in_silence(written):
    """By the name of a wall, beside a word for a grid, and where the course itself is missing."""
    lost = {
        "type": "Feature",
        "geometry": None,
        "properties": {"kind": "known-service", "name": "gas"},
    }
    path = written(
        "plan.geojson",
        collection(
            feature("Polygon", [SQUARE], name="Kitchen"),
            feature("LineString", [[2, 0], [2, 3]], kind="interior-wall", name="water pipe"),
            feature("LineString", [[3, 0], [3, 3]], kind="grid", name="Stromkabel"),
            feature("LineString", [[1, 0], [1, 3]], kind="grid", name="axis 1"),
            lost,
        ),
    )
    plan, notes = read_plan(path)
    assert [line.kind for line in plan.lines] == ["known-service", "known-service"]
    assert any("The service gas is listed in the plan without its course" in n for n in notes)


def test_the_unit_of_a_named_reference_system_is_followed(written):
    """Member crs of GeoJSON 2008, section 3; degrees, which exports write unasked, do not count."""
    ring = [[0, 0], [26.25, 0], [26.25, 19.69], [0, 19.69], [0, 0]]

    def square(name):
        stated = {"type": "name", "properties": {"name": name}}
        return {"type": "Polygon", "coordinates": [ring], "crs": stated}

    feet, _ = read_plan(written("plan.geojson", square("urn:ogc:def:crs:EPSG::2263")))
    assert feet.outline.area == pytest.approx(48, abs=0.1)
    for other in ("urn:ogc:def:crs:OGC:1.3:CRS84", "our own", ""):
        plan, _ = read_plan(written("plan.geojson", square(other)))
        assert plan.outline.area == pytest.approx(26.25 * 19.69)
