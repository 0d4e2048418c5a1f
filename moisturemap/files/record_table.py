"""Tables of records with typed fields: found by their headings, read column by column."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, tzinfo
from typing import Any

import numpy as np
import pandas as pd

from moisturemap.checked import checked
from moisturemap.errors import SurveyError
from moisturemap.files.header import (
    Header,
    Synonyms,
    find_header,
    key_of,
    states_fahrenheit,
    unit_of,
)
from moisturemap.files.moment import parse_moments, zone_note
from moisturemap.files.number import decimal_mark, parse_numbers, positions_allowed
from moisturemap.files.setting import nearest
from moisturemap.files.table import Cell, Table, shown, texts
from moisturemap.quantities import METRES_PER_UNIT

BEGINNINGS = ("drilled", "lined", "placed")
"""Times from which a wait counts: what they leave open must not make it longer."""

YES = frozenset(["yes", "y", "true", "1", "x", "ja", "oui", "on", "✓"])
NO = frozenset(["no", "n", "false", "0", "nein", "non", "off"])


@dataclass(frozen=True, kw_only=True)
@checked
class RecordOptions:
    """How a table of records is to be understood; see ``ReadingOptions``."""

    coordinates: str = "m"
    sheet: str | None = None
    decimal: str | None = None
    zone: tzinfo | None = None
    day: date | None = None
    name: str | None = None
    temperature_unit: str | None = None
    """``"C"`` or ``"F"``, of temperatures whose heading states none."""


@dataclass(frozen=True)
class Column:
    """A field of a record: its kind and, for a number, its bounds."""

    kind: str
    low: float | None = None
    high: float | None = None


@dataclass
class RecordTable:
    """A table of records.

    Attributes
    ----------
    table : Table
    header : Header
    rows : list of int
        Indices of the rows that hold records.
    columns : mapping of str to Column
        Fields that are known.
    options : RecordOptions
    """

    table: Table
    header: Header
    rows: list[int]
    columns: Mapping[str, Column]
    options: RecordOptions
    mark: str = field(default=".")
    guessed_zone: bool = False

    @classmethod
    def find(
        cls,
        table: Table,
        columns: Mapping[str, Column],
        synonyms: Synonyms,
        required: tuple[str, ...],
        options: RecordOptions,
    ) -> RecordTable:
        """Find the heading row, or say which headings are needed.

        Raises
        ------
        SurveyError
        """
        named = {name: synonyms.get(name, ()) for name in columns}
        header = find_header(table, named, required)
        if header is None:
            first = next(i for i in range(len(table.rows)) if not table.is_blank_row(i))
            raise SurveyError(
                f"no heading row with {', '.join(required)} was found",
                source=table.source,
                place=f"row {first + 1}",
                value=", ".join(texts(table.rows[first])[:8]),
                allowed=", ".join(columns),
            )
        for merged in table.merged:
            if merged.bottom >= header.row:
                raise SurveyError(
                    "merged cells stand among the records",
                    source=table.source,
                    place=f"cells {merged.name}",
                    allowed="one cell for each value",
                )
        rows = [i for i in range(header.row + 1, len(table.rows)) if not table.is_blank_row(i)]
        found = cls(table, header, rows, columns, options)
        found.mark = options.decimal or found._decimal_mark()
        return found

    def frame(self) -> tuple[pd.DataFrame, tuple[str, ...]]:
        """Read every column by its kind; unknown ones stay text under their own heading.

        Returns
        -------
        records : pandas.DataFrame
            The columns of the table, ``source`` and ``row``.
        notes : tuple of str
        """
        frame = pd.DataFrame({"row": [str(i + 1) for i in self.rows]})
        for name in self.header.columns:
            frame[name] = self._read(name)
        frame["source"] = self.table.source
        unknown = []
        for j, heading in self.header.others.items():
            name = self.free_name(heading or f"column {j + 1}", frame)
            frame[name] = texts([self.table.rows[i][j] for i in self.rows])
            unknown.append(name)
        notes = self.table.notes
        if unknown:
            notes += (
                f"{self.table.source}: columns that are not known were kept as text: "
                f"{', '.join(unknown)}.",
            )
        if self.guessed_zone:
            notes += (zone_note(self.table.source),)
        return frame, notes

    def cells(self, name: str) -> list[Cell]:
        """Return the cells of a column; blank ones when the table has no such column."""
        if name not in self.header.columns:
            return [""] * len(self.rows)
        j = self.header.columns[name]
        return [self.table.rows[i][j] for i in self.rows]

    def place(self, name: str) -> Callable[[int], str]:
        """Return what names the place of the k-th record in a column."""
        heading = shown(self.table.rows[self.header.row][self.header.columns[name]])
        return lambda k: f"row {self.rows[k] + 1}, column {heading}"

    def refuse(self, message: str, name: str, k: int, allowed: str) -> SurveyError:
        """Make the error for the k-th record of a column."""
        value = shown(self.cells(name)[k]) or None
        return SurveyError(
            message,
            source=self.table.source,
            place=self.place(name)(k),
            value=value,
            allowed=allowed,
        )

    def keys(self, name: str, words: Mapping[str, Iterable[str]], noun: str) -> list[str]:
        """Return the key each record of a column means by the key itself or by one of its words.

        Raises
        ------
        SurveyError
            For a blank cell or a word that none of the keys has; names the nearest and all keys.
        """
        meant = {key_of(word): key for key, all_of in words.items() for word in (key, *all_of)}
        found = []
        for k, text in enumerate(texts(self.cells(name))):
            if key_of(text) not in meant:
                near = nearest(text, words)
                message = f"there is no such {noun}" if text else f"{name} is missing"
                hint = f"; did you mean {near!r}?" if near else ""
                raise self.refuse(message + hint, name, k, ", ".join(words))
            found.append(meant[key_of(text)])
        return found

    def positions(self, frame: pd.DataFrame, *, needed: bool) -> pd.DataFrame:
        """Return the frame with ``x`` and ``y`` in metres; both or neither may be blank."""
        for axis in ("x", "y"):
            if axis not in frame:
                frame[axis] = np.nan
            elif axis in self.header.columns:
                frame[axis] = frame[axis] * METRES_PER_UNIT[self._unit(axis)]
        lone = frame["x"].isna() | frame["y"].isna()
        if not needed:
            lone &= frame["x"].notna() | frame["y"].notna()
        if lone.any():
            k = int(np.argmax(lone))
            axis = "x" if np.isnan(frame["x"].iloc[k]) else "y"
            raise SurveyError(
                f"{axis} is missing",
                source=self.table.source,
                place=f"row {self.rows[k] + 1}",
                allowed="a number",
            )
        return frame

    def _decimal_mark(self) -> str:
        names = [
            name
            for name, column in self.columns.items()
            if column.kind == "number" and name in self.header.columns
        ]
        if not names:
            return "."
        numeric = [self.header.columns[name] for name in names]
        cells = [self.table.rows[i][j] for i in self.rows for j in numeric]
        width = len(numeric)
        return decimal_mark(
            cells,
            self.table.source,
            lambda k: self.table.place(self.rows[k // width], numeric[k % width]),
            [self._unit(name) for name in names],
        )

    def _unit(self, name: str) -> str:
        """Return the unit positions are written in, "" for columns that hold none."""
        if name not in ("x", "y"):
            return ""
        heading = shown(self.table.rows[self.header.row][self.header.columns[name]])
        return unit_of(heading) or self.options.coordinates

    def _read(self, name: str) -> Any:
        column = self.columns[name]
        cells = self.cells(name)
        if column.kind == "number":
            return self._numbers(name, cells, column)
        if column.kind == "time":
            options, place, source = self.options, self.place(name), self.table.source
            later = name in BEGINNINGS
            moments, guessed = parse_moments(
                cells, options.zone, place, source, day=options.day, later=later
            )
            self.guessed_zone |= guessed
            return moments
        if column.kind == "flag":
            return self._flags(name, cells)
        return texts(cells)

    def _numbers(self, name: str, cells: list[Cell], column: Column) -> np.ndarray:
        unit = self._unit(name)
        numbers = parse_numbers(cells, self.mark, unit=unit)
        values = self._metric(name, numbers.values)
        share = name.endswith(("value", "_pct"))
        shares = [not share and shown(cell).endswith("%") for cell in cells]
        wrong = numbers.bad | np.array(shares, dtype=bool)
        wrong |= (numbers.censored != "") & (name != "value")
        low = -np.inf if column.low is None else column.low
        high = np.inf if column.high is None else column.high
        wrong |= (values < low) | (values > high)
        if wrong.any():
            bounds = "" if column.low is None else f" of at least {column.low:g}"
            bounds += "" if column.high is None else f" and at most {column.high:g}"
            raise self.refuse(
                f"{name} cannot be this",
                name,
                int(np.argmax(wrong)),
                f"{positions_allowed(unit) if unit else f'a number{bounds}'}, or a blank cell",
            )
        return values

    def _metric(self, name: str, values: np.ndarray) -> np.ndarray:
        """Return the values of a column in mm or C whatever unit its heading states."""
        heading = shown(self.table.rows[self.header.row][self.header.columns[name]])
        if name.endswith("_mm"):
            return np.asarray(values * METRES_PER_UNIT[unit_of(heading) or "mm"] * 1000.0)
        if name.endswith("_c") and states_fahrenheit(heading):
            return np.asarray((values - 32.0) / 1.8)
        return values

    def _flags(self, name: str, cells: list[Cell]) -> list[bool | None]:
        flags: list[bool | None] = []
        for k, text in enumerate(texts(cells)):
            word = text.casefold()
            if word and word not in YES | NO:
                raise self.refuse(f"{name} is neither yes nor no", name, k, "yes, no or blank")
            flags.append(None if not word else word in YES)
        return flags

    @staticmethod
    def free_name(heading: str, frame: pd.DataFrame) -> str:
        """Return a heading that no column of a frame has yet."""
        name, number = heading, 2
        while name in frame:
            name, number = f"{heading} {number}", number + 1
        return name
