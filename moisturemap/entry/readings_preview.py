"""How a file of readings was understood, before anything is stored."""

from __future__ import annotations

import csv
import math
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from moisturemap.checked import checked
from moisturemap.entry.plan_exchange import left_out
from moisturemap.errors import OptionError
from moisturemap.files.header import (
    READING_HEADINGS,
    ROWS_SEARCHED,
    find_header,
    headings_known,
)
from moisturemap.files.number import plain_number
from moisturemap.files.reading_options import ReadingOptions
from moisturemap.files.readings import read_readings
from moisturemap.files.table import BOOK_SUFFIXES, Table, is_blank, read_table, shown
from moisturemap.files.workbook import filled_sheets
from moisturemap.floorplan import FloorPlan
from moisturemap.scanning import frame_doubt

SHOWN_ROWS = 8


@dataclass(frozen=True, kw_only=True)
class Placement:
    """How the frame of a file lies in the frame of the plan.

    A place of the file is mirrored (x to -x), turned counter-clockwise about its origin by
    ``rotate_deg`` and shifted by ``origin_x``, ``origin_y`` [m].
    """

    origin_x: float = 0.0
    origin_y: float = 0.0
    rotate_deg: float = 0.0
    mirror: bool = False

    def apply(self, frame: pd.DataFrame) -> pd.DataFrame:
        """Return readings with ``x`` and ``y`` in the frame of the plan [m]."""
        x = -frame["x"] if self.mirror else frame["x"]
        turn = math.radians(self.rotate_deg)
        cos, sin = round(math.cos(turn), 12), round(math.sin(turn), 12)
        moved_x = x * cos - frame["y"] * sin + self.origin_x
        moved_y = x * sin + frame["y"] * cos + self.origin_y
        return frame.assign(x=moved_x.round(6), y=moved_y.round(6))


@dataclass(frozen=True)
class ReadingsPreview:
    """What a file of readings holds and how it was understood.

    Attributes
    ----------
    readings : pandas.DataFrame
        As :func:`moisturemap.files.readings.read_readings`, in the frame of the plan.
    notes : tuple of str
    headings : dict of str to str
        Heading found (or chosen) for each column that is known, by our name for it.
    choices : tuple of str
        All headings of the file, to choose from; empty for a grid.
    sample : list of list of str
        Heading row and first rows as they stand in the file.
    off_plan : int
        How many readings lie outside every room.
    doubt : str
        In which other frame or unit the readings fit the plan better; "" where they fit.
    """

    readings: pd.DataFrame
    notes: tuple[str, ...]
    headings: dict[str, str]
    choices: tuple[str, ...]
    sample: list[list[str]]
    off_plan: int
    doubt: str = ""

    def as_dict(self, most: int = 5000) -> dict[str, Any]:
        """Return plain types for a page; at most `most` points."""
        values = self.readings["value"]
        points = self.readings.head(most)
        return {
            "count": len(self.readings),
            "lowest": None if values.isna().all() else float(values.min()),
            "highest": None if values.isna().all() else float(values.max()),
            "full_scale": int((self.readings["censored"] == "above").sum()),
            "not_numeric": int((values.isna() & (self.readings["censored"] == "")).sum()),
            "off_plan": self.off_plan,
            "doubt": self.doubt,
            "notes": list(self.notes),
            "headings": self.headings,
            "choices": list(self.choices),
            "sample": self.sample,
            "points": [
                {
                    "x": float(x),
                    "y": float(y),
                    "value": None if np.isnan(v) else float(v),
                    "censored": c,
                    "raw": r,
                }
                for x, y, v, c, r in zip(
                    points["x"],
                    points["y"],
                    points["value"],
                    points["censored"],
                    points["raw"],
                    strict=True,
                )
            ],
        }


@dataclass(frozen=True)
class FileParts:
    """What a file that could not be read as it is offers to choose from.

    Attributes
    ----------
    sheets : tuple of str
        Sheets of a workbook that hold anything, where there are several.
    choices : tuple of str
        Cells of what looks like its row of headings.
    headings : dict of str to str
        Those of them that are known, by our name for the column.
    sample : list of list of str
        That row and the first ones after it.
    """

    sheets: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()
    headings: dict[str, str] = field(default_factory=dict)
    sample: list[list[str]] = field(default_factory=list)


@dataclass(frozen=True, kw_only=True)
@checked
class PreviewOptions:
    """Choices of the user about a file.

    ``columns`` names the file's heading for ``x``, ``y``, ``value`` and others where the one
    found is wrong.
    """

    reading: ReadingOptions = field(default_factory=ReadingOptions)
    columns: Mapping[str, str] = field(default_factory=dict)
    placement: Placement = field(default_factory=Placement)


