"""Readings as a list: one row a reading (or one row a place with its repeats side by side)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd

from moisturemap.errors import SurveyError
from moisturemap.files.header import READING_HEADINGS, Header, find_header
from moisturemap.files.moment import parse_moments, zone_note
from moisturemap.files.more_readings import passed_over, value_columns
from moisturemap.files.number import Numbers, decimal_mark, parse_numbers, positions_allowed
from moisturemap.files.reading_options import ReadingOptions
from moisturemap.files.table import Cell, Table, is_blank, shown, texts
from moisturemap.quantities import METRES_PER_UNIT


def list_readings(table: Table, options: ReadingOptions) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Read a list of readings; see :func:`moisturemap.files.read_readings`."""
    header, values = _headings(table)
    rows = [i for i in range(header.first, len(table.rows)) if not table.is_blank_row(i)]
    notes = _row_notes(table, header, rows)
    columns = {name: [table.rows[i][j] for i in rows] for name, j in header.columns.items()}
    _fill_merged(table, header, rows, columns)
    units = {axis: header.units.get(axis, options.coordinates) for axis in ("x", "y")}
    mark = options.decimal or _mark(table, header, rows, values, units)
    place = _placer(table, header, rows)
    frame = pd.DataFrame(
        {
            axis: _coordinate(columns[axis], (mark, unit), table.source, place(axis), axis)
            * METRES_PER_UNIT[unit]
            for axis, unit in units.items()
        }
    )
    for name in ("room", "label"):
        if name in columns:
            frame[name] = texts(columns[name])
    frame["note"] = _noted(table, header, rows, columns, values)
    if "repeat" in columns:
        frame["repeat"] = _repeats(columns["repeat"], table.source, place)
    if "time" in columns or "date" in columns:
        frame["time"], guessed = _times(columns, options, table.source, place)
        notes += (zone_note(table.source),) if guessed else ()
    frame["row"] = [str(i + 1) for i in rows]
    notes += _unit_notes(table, header, options)
    frame = _with_values(frame, table, rows, values, mark)
    return frame, notes + passed_over(table, header, rows, frame, mark)


def _headings(table: Table) -> tuple[Header, dict[int, int]]:
    """Return the heading row and, by column index, the number of the repeat it holds."""
    header = find_header(table, READING_HEADINGS, ("x", "y"))
    if header is None:
        spans = [span.name for span in table.merged if span.top < 3]
        if spans:
            raise SurveyError(
                "merged cells leave the columns without clear names",
                source=table.source,
                place=f"cells {', '.join(spans)}",
                allowed="one unmerged heading for each column: x, y, value",
            )
        first = next(i for i in range(len(table.rows)) if not table.is_blank_row(i))
        raise SurveyError(
            "no heading row with x and y was found, nor a grid",
            source=table.source,
            place=f"row {first + 1}",
            value=", ".join(texts(table.rows[first])[:8]),
            allowed="headings x, y, value [, room, label, repeat, time, note]; or a "
            "grid with x along the first row, y down the first column and a "
            "blank corner",
        )
    values = value_columns(header)
    if not values:
        raise SurveyError(
            "no column holds the readings",
            source=table.source,
            place=table.place(header.row),
            value=", ".join(text for text in texts(table.rows[header.row]) if text),
            allowed="a heading such as value, reading or meter reading",
        )
    for merged in table.merged:
        if merged.top <= header.row <= merged.bottom:
            raise SurveyError(
                "the heading row has merged cells",
                source=table.source,
                place=f"cells {merged.name}",
                allowed="one unmerged heading for each column",
            )
    return header, values


def _placer(table: Table, header: Header, rows: list[int]) -> Callable[[str], Callable[[int], str]]:
    def of_column(name: str) -> Callable[[int], str]:
        return lambda k: f"row {rows[k] + 1}, column {shown(_heading(table, header, name))}"

    return of_column


def _heading(table: Table, header: Header, name: str) -> Cell:
    return table.rows[header.row][header.columns[name]]


def _coordinate(
    cells: list[Cell],
    written: tuple[str, str],
    source: str,
    place: Callable[[int], str],
    axis: str,
) -> np.ndarray:
    """Return one coordinate of each reading; ``written`` with a decimal mark and in a unit."""
    mark, unit = written
    numbers = parse_numbers(cells, mark, unit=unit)
    wrong = np.isnan(numbers.values) | (numbers.censored != "")
    if wrong.any():
        k = int(np.argmax(wrong))
        message = f"{axis} is missing" if numbers.blank[k] else f"{axis} is not a number"
        raise SurveyError(
            message,
            source=source,
            place=place(k),
            value=None if numbers.blank[k] else shown(cells[k]),
            allowed=positions_allowed(unit),
        )
    return numbers.values


