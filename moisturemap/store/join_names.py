"""What rows, visits, instruments and holes of a copy of a job are called in this file."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import count
from typing import Any

from moisturemap.store.join_settings import BothChangedError
from moisturemap.store.record import RecordEntry, canonical
from moisturemap.store.rows import Row
from moisturemap.store.schema import LAYERS, Layer

OTHER_PLACE_M = 0.3
"""Holes of one name farther apart than this are two holes [m]: as a drill plan takes it."""

_REFERS = {"visit": "visits", "instrument": "instruments", "hole": "holes"}
"""Columns that name a row of another layer, or a hole."""

Place = tuple[float, float]


class Names:
    """Numbers and names of a copy's rows in this file.

    Parameters
    ----------
    common : sequence of RecordEntry
        Entries both files have; rows they made are called the same in both.
    here : sequence of RecordEntry
        Entries of this file after those.
    """

    def __init__(self, common: Sequence[RecordEntry], here: Sequence[RecordEntry]) -> None:
        self._fids: dict[str, dict[int, int]] = {layer: {} for layer in LAYERS}
        self._known = dict.fromkeys(LAYERS, 0)
        for entry in common:
            self._known[entry.layer] = max(self._known[entry.layer], entry.highest_row)
        self._called: dict[str, dict[str, str]] = {"visits": {}, "instruments": {}, "holes": {}}
        self._holes: dict[str, list[Place]] = {}
        for name, place in _holes(here):
            self._holes.setdefault(name, []).extend([place] if place else [])
        self._taken = set(self._holes) | {name for name, _ in _holes(common)}
        self._fresh: list[tuple[dict[Any, Any], Any]] = []
        self._told_before = 0
        self.told: list[str] = []

    def begin(self) -> None:
        """Begin a change, which :meth:`forget` takes back."""
        self._fresh, self._told_before = [], len(self.told)

    def forget(self) -> None:
        """Take back what was learnt from a change that is left out."""
        for table, key in self._fresh:
            table.pop(key, None)
        del self.told[self._told_before :]

    def fid(self, layer: str, fid: int) -> int:
        """Return the number of a row here.

        Raises
        ------
        BothChangedError
            If the row belongs to a change that was left out.
        """
        if fid <= self._known[layer]:
            return fid
        if fid not in self._fids[layer]:
            raise BothChangedError
        return self._fids[layer][fid]

    def pair(self, layer: str, theirs: int, here: int) -> None:
        """Remember which row here is one of the copy."""
        self._learn(self._fids[layer], theirs, here)

    def same(self, layer: str, theirs: Mapping[str, Any], here: Mapping[str, Any]) -> None:
        """Remember that a row of the copy is one of here, whatever each calls it."""
        self.pair(layer, theirs["fid"], here["fid"])
        column = "hole" if layer == "tests" else "id"
        kind = "holes" if layer == "tests" else layer
        if kind in self._called and theirs.get(column) and here.get(column):
            self._learn(self._called[kind], theirs[column], here[column])

    def _learn(self, table: dict[Any, Any], key: Any, now: Any) -> None:
        if key not in table:
            self._fresh.append((table, key))
        table[key] = now

    def rename(self, layer: str, name: str, taken: Iterable[str]) -> str:
        """Give a visit or an instrument of the copy a name that is free here."""
        free = _free(name, set(taken))
        self._learn(self._called[layer], name, free)
        self.told.append(
            f"The copy's {layer[:-1]} {name} is {free} here: another {layer[:-1]} of this file is"
            f" called {name}."
        )
        return free

    def row(self, layer: Layer, named: Mapping[str, Any], fid: int) -> Row:
        """Return a row of the copy, by column name, as it stands here under a number."""
        found = dict(named)
        theirs, number = named["fid"], next(iter(layer.columns))
        if layer.columns[number] == "whole" and named.get(number) == theirs:
            found[number] = fid
        if found.get("row") == str(theirs):
            found["row"] = str(fid)
        if layer.name == "attachments" and named.get("of_layer") in LAYERS:
            found["of_row"] = str(self.fid(named["of_layer"], int(named["of_row"])))
        if layer.name == "tests" and named.get("hole"):
            self.hole(named["hole"], _place(named))
        for column, kind in _REFERS.items():
            if column in layer.columns and named.get(column):
                found[column] = self._called[kind].get(named[column], named[column])
        if layer.name in ("visits", "instruments"):
            found["id"] = self._called[layer.name].get(named["id"], named["id"])
        found["fid"] = fid
        return [found.get(name) for name in layer.names]

    def hole(self, name: str, place: Place | None) -> str:
        """Return what a hole of the copy is called here: another where the name stands elsewhere.

        Parameters
        ----------
        name : str
        place : (float, float) or None
            Where it is [m].
        """
        known = self._called["holes"]
        if name in known:
            return known[name]
        there = self._holes.get(name)
        apart = place and there and all(math.dist(place, one) > OTHER_PLACE_M for one in there)
        self._learn(known, name, _free(name, self._taken) if apart else name)
        self._taken.add(known[name])
        if apart:
            self.told.append(
                f"Hole {name} of the copy is {known[name]} here: another place of this file is"
                f" called {name}. Write the new name beside the hole."
            )
        return known[name]

    def setting(self, key: str, text: str | None) -> str | None:
        """Return the text of a setting of the copy with the names that hold here."""
        if text is None or key != "issued_holes":
            return text
        plain = json.loads(text)
        for one in next(iter(plain.values())):
            fields = one["fields"]
            fields["hole"] = self.hole(fields["hole"], (fields["x"], fields["y"]))
        return canonical(plain)


def _free(name: str, taken: set[str]) -> str:
    free = (f"{name}-copy{k if k > 1 else ''}" for k in count(1))
    return next(one for one in free if one not in taken)


def _place(row: Mapping[str, Any]) -> Place | None:
    x, y = row.get("x"), row.get("y")
    return None if x is None or y is None else (x, y)


def _holes(entries: Iterable[RecordEntry]) -> Iterable[tuple[str, Place | None]]:
    """Yield the holes that entries tested or issued, and where they are."""
    for entry in entries:
        if entry.layer not in ("tests", "settings"):
            continue
        operation = entry.operation
        for row in operation.new:
            named = dict(zip(operation.columns, row, strict=True))
            if entry.layer == "tests" and named.get("hole"):
                yield named["hole"], _place(named)
            if named.get("key") == "issued_holes":
                for one in next(iter(json.loads(named["value"]).values())):
                    yield one["fields"]["hole"], (one["fields"]["x"], one["fields"]["y"])
