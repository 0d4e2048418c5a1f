"""Hold the project file against its record of changes."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from moisturemap.errors import StoreError
from moisturemap.store import attachment, record, rows
from moisturemap.store.record import WHAT_THE_RECORD_PROVES, Head, RecordEntry
from moisturemap.store.schema import LAYERS, Layer
from moisturemap.store.strangers import strangers


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is not as the record has it.

    Attributes
    ----------
    layer : str
        Table it was found in.
    row : int or None
        Number of the row (``fid``).
    sentence : str
    """

    layer: str
    row: int | None
    sentence: str


@dataclass(frozen=True, slots=True)
class Verification:
    """Result of holding a project file against its record.

    Attributes
    ----------
    head : Head
    entries : int
    faults : tuple of Fault
    remarks : tuple of str
        What is odd without being a fault, such as a clock that was set back.
    statement : str
        What the record proves and what it does not.
    """

    head: Head
    entries: int
    faults: tuple[Fault, ...]
    remarks: tuple[str, ...] = ()
    statement: str = WHAT_THE_RECORD_PROVES

    @property
    def intact(self) -> bool:
        """True when nothing was found."""
        return not self.faults


def verify(connection: sqlite3.Connection) -> Verification:
    """Hold every layer, kept file and entry against the record."""
    faults = [Fault(one.name, None, one.sentence) for one in strangers(connection)]
    found: list[RecordEntry] = []
    try:
        found.extend(record.entries(connection))
        faults += _chain(found)
        faults += _ends(connection, found)
        for layer in LAYERS.values():
            faults += _layer(connection, layer, found)
    except (StoreError, ValueError, KeyError, TypeError) as error:
        sentence = f"the record of changes cannot be followed: {error}"
        faults.append(Fault("record_of_changes", None, sentence))
    for fid, seal in attachment.changed_contents(connection):
        sentence = f"the bytes of the kept file {seal[:16]} were changed after it was taken in"
        faults.append(Fault("file_contents", fid, sentence))
    remarks = tuple(_clock_jumps(found))
    return Verification(record.head(connection), len(found), tuple(faults), remarks)


def _chain(found: list[RecordEntry]) -> Iterator[Fault]:
    previous = "0" * 64
    for number, entry in enumerate(found, 1):
        where = ("record_of_changes", entry.number)
        if entry.number != number:
            sentence = f"entry {number} of the record is missing; the next is {entry.number}"
            yield Fault(*where, sentence)
            return
        if entry.previous != previous:
            yield Fault(*where, f"entry {number} does not follow from the one before it")
        if entry.hash != entry.expected_hash:
            yield Fault(*where, f"entry {number} was changed after it was written")
        previous = entry.hash


def _ends(connection: sqlite3.Connection, found: list[RecordEntry]) -> Iterator[Fault]:
    """Compare the last entries with the numbers the tables gave out, which SQLite keeps apart."""
    given = max(rows.highest_number(connection, "record_of_changes"), len(found))
    if not found:
        yield Fault("record_of_changes", None, "the record is empty; every project begins with one")
    elif given > found[-1].number:
        lost = given - found[-1].number
        sentence = f"the last {lost} of {given} entries were cut off the record"
        yield Fault("record_of_changes", given, sentence)
    for layer in LAYERS.values():
        known = [one.highest_row for one in found if one.layer == layer.name]
        # a row that is there is told by the comparison of the layer
        present = rows.highest_present(connection, layer.name)
        given = rows.highest_number(connection, layer.name)
        if given > max([*known, present]):
            sentence = f"{layer.name} gave out number {given}, which the record does not know"
            yield Fault(layer.name, given, sentence)


CLOCK_TOLERANCE = timedelta(minutes=2)
"""How far the clock may go back between entries unremarked; our choice.

A computer that asks a time server corrects itself by seconds.
"""


def _clock_jumps(found: list[RecordEntry]) -> Iterator[str]:
    """Tell entries written at an earlier time than the one before, or in the future."""
    latest: datetime | None = None
    for entry in found:
        try:
            made = datetime.fromisoformat(entry.made)
            back = latest is not None and latest - made > CLOCK_TOLERANCE
        except (ValueError, TypeError):
            yield f"entry {entry.number} carries no time that can be read: {entry.made!r}"
            continue
        if back:
            yield (
                f"entry {entry.number} is dated {entry.made}, before the entry ahead of it "
                f"({latest}): the clock of the computer was changed"
            )
        latest = made
    if latest is not None and latest - datetime.now(UTC) > timedelta(days=1):
        yield f"the last entry is dated {latest}, which is still to come: look at the clock"


def _layer(
    connection: sqlite3.Connection, layer: Layer, found: list[RecordEntry]
) -> Iterator[Fault]:
    expected = record.replay(found, layer)
    present = {row[0]: row for row in rows.read(connection, layer)}
    for fid in expected.keys() - present.keys():
        yield Fault(layer.name, fid, f"{layer.name} {fid} was deleted outside the record")
    for fid in present.keys() - expected.keys():
        yield Fault(layer.name, fid, f"{layer.name} {fid} was put in outside the record")
    for fid, row in present.items():
        if fid in expected and row != expected[fid]:
            yield Fault(layer.name, fid, _difference(layer, expected[fid], row))
    for fid in rows.misplaced(connection, layer):
        where = f"{layer.name} {fid} is not drawn at its x and y"
        yield Fault(layer.name, fid, f"{where}; it was moved outside the record")


def _difference(layer: Layer, expected: list[Any], present: list[Any]) -> str:
    told = [
        "its outline was changed"
        if name == "geometry"
        else f"{name} is {after!r}, the record has {before!r}"
        for name, before, after in zip(layer.names, expected, present, strict=True)
        if before != after
    ]
    return f"{layer.name} {present[0]}: {'; '.join(told)}"
