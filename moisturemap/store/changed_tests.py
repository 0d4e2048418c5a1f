"""Tests and limits that were changed after they were stored, from the record."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from moisturemap.store import record
from moisturemap.store.changed_readings import ON_THE_SPOT
from moisturemap.store.record import RecordEntry

LAYER = "tests"
LIMITS = "limits"

SLIP = "typo"


@dataclass(frozen=True)
class _Stored:
    """A test as it was first stored, as it is, and the entries that stored and last changed it."""

    first: dict[str, Any]
    now: dict[str, Any] | None
    stored: RecordEntry
    last: RecordEntry

    @property
    def at_once(self) -> bool:
        """Whether who keyed it in changed it on the spot; what was packed was keyed in before."""
        stored, last = (datetime.fromisoformat(one.keyed) for one in (self.stored, self.last))
        same = self.stored.signature.who == self.last.signature.who
        keyed_in = self.stored.signature.kind != "create"
        return keyed_in and same and last - stored <= ON_THE_SPOT


def former_tests(
    connection: sqlite3.Connection, at: int | None = None
) -> tuple[tuple[dict[str, Any], str, str], ...]:
    """Return each test whose result, method or place is not what was first stored, and why.

    A verdict that rests on a corrected result, or on tests one of which was set aside, has to show
    it: the record alone is read by nobody who signs.

    Parameters
    ----------
    connection : sqlite3.Connection
    at : int, optional
        Last entry of the record that counts.

    Returns
    -------
    tuple of (row, sentence, reason)
        Of a slip of the finger corrected on the spot the reason is ``SLIP``.
    """
    told = record.entries(connection, layer=LAYER)
    found = _stored(one for one in told if at is None or one.number <= at).values()
    altered = [one for one in found if one.now is None or _told(one.now) != _told(one.first)]
    kept = [one.now for one in found if one.now is not None]
    return tuple(
        (one.first, _sentence(one), SLIP if _slip(one, kept) else one.last.signature.why)
        for one in altered
    )


def _slip(test: _Stored, kept: list[dict[str, Any]]) -> bool:
    """Whether a test was corrected, or taken away and keyed in anew, on the spot."""
    named = ("hole", "method", "depth_mm")
    again = any(all(one.get(name) == test.first.get(name) for name in named) for one in kept)
    return test.at_once and (test.now is not None or again)


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
    day, who = entry.keyed[:10], entry.signature.who
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
                tests[row["fid"]] = _Stored(row, row, entry, entry)
            elif before.now is None or _told(before.now) != _told(row):
                tests[row["fid"]] = _Stored(before.first, row, before.stored, entry)
        for fid in gone & set(tests):
            tests[fid] = _Stored(tests[fid].first, None, tests[fid].stored, entry)
    return tests


def _told(row: dict[str, Any]) -> tuple[Any, ...]:
    return tuple(row.get(name) for name in ("value", "unit", "x", "y", "method"))


def _sentence(test: _Stored) -> str:
    first, now, entry = test.first, test.now, test.last
    name, day, who = first.get("hole") or first["fid"], entry.keyed[:10], entry.signature.who
    why, was = entry.signature.why or "no reason given", _value(first)
    if now is None:
        return f"Test {name}, {was}, was set aside on {day} by {who}: {why}."
    value = _value(now)
    if value != was:
        return f"Test {name} was stored as {was} and changed to {value} on {day} by {who}: {why}."
    if first.get("method") != now.get("method"):
        method, other = first.get("method"), now.get("method")
        return f"Test {name}, {was}, was changed from {method} to {other} on {day} by {who}: {why}."
    place, moved = _place(first), _place(now)
    return f"Test {name} was moved from {place} to {moved} on {day} by {who}: {why}."


def _value(row: dict[str, Any]) -> str:
    value = row.get("value")
    return "no single value" if value is None else f"{value:g} {row.get('unit') or ''}".strip()


def _place(row: dict[str, Any]) -> str:
    x, y = row.get("x"), row.get("y")
    return "no place" if x is None or y is None else f"{x:.2f}, {y:.2f} m"
