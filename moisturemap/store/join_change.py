"""One change of a copy of a job, made again in this file."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from moisturemap.store.change import Change, layer_named
from moisturemap.store.join_names import Names
from moisturemap.store.join_settings import BothChangedError, merged
from moisturemap.store.record import Operation, canonical
from moisturemap.store.rows import Row
from moisturemap.store.schema import Layer

Named = Mapping[str, Any]
_EMPTY: tuple[Any, ...] = (None, "", {"tuple": []}, {"list": []})
ENTERED = "entered"
"""Source of a row that was keyed in."""


class Remake:
    """Makes the operations of a change again.

    Parameters
    ----------
    made : Change
        Of this file.
    names : Names
    since : mapping of str to set of int
        Rows added to this file since the two parted, by layer.
    """

    def __init__(self, made: Change, names: Names, since: Mapping[str, set[int]]) -> None:
        self._made = made
        self._names = names
        self._since = since
        self.same = 0
        """Rows that both files hold alike: kept once."""

    def operation(self, operation: Operation) -> None:
        """Make one operation again.

        Raises
        ------
        BothChangedError
            If this file changed the same otherwise.
        """
        if operation.layer == "settings":
            self._settings(operation)
            return
        old = {row[0]: _named(operation, row) for row in operation.old}
        new = {row[0]: _named(operation, row) for row in operation.new}
        layer = layer_named(operation.layer)
        before, after = self._changed(layer, old, new)
        self._apply(layer, before, after)
        self._add(layer, [row for fid, row in new.items() if fid not in old])

    def _apply(self, layer: Layer, old: Sequence[Row], new: Sequence[Row]) -> None:
        if old or new:
            self._made.apply(Operation(layer.name, layer.names, tuple(old), tuple(new)))

    def _changed(
        self, layer: Layer, old: Mapping[int, Named], new: Mapping[int, Named]
    ) -> tuple[list[Row], list[Row]]:
        """Return rows to correct or take away, as they are here and as they become."""
        present = {row[0]: row for row in self._made.rows(layer.name)} if old else {}
        before, after = [], []
        for theirs, row in old.items():
            fid = self._names.fid(layer.name, theirs)
            was = self._names.row(layer, row, fid)
            now = self._names.row(layer, new[theirs], fid) if theirs in new else None
            here = present.get(fid)
            if layer.name == "visits" and here and now:
                now = _by_column(here, was, now)
            if here == now:
                self.same += 1
                continue
            by_column = layer.name == "visits" and now is not None
            if here is None or (here != was and not by_column):
                raise BothChangedError
            before.append(here)
            after += [now] if now is not None else []
        return before, after

    def _add(self, layer: Layer, rows: Sequence[Named]) -> None:
        """Add rows, but those that were added here alike."""
        since = self._since[layer.name]
        there = [row for row in self._made.rows(layer.name) if row[0] in since] if rows else []
        alike: dict[str, list[int]] = {}
        for one in there:
            alike.setdefault(content_of(layer, one), []).append(one[0])
        fid, added = self._made.next_number(layer.name), []
        for row in rows:
            twin = self._twin(layer, row, alike)
            if twin is not None:
                self._names.pair(layer.name, row["fid"], twin)
                continue
            made = self._names.row(layer, row, fid)
            self._names.pair(layer.name, row["fid"], fid)
            added.append(made)
            fid += 1
        self._apply(layer, (), added)

    def _twin(self, layer: Layer, row: Named, alike: dict[str, list[int]]) -> int | None:
        """Return the row added here that is the same as one of the copy, or None.

        Equal readings keyed in by two people are two readings; of a file read twice they are one.
        """
        keyed = layer.name == "readings" and row.get("source") == ENTERED
        found = alike.get(content_of(layer, self._names.row(layer, row, row["fid"])))
        if found and not keyed:
            self.same += 1
            return found.pop(0)
        if not layer.unique:
            return None
        key = layer.names.index(layer.unique)
        named = [one for one in self._made.rows(layer.name) if one[key] == row[layer.unique]]
        if not named:
            return None
        if layer.name == "visits" and _same_day(layer, named[0], row):
            return self._one_visit(layer, named[0], row)
        if layer.name == "rooms":
            raise BothChangedError
        taken = {one[key] for one in self._made.rows(layer.name)}
        self._names.rename(layer.name, row[layer.unique], taken)
        return None

    def _one_visit(self, layer: Layer, here: Row, row: Named) -> int:
        """Put what only the copy knows of a visit begun on both to the visit of here."""
        ours = _with_extra(dict(zip(layer.names, here, strict=True)))
        joined = dict(ours)
        for name, there in _with_extra(row).items():
            mine = ours.get(name)
            if name == "fid" or there in _EMPTY or there == mine:
                continue
            if mine in _EMPTY:
                joined[name] = there
            elif name in ("note", "operator"):
                joined[name] = f"{mine}; {there}"
            else:
                self._names.told.append(
                    f"Visit {row['id']} was begun on both, and what both hold as {name} is not the"
                    " same: see which holds."
                )
        if joined != ours:
            beside = {name: one for name, one in joined.items() if name not in layer.names}
            text = canonical(beside) if beside else None
            now = [text if name == "extra" else joined[name] for name in layer.names]
            self._apply(layer, [here], [now])
        return int(here[0])

    def _settings(self, operation: Operation) -> None:
        """Put settings together by their keys: both files may have added one."""
        layer = layer_named("settings")
        for key, old, new in _by_key(operation):
            here = next((row for row in self._made.rows("settings") if row[1] == key), None)
            was, now = (self._names.setting(key, text) for text in (old, new))
            text = merged(key, was, now, here[2] if here else None)
            if here is None and text is not None:
                self._made.add("settings", [{"key": key, "value": text}])
            elif here is not None and text != here[2]:
                after = [] if text is None else [[*here[:2], text, *here[3:]]]
                self._apply(layer, [here], after)


def _named(operation: Operation, row: Sequence[Any]) -> dict[str, Any]:
    return dict(zip(operation.columns, row, strict=True))


def _with_extra(named: Named) -> dict[str, Any]:
    """Return a row by column name with what it keeps beside its columns, as plain JSON."""
    beside = json.loads(named.get("extra") or "{}")
    return {**{name: one for name, one in named.items() if name != "extra"}, **beside}


def _by_key(operation: Operation) -> Iterator[tuple[str, str | None, str | None]]:
    old = {one["key"]: one["value"] for one in (_named(operation, row) for row in operation.old)}
    new = {one["key"]: one["value"] for one in (_named(operation, row) for row in operation.new)}
    for key in {**old, **new}:
        yield key, old.get(key), new.get(key)


def content_of(layer: Layer, row: Row) -> str:
    """Return what a row tells, without the numbers it goes by."""
    number = next(iter(layer.columns))
    apart = {"fid", "row", *((number,) if layer.columns[number] == "whole" else ())}
    return canonical([one for name, one in zip(layer.names, row, strict=True) if name not in apart])


def _by_column(here: Row, was: Row, now: Row) -> Row:
    """Return a visit with what the copy corrected of it: both may have filled it in."""
    joined = list(here)
    for k, (ours, old, new) in enumerate(zip(here, was, now, strict=True)):
        if old == new or ours == new:
            continue
        if ours not in (old, None, ""):
            raise BothChangedError
        joined[k] = new
    return joined


def _same_day(layer: Layer, here: Row, there: Named) -> bool:
    started = here[layer.names.index("started")], there.get("started")
    return all(started) and str(started[0])[:10] == str(started[1])[:10]