def preview_readings(
    path: Path, plan: FloorPlan | None, options: PreviewOptions | None = None
) -> ReadingsPreview:
    """Read a file of readings and say how it was understood; nothing is stored.

    Raises
    ------
    InputError
        Naming file, row or cell, value and what is allowed.
    """
    options = options or PreviewOptions()
    table = read_table(path, options.reading.sheet, options.reading.name)
    header = find_header(table, READING_HEADINGS, ("x", "y"))
    row = header.row if header else None
    if options.columns:
        row = _heading_row(table, options.columns)
    choices = [] if row is None else [shown(cell) for cell in table.rows[row]]
    found = {name: choices[i] for name, i in header.columns.items()} if header else {}
    if options.columns:
        found = _chosen(found if header and header.row == row else {}, options.columns, choices)
        frame, notes = _reread(table, row or 0, found, options.reading)
    else:
        frame, notes = read_readings(path, options.reading)
    frame = options.placement.apply(frame)
    sample = [[shown(cell) for cell in line] for line in table.rows[row or 0 :][: SHOWN_ROWS + 1]]
    choices = [name for name in choices if name]
    off = _off_plan(frame, plan)
    doubt = _doubt(frame, plan)
    return ReadingsPreview(frame, notes, found, tuple(choices), sample, off, doubt)


def file_parts(path: Path, options: PreviewOptions) -> FileParts:
    """Return what may be picked in a file of readings: its sheet, and its columns.

    Raises
    ------
    InputError
        When the file cannot be opened at all.
    """
    reading = options.reading
    source = reading.name or path.name
    sheets = filled_sheets(path, source) if path.suffix.lower() in BOOK_SUFFIXES else ()
    sheets = sheets if len(sheets) > 1 else ()
    if sheets and reading.sheet is None:
        return FileParts(sheets)
    table = read_table(path, reading.sheet, reading.name)
    row = _likely_headings(table)
    if row is None:
        return FileParts(sheets)
    sample = [[shown(cell) for cell in line] for line in table.rows[row:][: SHOWN_ROWS + 1]]
    choices = tuple(dict.fromkeys(name for name in sample[0] if name))
    return FileParts(sheets, choices, headings_known(table.rows[row], READING_HEADINGS), sample)


def _likely_headings(table: Table) -> int | None:
    """Return the row that names most columns, else the first with three words or more, or None."""
    named = [len(headings_known(row, READING_HEADINGS)) for row in table.rows[:ROWS_SEARCHED]]
    if max(named, default=0) >= 2:
        return named.index(max(named))
    for index, row in enumerate(table.rows):
        words = {shown(cell) for cell in row if isinstance(cell, str) and not is_blank(cell)}
        if sum(plain_number(one) is None and plain_number(one, ",") is None for one in words) > 2:
            return index
    return None


def _heading_row(table: Table, columns: Mapping[str, str]) -> int:
    wanted = {name for name in columns.values() if name}
    for index, row in enumerate(table.rows):
        if wanted <= {shown(cell) for cell in row}:
            return index
    message = "no row of the file has these headings"
    raise OptionError(message, source=table.source, value=", ".join(sorted(wanted)))


def _chosen(
    found: Mapping[str, str], columns: Mapping[str, str], choices: list[str]
) -> dict[str, str]:
    """Merge chosen headings into those found; a heading serves one purpose only."""
    unknown = [name for name in columns if name not in READING_HEADINGS]
    if unknown:
        message = "no such column of readings"
        raise OptionError(message, value=unknown[0], allowed=", ".join(READING_HEADINGS))
    taken = set(columns.values())
    kept = {name: heading for name, heading in found.items() if heading not in taken}
    merged = {**kept, **columns}
    return {name: heading for name, heading in merged.items() if heading and heading in choices}


def _reread(
    table: Table, row: int, columns: Mapping[str, str], options: ReadingOptions
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Read the table again with our own headings over the chosen columns, rows in their place."""
    index = {
        name: [shown(c) for c in table.rows[row]].index(heading)
        for name, heading in columns.items()
    }
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "readings.csv"
        with copy.open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file, delimiter="\t")
            writer.writerows([""] * len(index) for _ in range(row))
            writer.writerow(index)
            for line in table.rows[row + 1 :]:
                writer.writerow([shown(line[i]) for i in index.values()])
        named = ReadingOptions(
            coordinates=options.coordinates,
            layout="long",
            decimal=options.decimal,
            zone=options.zone,
            day=options.day,
            name=table.source,
        )
        return read_readings(copy, named)


def _off_plan(frame: pd.DataFrame, plan: FloorPlan | None) -> int:
    if plan is None:
        return 0
    return left_out([{"x": x, "y": y} for x, y in zip(frame["x"], frame["y"], strict=True)], plan)


def _doubt(frame: pd.DataFrame, plan: FloorPlan | None) -> str:
    if plan is None or frame.empty:
        return ""
    rooms = frame["room"].to_numpy(dtype=object)
    doubt = frame_doubt(frame[["x", "y"]].to_numpy(dtype=float), rooms, plan)
    return doubt[1] if doubt else ""
