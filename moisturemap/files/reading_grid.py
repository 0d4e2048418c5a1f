"""Readings laid out as the floor is: x along the first row, y down the first column."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

from moisturemap.errors import SurveyError
from moisturemap.files.header import ROWS_SEARCHED, unit_of
from moisturemap.files.number import decimal_mark, parse_numbers, positions_allowed
from moisturemap.files.table import Cell, Table, address, is_blank, shown
from moisturemap.quantities import METRES_PER_UNIT

_NUMBERLIKE = re.compile(r"[+-]?(?:\d+[.,]?\d*|[.,]\d+)")


def find_grid(table: Table) -> int | None:
    """Return the index of the row of x positions, or None when the table is no grid.

    The corner is blank or text; beside it and below it stand numbers.
    """
    for index in range(min(ROWS_SEARCHED, len(table.rows) - 1)):
        corner, *heads = table.rows[index]
        filled = [cell for cell in heads if not is_blank(cell)]
        side = [row[0] for row in table.rows[index + 1 :] if not is_blank(row[0])]
        positions = [*filled, *side]
        if filled and side and not _numberlike(corner) and all(map(_numberlike, positions)):
            return index
    return None


def _numberlike(cell: Cell) -> bool:
    return isinstance(cell, float) or bool(_NUMBERLIKE.fullmatch(shown(cell)))


def grid_readings(
    table: Table, coordinates: str, decimal: str | None
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Read a grid; blank cells were not read.

    Returns
    -------
    readings : pandas.DataFrame
        ``x, y`` [m], ``value``, ``raw``, ``censored``, ``row`` (the cell's address).
    notes : tuple of str
    """
    top = find_grid(table)
    if top is None:
        message = "this is no grid: x positions belong in the first row, y positions in the first "
        raise SurveyError(message + "column, with the corner blank", source=table.source)
    _refuse_merged(table, top)
    unit = unit_of(shown(table.rows[top][0])) or coordinates
    mark = decimal or _mark(table, top, unit)
    places = [
        (i, j)
        for i in range(top + 1, len(table.rows))
        for j in range(1, len(table.rows[i]))
        if not is_blank(table.rows[i][j])
    ]
    cells = [table.rows[i][j] for i, j in places]
    i = np.array([i for i, _ in places], dtype=int)
    j = np.array([j for _, j in places], dtype=int)
    written = (mark, unit)
    across = _positions(table, [(top, k) for k in range(1, len(table.rows[top]))], written)
    down = _positions(table, [(k, 0) for k in range(top + 1, len(table.rows))], written)
    _refuse_without_position(table, places, (across, down), top)
    numbers = parse_numbers(cells, mark)
    metres = METRES_PER_UNIT[unit]
    frame = pd.DataFrame(
        {
            "x": across[j - 1] * metres,
            "y": down[i - top - 1] * metres,
            "value": numbers.values,
            "raw": [shown(cell) for cell in cells],
            "censored": numbers.censored,
            "row": [address(a, b) for a, b in places],
        }
    )
    return frame, _order_notes(table.source, across, down)


def _mark(table: Table, top: int, unit: str) -> str:
    cells = [cell for row in table.rows[top:] for cell in row]
    width = len(table.rows[top])
    return decimal_mark(
        cells,
        table.source,
        lambda k: f"cell {address(top + k // width, k % width)}",
        [unit if k < width or k % width == 0 else "" for k in range(len(cells))],
    )


def _positions(table: Table, places: list[tuple[int, int]], written: tuple[str, str]) -> np.ndarray:
    """Return positions along one edge, NaN where its heading is blank; refuse one given twice.

    They are ``written`` with a decimal mark and in a unit.
    """
    cells = [table.rows[i][j] for i, j in places]
    mark, unit = written
    numbers = parse_numbers(cells, mark, unit=unit)
    seen: dict[float, str] = {}
    for (i, j), value, blank in zip(places, numbers.values, numbers.blank, strict=True):
        if blank:
            continue
        where = address(i, j)
        if np.isnan(value):
            raise SurveyError(
                "a position of the grid is not a number",
                source=table.source,
                place=f"cell {where}",
                value=shown(table.rows[i][j]),
                allowed=positions_allowed(unit),
            )
        if value in seen:
            message = f"a position of the grid stands twice, here and in cell {seen[value]}"
            raise SurveyError(
                message,
                source=table.source,
                place=f"cell {where}",
                value=shown(table.rows[i][j]),
                allowed="each position once",
            )
        seen[value] = where
    return numbers.values


def _refuse_without_position(
    table: Table,
    places: list[tuple[int, int]],
    edges: tuple[np.ndarray, np.ndarray],
    top: int,
) -> None:
    across, down = edges
    for i, j in places:
        if np.isnan(across[j - 1]) or np.isnan(down[i - top - 1]):
            axis = "x at the top of its column" if np.isnan(across[j - 1]) else "y beside its row"
            raise SurveyError(
                f"a reading has no {axis}",
                source=table.source,
                place=f"cell {address(i, j)}",
                value=shown(table.rows[i][j]),
                allowed="a position for every row and column that holds readings",
            )


def _refuse_merged(table: Table, top: int) -> None:
    for merged in table.merged:
        if merged.bottom >= top:
            raise SurveyError(
                "merged cells stand in the grid, so it cannot be told where the reading was taken",
                source=table.source,
                place=f"cells {merged.name}",
                allowed="unmerged cells",
            )


def _order_notes(source: str, across: np.ndarray, down: np.ndarray) -> tuple[str, ...]:
    notes = []
    for axis, positions in (("x", across), ("y", down)):
        steps = np.diff(positions[~np.isnan(positions)])
        if steps.size and not (np.all(steps > 0) or np.all(steps < 0)):
            notes.append(
                f"{source}: the {axis} positions of the grid do not run one way; "
                "check them for a slip of the pen."
            )
    return tuple(notes)
