"""Tests and limits that were changed after they were stored, from the record."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from moisturemap.store import record
from moisturemap.store.record import RecordEntry

LAYER = "tests"
LIMITS = "limits"


@dataclass(frozen=True)
class _Stored:
    """A test as it was first stored, as it is, and the entry that last changed what it says."""

    first: dict[str, Any]
    now: dict[str, Any] | None
    last: RecordEntry


def changed_tests(connection: sqlite3.Connection, at: int | None = None) -> tuple[str, ...]:
    """Say of each test whose result or place is not what was first stored what it was, and why.

    A verdict that rests on a corrected result, or on tests one of which was set aside, has to show
    it: the record alone is read by nobody who signs.

    Parameters
    ----------
    connection : sqlite3.Connection
    at : int, optional
        Last entry of the record that counts.
    """
    told = record.entries(connection, layer=LAYER)
    found = _stored(one for one in told if at is None or one.number <= at)
    return tuple(
        _sentence(one)
        for one in found.values()
        if one.now is None or _told(one.now) != _told(one.first)
    )


def names_of_holes(connection: sqlite3.Connection) -> frozenset[str]:
    """Return the names of holes under which a test was ever stored; none is given again."""
    return frozenset(
        str(row["hole"])
        for entry in record.entries(connection, layer=LAYER)
        for row in _rows(entry, entry.operation.new)
        if row.get("hole")
    )


def changed_limits(connection: sqlite3.Connection, at: int | None = None) -> tuple[str, ...]:
    """Say of each limit that is not what it was when the first test was stored what it was.

    A limit corrected before any result was known decides nothing afterwards.

    Parameters
    ----------
    connection : sqlite3.Connection
    at : int, optional
        Last entry of the record that counts.
    """
    tests = next(record.entries(connection, layer=LAYER), None)
    if tests is None:
        return ()
    first: dict[str | None, dict[str, Any]] = {}
    now: dict[str | None, tuple[dict[str, Any] | None, RecordEntry]] = {}
    for entry in record.entries(connection, layer=LIMITS):
        if at is not None and entry.number > at:
            break
        for row in _rows(entry, entry.operation.old):
            now[row["room"]] = (None, entry)
        for row in _rows(entry, entry.operation.new):
            now[row["room"]] = (row, entry)
            if entry.number < tests.number or row["room"] not in first:
                first[row["room"]] = row
    return tuple(
        _limit_sentence(first[room], row, entry)
        for room, (row, entry) in now.items()
        if row is None or _bound(row) != _bound(first[room])
    )


def _rows(entry: RecordEntry, rows: Iterable[Sequence[Any]]) -> list[dict[str, Any]]:
    return [dict(zip(entry.operation.columns, row, strict=True)) for row in rows]


def _bound(row: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(row.get(name) for name in ("method", "value", "unit"))


def _limit_sentence(first: dict[str, Any], now: dict[str, Any] | None, entry: RecordEntry) -> str:
    room, was = first.get("room"), _value(first)
    where = f" of {room}" if room else ""
    day, who = entry.made[:10], entry.signature.who
    why = entry.signature.why or "no reason given"
    if now is None:
        return f"The limit{where}, {was}, was taken away on {day} by {who}: {why}."
    value = _value(now)
    return f"The limit{where} was {was} and changed to {value} on {day} by {who}: {why}."


def _stored(found: Iterator[RecordEntry]) -> dict[int, _Stored]:
    tests: dict[int, _Stored] = {}
    for entry in found:
        operation = entry.operation
        rows = [dict(zip(operation.columns, row, strict=True)) for row in operation.new]
        gone = {row[0] for row in operation.old} - {row["fid"] for row in rows}
        for row in rows:
            before = tests.get(row["fid"])
            if before is None:
                tests[row["fid"]] = _Stored(row, row, entry)
            elif before.now is None or _told(before.now) != _told(row):
                tests[row["fid"]] = _Stored(before.first, row, entry)
        for fid in gone & set(tests):
            tests[fid] = _Stored(tests[fid].first, None, entry)
    return tests


def _told(row: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(row.get(name) for name in ("value", "unit", "x", "y"))


def _sentence(test: _Stored) -> str:
    first, now, entry = test.first, test.now, test.last
    name, day, who = first.get("hole") or first["fid"], entry.made[:10], entry.signature.who
    why, was = entry.signature.why or "no reason given", _value(first)
    if now is None:
        return f"Test {name}, {was}, was set aside on {day} by {who}: {why}."
    value = _value(now)
    if value != was:
        return f"Test {name} was stored as {was} and changed to {value} on {day} by {who}: {why}."
    place, moved = _place(first), _place(now)
    return f"Test {name} was moved from {place} to {moved} on {day} by {who}: {why}."


def _value(row: dict[str, Any]) -> str:
    value = row.get("value")
    return "no single value" if value is None else f"{value:g} {row.get('unit') or ''}".strip()


def _place(row: dict[str, Any]) -> str:
    x, y = row.get("x"), row.get("y")
    return "no place" if x is None or y is None else f"{x:.2f}, {y:.2f} m"
