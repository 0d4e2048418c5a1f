"""Rows of a grid entered the wrong way round or one place too far, found by their neighbours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.special import ndtri

from moisturemap.scanning.remark import Remark

SURE = 4.5
"""Evidence needed to doubt one row, in standard deviations of what noise alone would do."""

SIDE = 2.0
"""Evidence the row above and the row below must each give: a pipe that runs askew agrees with one
of them only."""

SHORTEST_ROW = 6
FEWEST_ROWS = 4

EACH_WAY = 0.25
"""Every second row is turned when rows two apart agree this well and neighbours disagree as much
(correlation of what changes sign when a row is turned)."""


@dataclass(frozen=True)
class Lattice:
    """Values on rows and columns, NaN where nothing was read.

    Attributes
    ----------
    along, across : ndarray
        Positions of the columns and of the rows [m].
    values : ndarray, shape (rows, columns)
        Normal scores of the ranks, so that one stray value weighs little.
    axis : str
        Name of the coordinate that is constant along a row.
    """

    along: NDArray[np.float64]
    across: NDArray[np.float64]
    values: NDArray[np.float64]
    axis: str


def remarks_on_row_order(locations: pd.DataFrame) -> list[Remark]:
    """Name rows, along x or along y, that fit their neighbours only when turned or shifted.

    Room by room, as readings are written down; then over the whole floor.

    Parameters
    ----------
    locations : pandas.DataFrame
        Columns ``x, y, value, room``.
    """
    rooms = [group for _, group in locations.groupby("room", sort=False)]
    remarks = [remark for group in rooms for remark in _remarks_on_part(group)]
    return remarks or (_remarks_on_part(locations) if len(rooms) > 1 else [])


def _remarks_on_part(locations: pd.DataFrame) -> list[Remark]:
    remarks: list[Remark] = []
    for axis in ("y", "x"):
        lattice = find_lattice(locations, axis)
        if lattice is None:
            continue
        if _every_second_turned(lattice):
            remarks.append(
                Remark(
                    "problem",
                    f"Every second row of constant {axis} seems to be entered the wrong "
                    "way round: neighbours only agree when it is turned. Was the floor walked to "
                    "and fro and written down one way?",
                    f"rows of constant {axis}",
                )
            )
        else:
            remarks += _single_rows(lattice)
    return remarks


def find_lattice(locations: pd.DataFrame, axis: str) -> Lattice | None:
    """Lay locations on rows of constant ``axis``; None when they stand on no grid."""
    other = "x" if axis == "y" else "y"
    if len(locations) < FEWEST_ROWS * SHORTEST_ROW:
        return None
    across, row = np.unique(np.round(locations[axis].to_numpy(dtype=float), 2), return_inverse=True)
    along, column = np.unique(
        np.round(locations[other].to_numpy(dtype=float), 2), return_inverse=True
    )
    if across.size < FEWEST_ROWS or along.size < SHORTEST_ROW:
        return None
    if across.size * along.size > 5 * len(locations):
        return None
    values = np.full((across.size, along.size), np.nan)
    ranks = locations["value"].rank().to_numpy(dtype=float)
    values[row, column] = ndtri((ranks - 0.375) / (len(locations) + 0.25))
    return Lattice(along, across, values, axis)


def _turned(row: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the row with what was read in the opposite order, blanks staying where they are."""
    read = np.isfinite(row)
    turned = row.copy()
    turned[read] = row[read][::-1]
    return turned


def _shifted(row: NDArray[np.float64], by: int) -> NDArray[np.float64]:
    """Return the row with every value moved along by some columns."""
    moved = np.full_like(row, np.nan)
    if by > 0:
        moved[by:] = row[:-by]
    else:
        moved[:by] = row[-by:]
    return moved


