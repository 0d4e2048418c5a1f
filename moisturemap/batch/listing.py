"""Which surveys a run goes over: those below a folder, or the rows of a list."""

from __future__ import annotations

import csv
import io
import os
from dataclasses import dataclass
from pathlib import Path

from moisturemap.errors import NotEnoughData, SurveyError
from moisturemap.files.delimited import decode
from moisturemap.store.backup import BACKUPS_SUFFIX

LIST_COLUMNS = ("survey", "floor", "visit")
"""Columns of a list: the path, relative to the list; a name of one's own; the visit to use."""


@dataclass(frozen=True, slots=True)
class FloorSource:
    """One floor to be done.

    Attributes
    ----------
    floor : str
        Name of the floor, its own within the run.
    path : Path
        Survey folder or project file.
    visit : str or None
        Visit to use; None takes the latest.
    """

    floor: str
    path: Path
    visit: str | None = None


def find_surveys(source: Path, *, without: Path | None = None) -> tuple[FloorSource, ...]:
    """Return the surveys of a folder (at any depth) or of a list, in order of their names.

    Parameters
    ----------
    source : Path
        A folder that holds survey folders and project files (.gpkg), or a .csv list with the
        columns of ``LIST_COLUMNS`` of which only ``survey`` is needed.
    without : Path, optional
        Folder that is not looked into (where results are written).

    Raises
    ------
    SurveyError
        When the list cannot be understood; names its row.
    NotEnoughData
        When there is no survey.
    """
    if not source.exists():
        message = "there is no such folder or list"
        raise SurveyError(message, source=str(source), allowed="a folder of surveys or a .csv list")
    found = _listed(source) if source.is_file() else _below(source, without)
    if not found:
        message = f"{source}: no survey.toml and no project file (.gpkg) was found"
        if source.is_file():
            message = f"{source}: the list names no floor below its heading"
        raise NotEnoughData(message)
    return tuple(sorted(found, key=lambda one: one.floor))


def _below(folder: Path, without: Path | None) -> list[FloorSource]:
    left_out = None if without is None else without.resolve()
    found = []
    for place, inner, names in os.walk(folder):
        here = Path(place)
        if left_out is not None and here.resolve() == left_out:
            inner.clear()
            continue
        # copies the program made itself are earlier states of a floor, not floors
        inner[:] = sorted(
            one for one in inner if not (one.startswith(".") or one.endswith(BACKUPS_SUFFIX))
        )
        if "survey.toml" in names:
            found.append(FloorSource(_name(here, folder), here))
            inner.clear()
            continue
        packed = sorted(one for one in names if one.lower().endswith(".gpkg"))
        found += [FloorSource(_name(here / one, folder), here / one) for one in packed]
    return found


def _name(path: Path, folder: Path) -> str:
    inside = path.relative_to(folder)
    return inside.as_posix() if inside.parts else path.resolve().name


def _listed(path: Path) -> list[FloorSource]:
    text, _ = decode(path.read_bytes(), path.name)
    delimiter = ";" if text[:4096].count(";") > text[:4096].count(",") else ","
    table = csv.DictReader(
        io.StringIO(text.removeprefix("\ufeff"), newline=""), delimiter=delimiter
    )
    rows, columns = list(table), list(table.fieldnames or [])
    if "survey" not in columns:
        message = "a list of floors needs a column survey"
        raise SurveyError(
            message,
            source=path.name,
            place="row 1",
            value=", ".join(map(str, columns)) or "nothing",
            allowed=", ".join(LIST_COLUMNS),
        )
    found: list[FloorSource] = []
    for number, row in enumerate(rows, start=2):
        text = (row.get("survey") or "").strip()
        if not text:
            message = "a row names no survey"
            raise SurveyError(message, source=path.name, place=f"row {number}", allowed="a path")
        name = (row.get("floor") or "").strip() or text
        if any(one.floor == name for one in found):
            message = "two rows have the same floor"
            raise SurveyError(
                message,
                source=path.name,
                place=f"row {number}",
                value=name,
                allowed="a name of its own for each floor, in the column floor",
            )
        found.append(
            FloorSource(name, path.parent / text, (row.get("visit") or "").strip() or None)
        )
    return found
