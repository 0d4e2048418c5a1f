"""The layers of the project file and the migrations that lead to them."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from moisturemap.errors import StoreError
from moisturemap.store import geopackage

SQL_TYPES = {
    "text": "TEXT",
    "real": "DOUBLE",
    "whole": "INTEGER",
    "flag": "BOOLEAN",
    "date": "DATE",
    "time": "TEXT",
}
"""Kind of a column to its SQL type. Times are text because a GeoPackage DATETIME has no zone."""


@dataclass(frozen=True)
class Layer:
    """One table of the project file.

    Attributes
    ----------
    name, description : str
    columns : dict of str to str
        Column names to kinds (``SQL_TYPES``); ``fid`` and ``extra`` come on top of them.
    geometry : str
        Geometry type as the standard writes it; "" for a table without geometry.
    unique : str
        Column whose values may occur once only, or "".
    refers : dict of str to str
        Column to ``"table(column)"`` it must be found in.
    """

    name: str
    description: str
    columns: dict[str, str]
    geometry: str = ""
    unique: str = ""
    refers: dict[str, str] | None = None

    @property
    def from_coordinates(self) -> bool:
        """True when the geometry is the point of the columns x and y."""
        return self.geometry == "POINT"

    @property
    def names(self) -> tuple[str, ...]:
        """Names of what one row holds, in order; ``geometry`` is text (hexadecimal WKB)."""
        shape = ("geometry",) if self.geometry and not self.from_coordinates else ()
        return ("fid", *self.columns, "extra", *shape)

    def create_statement(self) -> str:
        """Return the SQL that creates the table."""
        parts = ["fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL"]
        parts += ["geom " + self.geometry] if self.geometry else []
        for name, kind in self.columns.items():
            part = f'"{name}" {SQL_TYPES[kind]}'
            part += " UNIQUE NOT NULL" if name == self.unique else ""
            if name in (self.refers or {}):
                part += f" REFERENCES {(self.refers or {})[name]} DEFERRABLE INITIALLY DEFERRED"
            parts.append(part)
        return f'CREATE TABLE "{self.name}" ({", ".join([*parts, "extra TEXT"])})'


def _columns(kind: str, names: str) -> dict[str, str]:
    return dict.fromkeys(names.split(), kind)


_VISIT = {"visit": "visits(id)"}

LAYERS = {
    layer.name: layer
    for layer in (
        Layer(
            "settings",
            "name of the job and other settings",
            _columns("text", "key value"),
            unique="key",
        ),
        Layer(
            "rooms",
            "rooms of the floor plan, metres",
            {
                "name": "text",
                "base": "text",
                "thickness_mm": "real",
                "drying_faces": "whole",
                "heated": "flag",
                "placed": "date",
                "pour": "text",
            },
            geometry="POLYGON",
            unique="name",
        ),
        Layer(
            "lines",
            "walls, joints, known services and the like, metres",
            _columns("text", "kind name"),
            geometry="GEOMETRY",
        ),
        Layer(
            "instruments",
            "meters and probes",
            {
                "id": "text",
                "kind": "text",
                "scale_low": "real",
                "scale_high": "real",
                "step": "real",
                "serial": "text",
                "certificate": "text",
                "uncertainty": "real",
                "model": "text",
                "calibrated": "date",
            },
            unique="id",
        ),
        Layer(
            "instrument_checks",
            "checks of instruments against a reference",
            {
                "instrument": "text",
                "when": "time",
                "reference": "text",
                "read": "real",
                "expected": "real",
                "temperature_c": "real",
            },
            refers={"instrument": "instruments(id)"},
        ),
        Layer(
            "visits",
            "visits to the floor",
            {
                "id": "text",
                "started": "time",
                "operator": "text",
                "air_temperature_c": "real",
                "air_rh_pct": "real",
                "slab_temperature_c": "real",
                "note": "text",
            },
            unique="id",
        ),
        Layer(
            "readings",
            "relative readings",
            {
                "reading": "whole",
                **_columns("text", "visit instrument"),
                **_columns("real", "x y value"),
                **_columns("text", "raw censored room label"),
                "repeat": "whole",
                "time": "time",
                **_columns("text", "note source row"),
            },
            geometry="POINT",
            refers=_VISIT,
        ),
        Layer(
            "tests",
            "calibrated tests",
            {
                "test": "whole",
                "visit": "text",
                "hole": "text",
                **_columns("real", "x y"),
                "method": "text",
                **_columns("real", "depth_mm value"),
                "unit": "text",
                **_columns("real", "temperature_c air_temperature_c air_rh_pct"),
                **_columns("time", "drilled placed read"),
                **_columns("text", "instrument note source row"),
            },
            geometry="POINT",
            refers=_VISIT,
        ),
        Layer(
            "equipment",
            "drying machines",
            {
                **_columns("text", "machine visit kind"),
                **_columns("real", "x y direction_deg capacity"),
                **_columns("text", "unit note source row"),
            },
            geometry="POINT",
            refers=_VISIT,
        ),
        Layer(
            "limits",
            "limits the calibrated tests are judged against",
            {"room": "text", "method": "text", "value": "real", "unit": "text", "source": "text"},
        ),
        Layer(
            "attachments",
            "photographs and files",
            {
                "name": "text",
                "media_type": "text",
                "size": "whole",
                "sha256": "text",
                "width": "whole",
                "height": "whole",
                "taken": "time",
                "of_layer": "text",
                "of_row": "text",
                "note": "text",
            },
            refers={"sha256": "file_contents(sha256)"},
        ),
        Layer(
            "issued_documents",
            "documents as they were issued",
            {
                "name": "text",
                "media_type": "text",
                "size": "whole",
                "sha256": "text",
                "issued": "time",
                "who": "text",
                "record_number": "whole",
                "record_hash": "text",
                "data_sha256": "text",
                "options": "text",
                "versions": "text",
                "numbers": "text",
            },
            refers={"sha256": "file_contents(sha256)"},
        ),
    )
}
"""Every table whose changes are recorded, by name."""

_CONTENTS = """CREATE TABLE file_contents (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  sha256 TEXT UNIQUE NOT NULL, content BLOB NOT NULL)"""

_RECORD = """CREATE TABLE record_of_changes (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  change INTEGER NOT NULL, made TEXT NOT NULL, who TEXT NOT NULL, why TEXT NOT NULL,
  action TEXT NOT NULL, layer TEXT NOT NULL, row_ids TEXT NOT NULL, content TEXT, packed BLOB,
  request TEXT NOT NULL, undoes INTEGER, previous TEXT NOT NULL, hash TEXT NOT NULL UNIQUE)"""


def _first_layers(connection: sqlite3.Connection) -> None:
    connection.execute(_CONTENTS)
    for layer in LAYERS.values():
        connection.execute(layer.create_statement())
        geopackage.register(connection, layer.name, layer.description, layer.geometry)
    connection.execute(_RECORD)
    geopackage.register(connection, "record_of_changes", "who changed what, when and why")


Migration = Callable[[sqlite3.Connection], None]

MIGRATIONS: dict[str, Migration] = {"0001 first layers": _first_layers}
"""Named steps to the present schema, in order. A step once published is never edited."""


def applied(connection: sqlite3.Connection) -> tuple[str, ...]:
    """Return the names of the migrations a file has been through."""
    rows = connection.execute("SELECT name FROM moisturemap_migrations ORDER BY fid")
    return tuple(name for (name,) in rows)


def refuse_newer(done: Iterable[str]) -> None:
    """Refuse a file that has been through a migration this version does not know.

    Raises
    ------
    StoreError
    """
    unknown = [name for name in done if name not in MIGRATIONS]
    if unknown:
        message = (
            f"the file was written by a newer version of moisturemap (it knows {unknown[-1]!r}). "
            "Update moisturemap to open it; nothing in the file was changed"
        )
        raise StoreError(message)


def missing(connection: sqlite3.Connection) -> tuple[str, ...]:
    """Return the migrations a file still needs.

    Raises
    ------
    StoreError
        If the file has been through a migration this version does not know.
    """
    done = applied(connection)
    refuse_newer(done)
    if done != tuple(MIGRATIONS)[: len(done)] or (not done and _has_tables(connection)):
        message = (
            "its list of migrations was changed by another program, so it cannot be told how its "
            "tables are to be read. `moisturemap recover` writes a new file from its record of "
            "changes; this one was left as it is"
        )
        raise StoreError(message)
    return tuple(name for name in MIGRATIONS if name not in done)


def _has_tables(connection: sqlite3.Connection) -> bool:
    sql = "SELECT count(*) FROM sqlite_master WHERE name = 'record_of_changes'"
    return bool(connection.execute(sql).fetchone()[0])


def migrate(connection: sqlite3.Connection, names: Sequence[str] | None = None) -> None:
    """Bring a file to the present schema, or through the named steps; call in a transaction."""
    connection.execute(
        "CREATE TABLE IF NOT EXISTS moisturemap_migrations"
        " (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, name TEXT NOT NULL, applied TEXT)"
    )
    for name in missing(connection) if names is None else names:
        MIGRATIONS[name](connection)
        now = datetime.now(UTC).isoformat(timespec="seconds")
        insert = "INSERT INTO moisturemap_migrations (name, applied) VALUES (?, ?)"
        connection.execute(insert, (name, now))
