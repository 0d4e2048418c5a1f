"""Corrections made after a first report was issued, of what a verdict rests on."""

from __future__ import annotations

import sqlite3
from typing import Any

from moisturemap.store import record
from moisturemap.store.change_words import difference_words, row_words
from moisturemap.store.record import RecordEntry

DECIDING = ("instruments", "instrument_checks", "rooms", "tests")
"""Layers whose corrections may turn a verdict; limits and results are told by themselves."""

TOLD_APART = frozenset(("value", "unit", "x", "y", "method"))
"""Columns of tests whose changes are told by themselves."""


def changed_since_issue(connection: sqlite3.Connection, at: int | None = None) -> tuple[str, ...]:
    """Say what was corrected since the first issue of a report, with both values, who and why.

    Parameters
    ----------
    connection : sqlite3.Connection
    at : int, optional
        Last entry of the record that counts.
    """
    issued = next(record.entries(connection, layer="issued_documents"), None)
    if issued is None:
        return ()
    return tuple(
        sentence
        for entry in record.entries(connection)
        if entry.layer in DECIDING and entry.number > issued.number
        if at is None or entry.number <= at
        for sentence in _sentences(entry)
    )


def _sentences(entry: RecordEntry) -> list[str]:
    day, who = entry.made[:10], entry.signature.who
    why = entry.signature.why or "no reason given"
    columns, told = entry.operation.columns, []
    if entry.action == "correct":
        for rows in zip(entry.operation.old, entry.operation.new, strict=True):
            old, new = (_apart(entry.layer, dict(zip(columns, row, strict=True))) for row in rows)
            changed = difference_words(entry.layer, old, new)
            if changed:
                name = row_words(entry.layer, new)
                told.append(
                    f"After the first issue {name} was corrected, {changed}, on {day} by {who}:"
                    f" {why}."
                )
    if entry.action == "remove" and entry.layer != "tests":
        for row in entry.operation.old:
            name = row_words(entry.layer, dict(zip(columns, row, strict=True)))
            told.append(f"After the first issue {name} was removed on {day} by {who}: {why}.")
    return told


def _apart(layer: str, row: dict[str, Any]) -> dict[str, Any]:
    apart = TOLD_APART if layer == "tests" else frozenset()
    return {name: value for name, value in row.items() if name not in apart}
