"""The project file as a GeoPackage, for other programs."""

import sqlite3
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box

from moisturemap import store
from moisturemap.store import geopackage
from moisturemap.survey import Survey


@pytest.fixture
def tables(packed: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(packed)
    yield connection
    connection.close()


def test_gdal_reads_every_layer(packed: Path, survey: Survey) -> None:
    """Through geopandas, without a warning, at the same places."""
    readings = gpd.read_file(packed, layer="readings")
    rooms = gpd.read_file(packed, layer="rooms")
    assert list(readings.geometry.x) == list(survey.readings["x"])
    assert list(readings["value"]) == list(survey.readings["value"])
    assert [room.polygon for room in survey.plan.rooms] == list(rooms.geometry)
    for name, _ in pyogrio.list_layers(packed):
        assert len(gpd.read_file(packed, layer=name)) >= 0


def test_gdal_can_add_to_it_and_we_find_that(packed: Path) -> None:
    """A row appended in a GIS is accepted by the file and told by the check."""
    new = {"reading": [31], "visit": ["v1"], "x": [1.0], "y": [1.0]}
    frame = gpd.read_file(packed, layer="readings").crs
    more = gpd.GeoDataFrame(new, geometry=[Point(1, 1)], crs=frame)
    more.to_file(packed, layer="readings", driver="GPKG", mode="a")
    with store.open_project(packed) as project:
        (fault,) = project.verify().faults
    assert (fault.layer, fault.row) == ("readings", 31)


def test_the_file_identifies_itself(packed: Path, tables: sqlite3.Connection) -> None:
    """OGC 12-128r18, requirements 1 and 2."""
    assert packed.read_bytes()[:16] == b"SQLite format 3\0"
    assert tables.execute("PRAGMA application_id").fetchone() == (0x47504B47,)
    assert tables.execute("PRAGMA user_version").fetchone() == (10300,)


def test_required_frames_are_there(tables: sqlite3.Connection) -> None:
    """OGC 12-128r18, requirement 11."""
    found = tables.execute("SELECT srs_id FROM gpkg_spatial_ref_sys ORDER BY 1").fetchall()
    assert found == [(-1,), (0,), (4326,)]


def test_every_listed_table_exists_with_legal_types(tables: sqlite3.Connection) -> None:
    """OGC 12-128r18, requirements 5, 13, 29 and 118."""
    legal = {"BOOLEAN", "INTEGER", "DOUBLE", "TEXT", "BLOB", "DATE", "POINT", "POLYGON", "GEOMETRY"}
    listed = tables.execute("SELECT table_name, data_type FROM gpkg_contents").fetchall()
    assert {kind for _, kind in listed} == {"features", "attributes"}
    for name, _ in listed:
        columns = tables.execute(f'PRAGMA table_info("{name}")').fetchall()
        assert {column[2] for column in columns} <= legal
        assert [column[1] for column in columns if column[5]] == ["fid"]


def test_geometry_types_are_as_declared(tables: sqlite3.Connection) -> None:
    """OGC 12-128r18, requirements 19, 24, 25 and 32."""
    declared = tables.execute("SELECT * FROM gpkg_geometry_columns").fetchall()
    assert len(declared) == 5
    for table, column, kind, frame, *_ in declared:
        assert (column, frame) == ("geom", -1)
        for (blob,) in tables.execute(f'SELECT geom FROM "{table}" WHERE geom IS NOT NULL'):
            shape = geopackage.decode(blob)
            assert blob[:4] in (b"GP\x00\x01", b"GP\x00\x03")
            assert int.from_bytes(blob[4:8], "little", signed=True) == -1
            assert kind in ("GEOMETRY", shape.geom_type.upper())


def test_the_listed_extent_covers_the_layer(tables: sqlite3.Connection, survey: Survey) -> None:
    """What a GIS zooms to."""
    sql = "SELECT min_x, min_y, max_x, max_y FROM gpkg_contents WHERE table_name = 'rooms'"
    assert tables.execute(sql).fetchone() == survey.plan.bounds


@pytest.mark.parametrize(
    "shape",
    [
        Point(1, 2),
        LineString([(0, 0), (1, 3)]),
        box(0, 0, 1, 1),
        Polygon(),
        MultiPolygon([box(0, 0, 1, 1), box(2, 2, 3, 3)]),
        box(0, 0, 9, 9) - box(1, 1, 2, 2),
    ],
)
def test_a_geometry_comes_back(shape: shapely.Geometry) -> None:
    """Every kind a plan has, and the empty one."""
    assert geopackage.decode(geopackage.encode(shape)) == shape


def test_many_points_are_encoded_as_one_by_one() -> None:
    """The quick way gives the same bytes; a missing coordinate gives none."""
    x, y = np.array([1.0, np.nan, 3.5]), np.array([2.0, 1.0, -4.0])
    blobs = geopackage.encode_points(x, y)
    assert blobs[1] is None
    assert [blobs[0], blobs[2]] == [
        geopackage.encode(Point(1, 2)),
        geopackage.encode(Point(3.5, -4)),
    ]


@pytest.mark.parametrize(
    "blob",
    [
        b"",
        b"GP",
        b"XX\x00\x01\xff\xff\xff\xff",
        b"GP\x00\x0f" + b"\0" * 4,
        b"GP\x00\x01\xff\xff\xff\xff\x01\x01",
    ],
)
def test_damaged_geometry_is_refused(blob: bytes) -> None:
    """Whatever the bytes, one kind of error."""
    with pytest.raises(ValueError, match=r".+"):
        geopackage.decode(blob)