def _mark(
    table: Table,
    header: Header,
    rows: list[int],
    values: dict[int, int],
    units: dict[str, str],
) -> str:
    columns = [header.columns["x"], header.columns["y"], *values]
    cells = [table.rows[i][j] for i in rows for j in columns]
    width = len(columns)
    return decimal_mark(
        cells,
        table.source,
        lambda k: table.place(rows[k // width], columns[k % width]),
        [*units.values(), *([""] * len(values))],
    )


def _repeats(
    cells: list[Cell], source: str, place: Callable[[str], Callable[[int], str]]
) -> np.ndarray:
    numbers = parse_numbers(cells, ".")
    counts = np.where(numbers.blank, 0.0, numbers.values)
    wrong = ~(counts >= 0) | (counts != np.round(counts)) | (counts > 1e6)
    if wrong.any():
        k = int(np.argmax(wrong))
        raise SurveyError(
            "the number of the repeat is not a whole number",
            source=source,
            place=place("repeat")(k),
            value=shown(cells[k]),
            allowed="1, 2, 3, ...",
        )
    return counts.astype(int)


def _times(
    columns: dict[str, list[Cell]],
    options: ReadingOptions,
    source: str,
    place: Callable[[str], Callable[[int], str]],
) -> tuple[pd.Series, bool]:
    def read(name: str) -> tuple[pd.Series, bool]:
        return parse_moments(columns[name], options.zone, place(name), source, day=options.day)

    if "time" not in columns:
        return read("date")
    if "date" not in columns:
        return read("time")
    days, clocks = columns["date"], columns["time"]
    joined = [
        d if is_blank(c) else c if is_blank(d) else f"{_day(d)} {shown(c)}"
        for d, c in zip(days, clocks, strict=True)
    ]
    return parse_moments(joined, options.zone, place("time"), source, day=options.day)


def _day(cell: Any) -> str:
    text = shown(cell)
    return text[:10] if "T" in text else text


def _noted(
    table: Table,
    header: Header,
    rows: list[int],
    columns: dict[str, list[Cell]],
    values: dict[int, int],
) -> list[str]:
    """Return the notes, with what stands in columns of unknown headings behind them."""
    notes = texts(columns["note"]) if "note" in columns else [""] * len(rows)
    others = {j: name or f"column {j + 1}" for j, name in header.others.items() if j not in values}
    for j, name in others.items():
        for k, i in enumerate(rows):
            if not is_blank(table.rows[i][j]):
                extra = f"{name}: {shown(table.rows[i][j])}"
                notes[k] = f"{notes[k]}; {extra}" if notes[k] else extra
    return notes


def _with_values(
    frame: pd.DataFrame, table: Table, rows: list[int], values: dict[int, int], mark: str
) -> pd.DataFrame:
    """Give each reading its value; repeats side by side become rows of their own."""
    parts = []
    for j, repeat in values.items():
        cells = [table.rows[i][j] for i in rows]
        numbers: Numbers = parse_numbers(cells, mark)
        part = frame.assign(value=numbers.values, raw=texts(cells), censored=numbers.censored)
        if repeat:
            part = part.assign(repeat=repeat)[~numbers.blank]
        parts.append(part)
    if len(parts) == 1:
        return parts[0].reset_index(drop=True)
    return pd.concat(parts).sort_index(kind="stable").reset_index(drop=True)


def _fill_merged(
    table: Table, header: Header, rows: list[int], columns: dict[str, list[Cell]]
) -> None:
    """Let a merged room or note stand in every row it spans; refuse merged numbers."""
    names = {j: name for name, j in header.columns.items()}
    index = {i: k for k, i in enumerate(rows)}
    for merged in table.merged:
        if merged.bottom <= header.row:
            continue
        name = names.get(merged.left)
        if merged.left != merged.right or name not in ("room", "note", "date"):
            raise SurveyError(
                "merged cells stand among the readings",
                source=table.source,
                place=f"cells {merged.name}",
                allowed="one cell for each reading; only a room, date or note may span rows",
            )
        for i in range(merged.top, merged.bottom + 1):
            if i in index:
                columns[name][index[i]] = table.rows[merged.top][merged.left]


def _row_notes(table: Table, header: Header, rows: list[int]) -> tuple[str, ...]:
    notes = []
    blank = len(table.rows) - header.first - len(rows)
    inner = rows[-1] + 1 - header.first - len(rows) if rows else blank
    if inner > 0:
        notes.append(f"{table.source}: {inner} blank rows between the readings were passed over.")
    above = [i for i in range(header.row) if not table.is_blank_row(i)]
    if above:
        notes.append(
            f"{table.source}: the headings stand in row {header.row + 1}; what is above "
            "was taken as a title."
        )
    return tuple(notes)


def _unit_notes(table: Table, header: Header, options: ReadingOptions) -> tuple[str, ...]:
    stated = {unit for unit in header.units.values() if unit != options.coordinates}
    if not stated:
        return ()
    return (
        f"{table.source}: positions are in {', '.join(sorted(stated))} as the headings say, "
        f"not in {options.coordinates}.",
    )
