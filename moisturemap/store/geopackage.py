"""The GeoPackage encoding: required tables, geometry blobs, registered layers.

Follows OGC 12-128r18, GeoPackage Encoding Standard 1.3.1. Everything is written with plain
sqlite3 and without a spatial index, so that any SQLite program can still change the file.
"""

from __future__ import annotations

import sqlite3
import struct
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

APPLICATION_ID = 0x47504B47
"""``GPKG`` in ASCII (requirement 2)."""

USER_VERSION = 10300
"""Version 1.3 of the standard (requirement 2)."""

PLAN_FRAME = -1
"""Undefined Cartesian frame (requirement 11): plan metres, x right then y up."""

_MAGIC = b"GP"
_LITTLE_ENDIAN, _ENVELOPE_XY, _EMPTY = 0x01, 0x02, 0x10
_ENVELOPE_BYTES = (0, 32, 48, 48, 64)

_REQUIRED_TABLES = """
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE,
  srs_id INTEGER REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL UNIQUE REFERENCES gpkg_contents(table_name),
  column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL REFERENCES gpkg_spatial_ref_sys(srs_id),
  z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name));
"""

_WGS84 = (
    'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,'
    'AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,'
    'AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],'
    'AUTHORITY["EPSG","4326"]]'
)

_REQUIRED_FRAMES = (
    (
        "Undefined Cartesian SRS",
        -1,
        "NONE",
        -1,
        "undefined",
        "the plan's own frame: metres, x right then y up",
    ),
    ("Undefined geographic SRS", 0, "NONE", 0, "undefined", "undefined geographic frame"),
    ("WGS 84 geodetic", 4326, "EPSG", 4326, _WGS84, "longitude and latitude in degrees"),
)


def create_tables(connection: sqlite3.Connection) -> None:
    """Write the tables and rows every GeoPackage must have."""
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {USER_VERSION}")
    for statement in filter(str.strip, _REQUIRED_TABLES.split(";\n")):
        connection.execute(statement)
    insert = "INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)"
    connection.executemany(insert, _REQUIRED_FRAMES)


def register(
    connection: sqlite3.Connection, table: str, description: str, geometry: str = ""
) -> None:
    """List a table as features (with a geometry type) or as attributes."""
    kind, frame = ("features", PLAN_FRAME) if geometry else ("attributes", None)
    connection.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, srs_id)"
        " VALUES (?, ?, ?, ?, ?)",
        (table, kind, table, description, frame),
    )
    if geometry:
        connection.execute(
            "INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', ?, ?, 0, 0)",
            (table, geometry, PLAN_FRAME),
        )


def touch(connection: sqlite3.Connection, table: str, geometries: Sequence[Any] = ()) -> None:
    """Note that a table changed and widen its listed extent over the new geometries."""
    connection.execute(
        "UPDATE gpkg_contents SET last_change = strftime('%Y-%m-%dT%H:%M:%fZ','now')"
        " WHERE table_name = ?",
        (table,),
    )
    bounds = shapely.total_bounds(np.asarray(geometries, dtype=object)) if geometries else ()
    if len(bounds) and np.isfinite(bounds).all():
        west, south, east, north = (float(bound) for bound in bounds)
        connection.execute(
            "UPDATE gpkg_contents SET min_x = min(coalesce(min_x, ?1), ?1),"
            " min_y = min(coalesce(min_y, ?2), ?2), max_x = max(coalesce(max_x, ?3), ?3),"
            " max_y = max(coalesce(max_y, ?4), ?4) WHERE table_name = ?5",
            (west, south, east, north, table),
        )


def encode(geometry: BaseGeometry | None) -> bytes | None:
    """Return the GeoPackage blob of one geometry (requirement 19), or None for none."""
    if geometry is None:
        return None
    flags, envelope = _LITTLE_ENDIAN, b""
    if geometry.is_empty:
        flags |= _EMPTY
    elif geometry.geom_type != "Point":
        west, south, east, north = geometry.bounds
        flags |= _ENVELOPE_XY
        envelope = struct.pack("<4d", west, east, south, north)
    wkb: bytes = shapely.to_wkb(geometry, byte_order=1, flavor="iso")
    return _MAGIC + struct.pack("<BBi", 0, flags, PLAN_FRAME) + envelope + wkb


def encode_points(x: NDArray[np.float64], y: NDArray[np.float64]) -> list[bytes | None]:
    """Return the blobs of many points, shape (n,) each [m]; None where a coordinate is missing."""
    header = _MAGIC + struct.pack("<BBi", 0, _LITTLE_ENDIAN, PLAN_FRAME)
    wkb = shapely.to_wkb(shapely.points(x, y), byte_order=1)
    there = np.isfinite(x) & np.isfinite(y)
    return [header + one if ok else None for one, ok in zip(wkb, there, strict=True)]


def decode(blob: bytes | None) -> BaseGeometry | None:
    """Return the geometry of a blob written by this or any other program.

    Raises
    ------
    ValueError
        If the bytes are no GeoPackage geometry.
    """
    if blob is None:
        return None
    if not isinstance(blob, bytes) or len(blob) < 8 or blob[:2] != _MAGIC:
        message = "not a GeoPackage geometry"
        raise ValueError(message)
    envelope = (blob[3] >> 1) & 0x07
    if envelope >= len(_ENVELOPE_BYTES):
        message = "not a GeoPackage geometry"
        raise ValueError(message)
    try:
        return shapely.from_wkb(blob[8 + _ENVELOPE_BYTES[envelope] :])
    except shapely.errors.ShapelyError as error:
        raise ValueError(str(error)) from error