def _every_second_turned(lattice: Lattice) -> bool:
    odd = [_sign_changing(row) for row in lattice.values]
    next_to, pairs = _agreement(odd, 1)
    two_apart, _ = _agreement(odd, 2)
    needed = max(EACH_WAY, 3.0 / np.sqrt(max(pairs, 1)))
    return pairs >= 12 and next_to < -needed and two_apart > needed


def _sign_changing(row: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return half the row minus half the turned row: the part that changes sign when turned."""
    return (row - _turned(row)) / 2


def _agreement(rows: list[NDArray[np.float64]], apart: int) -> tuple[float, int]:
    """Return the pooled correlation of rows some rows apart, and how many pairs of values it has.

    Half of the values only, as the other half mirrors them.
    """
    product = one = other = 0.0
    count = 0
    for a, b in zip(rows[:-apart], rows[apart:], strict=True):
        both = np.isfinite(a) & np.isfinite(b)
        if both.sum() < SHORTEST_ROW:
            continue
        half = np.flatnonzero(both)[: both.sum() // 2]
        product += float(a[half] @ b[half])
        one += float(a[half] @ a[half])
        other += float(b[half] @ b[half])
        count += half.size
    return (product / np.sqrt(one * other) if one * other > 0 else 0.0), count


def _single_rows(lattice: Lattice) -> list[Remark]:
    noise = _noise(lattice.values)
    remarks = []
    for k in range(len(lattice.across)):
        row = lattice.values[k]
        sides = [lattice.values[j] for j in (k - 1, k + 1) if 0 <= j < len(lattice.across)]
        choices = {"the wrong way round": _turned(row)}
        if len(sides) == 2:
            choices["one place too low along the row"] = _shifted(row, 1)
            choices["one place too high along the row"] = _shifted(row, -1)
        sure = [what for what, other in choices.items() if _score(row, other, sides, noise) > SURE]
        if sure:
            what = min(sure, key=lambda name: _misfit(choices[name], sides))
            where = f"{lattice.axis} = {lattice.across[k]:g} m"
            remarks.append(
                Remark(
                    "warning",
                    f"The row at {where} seems to be entered {what}: so "
                    "changed it fits the rows beside it far better.",
                    where,
                )
            )
    return remarks if len(remarks) <= max(3, len(lattice.across) // 4) else []


def _misfit(row: NDArray[np.float64], sides: list[NDArray[np.float64]]) -> float:
    return float(np.nanmean([(row - side) ** 2 for side in sides]))


def _noise(values: NDArray[np.float64]) -> float:
    """Return the sd of one value about the next row, robustly: sd of differences / sqrt 2."""
    steps = np.diff(values, axis=0)
    steps = steps[np.isfinite(steps)]
    if not steps.size:
        return 1.0
    return float(max(1.4826 * np.median(np.abs(steps)) / np.sqrt(2), 0.05))


def _score(
    row: NDArray[np.float64],
    other: NDArray[np.float64],
    sides: list[NDArray[np.float64]],
    noise: float,
) -> float:
    """Return the evidence for the changed row over the row as it stands, in standard deviations.

    With the sums of squared differences to a neighbour S0 as it stands and S1 changed, and d the
    difference between the two rows, S0 - S1 is -2 d . neighbour but for the ends of the row. Noise
    of the neighbour alone gives it the sd 2 s |d|; where the row is right and the floor has any
    shape its mean is below 0.
    """
    scores = []
    for side in sides:
        both = np.isfinite(row) & np.isfinite(other) & np.isfinite(side)
        if both.sum() < SHORTEST_ROW - 1:
            return 0.0
        change = row[both] - other[both]
        length = float(np.sqrt(change @ change))
        if length == 0.0:
            return 0.0
        before = float(np.sum((row[both] - side[both]) ** 2))
        after = float(np.sum((other[both] - side[both]) ** 2))
        scores.append((before - after) / (2 * noise * length))
    if min(scores) < SIDE:
        return 0.0
    return float(sum(scores) / np.sqrt(len(scores)))
