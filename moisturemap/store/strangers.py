"""What stands in a project file that no migration put there: triggers, views, changed tables.

A trigger of somebody else's could change rows while we write others, and a view could stand in the
place of a table. SQLite keeps both in ``sqlite_master``, so they are found by comparing it with
that of a file made by the same migrations.
"""

from __future__ import annotations

import contextlib
import sqlite3
from dataclasses import dataclass
from functools import lru_cache

from moisturemap.store import geopackage, schema

Kinds = dict[str, tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Stranger:
    """One object of the file that is not ours, or no longer as we made it.

    Attributes
    ----------
    kind : str
        ``trigger``, ``view``, ``index`` or ``table``.
    name : str
    harm : str
        What it could do, as the end of a sentence.
    blocks_reading : bool
        True when a table we read from is no plain table any more.
    """

    kind: str
    name: str
    harm: str
    blocks_reading: bool = False

    @property
    def sentence(self) -> str:
        """Say what was found."""
        return f"the file holds {self.kind} {self.name!r}, {self.harm}"


def strangers(connection: sqlite3.Connection) -> tuple[Stranger, ...]:
    """Return the objects that could act on our rows and are not ours.

    Tables of other programs lie beside ours and do nothing; they are left alone.
    """
    expected = _expected(schema.applied(connection))
    present = _objects(connection)
    found = [
        _changed(connection, name, expected[name], present.get(name))
        for name in expected
        if present.get(name) != expected[name]
    ]
    found += [
        Stranger(kind, name, "which is not part of a project file and could change rows unseen")
        for name, (kind, _) in present.items()
        if name not in expected and kind in ("trigger", "view")
    ]
    for name, table in connection.execute(
        "SELECT name, tbl_name FROM sqlite_master WHERE sql > '' AND type = 'index'"
    ):
        if table in expected and name not in expected:
            found.append(Stranger("index", name, f"which is not ours and could refuse {table}"))
    return tuple(found)


def _objects(connection: sqlite3.Connection) -> Kinds:
    """Return kind and statement of every object by name; indexes SQLite makes have none."""
    sql = "SELECT name, type, sql FROM sqlite_master WHERE sql IS NOT NULL"
    return {name: (kind, " ".join(text.split())) for name, kind, text in connection.execute(sql)}


@lru_cache(maxsize=8)
def _expected(applied: tuple[str, ...]) -> Kinds:
    """Return the objects of a file that went through these migrations."""
    with contextlib.closing(sqlite3.connect(":memory:", isolation_level=None)) as fresh:
        geopackage.create_tables(fresh)
        schema.migrate(fresh, applied)
        return _objects(fresh)


def _changed(
    connection: sqlite3.Connection,
    name: str,
    expected: tuple[str, str],
    present: tuple[str, str] | None,
) -> Stranger:
    if present is None:
        return Stranger("no table", name, "which a project file must have", blocks_reading=True)
    if present[0] != "table":
        harm = "which stands in the place of a table"
        return Stranger(present[0], name, harm, blocks_reading=True)
    if present[1].upper().startswith("CREATE VIRTUAL"):
        harm = "which is no plain table any more"
        return Stranger("table", name, harm, blocks_reading=True)
    columns = _columns(connection, name)
    with contextlib.closing(sqlite3.connect(":memory:")) as fresh:
        fresh.execute(expected[1])
        missing = _columns(fresh, name) - columns
    if missing:
        lost = ", ".join(sorted(missing))
        harm = f"whose columns were changed ({lost})"
        return Stranger("table", name, harm, blocks_reading=True)
    return Stranger("table", name, "which was altered by another program")


def _columns(connection: sqlite3.Connection, table: str) -> set[str]:
    """Return the names of the plain columns; generated ones do not count."""
    sql = "SELECT name FROM pragma_table_xinfo(?) WHERE hidden = 0"
    return {name for (name,) in connection.execute(sql, (table,))}
