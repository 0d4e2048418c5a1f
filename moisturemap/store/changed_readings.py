"""Readings that once stood higher than they do, from the record: lowered, moved or taken away."""

from __future__ import annotations

import math
import re
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from moisturemap.store import record, rows
from moisturemap.store.record import RecordEntry
from moisturemap.store.schema import LAYERS

LAYER = "readings"

ON_THE_SPOT = timedelta(minutes=15)
"""Who stored a reading and corrects it this soon corrects a slip of the finger (our choice)."""

SAME_PLACE_M = 0.05
"""A reading moved by no more is where it was [m]; our choice."""

WHOLE_IMPORT = 10
"""So many readings stored together and taken away together are a wrong file (our choice)."""


@dataclass(frozen=True, slots=True)
class FormerReading:
    """A reading as it stood before it was lowered, moved or taken away.

    Attributes
    ----------
    row : dict
        As it was, by column.
    taken_away : bool
    asked : bool
        False of a file taken back as a whole: what replaces it was read anew.
    entry : RecordEntry
        Which changed it.
    """

    row: dict[str, Any]
    taken_away: bool
    asked: bool
    entry: RecordEntry


@dataclass(frozen=True, slots=True)
class _Touch:
    """Rows of one entry, when and by whom."""

    number: int
    ranges: tuple[tuple[int, int], ...]
    made: datetime
    who: str
    added: bool
    packed: bool

    def holds(self, fid: int) -> bool:
        return any(low <= fid <= high for low, high in self.ranges)

    @property
    def count(self) -> int:
        return sum(high - low + 1 for low, high in self.ranges)


class _Touched:
    """Which entry touched a row last: single rows by number, files of many as ranges."""

    def __init__(self) -> None:
        self._last: dict[int, _Touch] = {}
        self._files: list[_Touch] = []

    def take(self, touch: _Touch) -> None:
        if touch.count >= WHOLE_IMPORT:
            self._files.append(touch)
            return
        for low, high in touch.ranges:
            self._last.update(dict.fromkeys(range(low, high + 1), touch))

    def last(self, fid: int) -> _Touch:
        found = [one for one in reversed(self._files) if one.holds(fid)][:1]
        found += [self._last[fid]] if fid in self._last else []
        return max(found, key=lambda one: one.number)

    def taken_back(self, touch: _Touch) -> list[_Touch]:
        """Return the files that an entry touches as a whole."""
        return [one for one in self._files if one.added and _covers(touch, one)]


def former_readings(
    connection: sqlite3.Connection, at: int | None = None
) -> tuple[FormerReading, ...]:
    """Return of each reading that stood higher, or elsewhere, the highest it was stored as.

    Parameters
    ----------
    connection : sqlite3.Connection
    at : int, optional
        Last entry of the record that counts.
    """
    touched = _Touched()
    highest: dict[int, FormerReading] = {}
    now: dict[int, dict[str, Any] | None] = {}
    for entry in _entries(connection, at):
        touch = _touch(entry)
        if not touch.added:
            _take_in(entry, touch, touched, highest, now)
        elif any(map(touch.holds, now)):
            now |= {fid: row for fid, row in _rows(entry, old=False).items() if fid in now}
        touched.take(touch)
    return tuple(one for fid, one in highest.items() if _is_gone(one.row, now[fid]))


def former_sentences(found: tuple[FormerReading, ...]) -> tuple[str, ...]:
    """Say how many readings were lowered or taken away, of up to what, by whom and why."""
    together: dict[tuple[str, ...], list[float]] = {}
    for one in found:
        sign = one.entry.signature
        why = sign.why or "no reason given"
        key = (
            str(one.row["visit"]),
            "taken away" if one.taken_away else "lowered or moved",
            one.entry.keyed[:10],
            sign.who,
            why,
        )
        together.setdefault(key, []).append(one.row["value"])
    return tuple(_sentence(values, key) for key, values in sorted(together.items()))


def _sentence(values: list[float], key: tuple[str, ...]) -> str:
    visit, done, day, who, why = key
    count, top = len(values), max(values)
    if count == 1:
        return f"1 reading of visit {visit}, of {top:g}, was {done} on {day} by {who}: {why}."
    many = f"{count} readings of visit {visit}, of up to {top:g},"
    return f"{many} were {done} on {day} by {who}: {why}."


def _entries(connection: sqlite3.Connection, at: int | None) -> Iterator[RecordEntry]:
    sql = "SELECT 1 FROM record_of_changes WHERE layer = ? AND action NOT LIKE '%add' LIMIT 1"
    if connection.execute(sql, (LAYER,)).fetchone() is None:
        return
    for entry in record.entries(connection, layer=LAYER):
        if at is None or entry.number <= at:
            yield entry


def _touch(entry: RecordEntry) -> _Touch:
    pairs = re.findall(r"(\d+)(?:-(\d+))?", entry.row_ids)
    ranges = tuple((int(low), int(high or low)) for low, high in pairs)
    made = datetime.fromisoformat(entry.keyed)
    signed, added = entry.signature, entry.action == "add"
    return _Touch(entry.number, ranges, made, signed.who, added, signed.kind == "create")


def _rows(entry: RecordEntry, *, old: bool) -> dict[int, dict[str, Any]]:
    operation = entry.operation
    found = operation.old if old else operation.new
    return {row[0]: dict(zip(operation.columns, row, strict=True)) for row in found}


def _take_in(
    entry: RecordEntry,
    touch: _Touch,
    touched: _Touched,
    highest: dict[int, FormerReading],
    now: dict[int, dict[str, Any] | None],
) -> None:
    """Take in an entry that corrects or takes away."""
    after = _rows(entry, old=False)
    whole = [] if after else touched.taken_back(touch)
    for fid, row in _rows(entry, old=True).items():
        now[fid] = after.get(fid)
        value, known = row.get("value"), highest.get(fid)
        if not _number(value) or (known is not None and known.row["value"] >= value):
            continue
        last = touched.last(fid)
        slip = not last.packed and last.who == touch.who and touch.made - last.made <= ON_THE_SPOT
        if not slip and _is_gone(row, now[fid]):
            asked = not any(one.holds(fid) for one in whole)
            highest[fid] = FormerReading(row, now[fid] is None, asked, entry)


def _covers(touch: _Touch, other: _Touch) -> bool:
    return all(any(a <= low and high <= b for a, b in touch.ranges) for low, high in other.ranges)


def _number(value: Any) -> bool:
    return isinstance(value, int | float) and math.isfinite(value)


def _is_gone(then: dict[str, Any], now: dict[str, Any] | None) -> bool:
    """Whether nothing as high stands where a reading stood."""
    if now is None or not _number(now.get("value")) or now["value"] < then["value"]:
        return True
    if any(now.get(name) != then.get(name) for name in ("visit", "instrument")):
        return True
    places: list[list[Any]] = [[one.get("x"), one.get("y")] for one in (then, now)]
    if not all(map(_number, (*places[0], *places[1]))):
        return places[0] != places[1]
    return math.dist(*places) > SAME_PLACE_M


def as_rows(found: tuple[FormerReading, ...]) -> list[rows.Row]:
    """Return the readings asked about as rows of their layer."""
    names = LAYERS[LAYER].names
    return [[one.row.get(name) for name in names] for one in found if one.asked]
