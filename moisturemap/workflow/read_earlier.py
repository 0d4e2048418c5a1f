"""Read what earlier floors told, from the ``covariances.csv`` of a run over many floors."""

from __future__ import annotations

import csv
from pathlib import Path

from moisturemap.errors import NotEnoughData, OptionError, SurveyError
from moisturemap.floorplan import domains
from moisturemap.geostat import FloorPattern
from moisturemap.mapping import EarlierFloor, SameInstrument
from moisturemap.survey import Survey, clean_readings

NUMBERS = (
    "scale_low",
    "scale_high",
    "readings",
    "practical_range_m",
    "range_log_sd",
    "noise_sd",
    "noise_log_sd",
    "chance_of_direction",
    "borrowed_floors",
)
COLUMNS = ("floor", "readings_key", "instrument_model", *NUMBERS)


def read_earlier_floors(path: Path) -> tuple[EarlierFloor, ...]:
    """Read the floors of a ``covariances.csv``.

    Parameters
    ----------
    path : Path

    Raises
    ------
    SurveyError
        When there is no such file, or a column or number is missing; names the row.
    """
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.DictReader(file))
    except (OSError, UnicodeDecodeError) as unread:
        message = "what earlier floors told cannot be read"
        allowed = "covariances.csv of a run over many floors"
        raise SurveyError(message, source=str(path), allowed=allowed) from unread
    missing = [one for one in COLUMNS if rows and one not in rows[0]]
    if missing:
        message = "a table of earlier floors lacks a column"
        raise SurveyError(
            message, source=path.name, place="row 1", value=missing[0], allowed=", ".join(COLUMNS)
        )
    return tuple(_floor(row, path.name, number) for number, row in enumerate(rows, start=2))


def same_instrument(
    floors: tuple[EarlierFloor, ...],
    survey: Survey,
    *,
    visit: str | None = None,
    instrument: str | None = None,
) -> SameInstrument | None:
    """Return what floors read with the instrument of a visit tell; None where there are none.

    The floor itself, floors of fewer than 100 readings, and floors that borrowed themselves are
    left out.

    Parameters
    ----------
    floors : tuple of EarlierFloor
    survey : Survey
    visit : str, optional
        Id of the visit; the latest by default.
    instrument : str, optional
        Id of the instrument; the one read most by default.
    """
    chosen = survey.scanned_visit(visit)
    clean = clean_readings(survey, chosen.id, instrument=instrument, domains=domains(survey.plan))
    return SameInstrument.among(floors, clean)


def require_same_instrument(path: Path, survey: Survey, **which: str | None) -> SameInstrument:
    """Return what the floors of a file tell, or refuse where none can be borrowed from.

    Parameters
    ----------
    path : Path
        The ``covariances.csv`` of a run over many floors.
    survey : Survey
    **which
        ``visit`` and ``instrument``, as of :func:`same_instrument`.

    Raises
    ------
    SurveyError
        When the file cannot be understood.
    NotEnoughData
        When no floor in it was read with this instrument model on this scale.
    """
    found = same_instrument(read_earlier_floors(path), survey, **which)
    if found is None:
        message = (
            f"{path.name}: no other floor of 100 readings or more was read with this instrument; "
            "floors are borrowed from only where model and scale of [[instruments]] are stated and "
            "the same. Map without --earlier"
        )
        raise NotEnoughData(message)
    return found


def _floor(row: dict[str, str | None], source: str, number: int) -> EarlierFloor:
    values = {name: _number(row[name], name, source, number) for name in NUMBERS}
    low, high, readings, borrowed = (
        values.pop(name) for name in ("scale_low", "scale_high", "readings", "borrowed_floors")
    )
    scale = None if low is None or high is None else (low, high)
    lacking = [name for name, value in values.items() if value is None]
    if lacking or readings is None:
        message = "a number is missing"
        place = f"row {number}, {(*lacking, 'readings')[0]}"
        raise SurveyError(message, source=source, place=place, allowed="a number")
    try:
        pattern = FloorPattern(**{name: float(value or 0.0) for name, value in values.items()})
        return EarlierFloor(
            row["floor"] or "",
            row["readings_key"] or "",
            row["instrument_model"] or "",
            scale,
            int(readings),
            pattern,
            int(borrowed or 0),
            _number(row.get("footprint_m"), "footprint_m", source, number),
        )
    except OptionError as refusal:
        raise SurveyError(str(refusal), source=source, place=f"row {number}") from refusal


def _number(text: str | None, name: str, source: str, number: int) -> float | None:
    if not (text or "").strip():
        return None
    try:
        return float(str(text))
    except ValueError as refusal:
        message = "this is no number"
        raise SurveyError(
            message,
            source=source,
            place=f"row {number}, {name}",
            value=text,
            allowed="a number with a point",
        ) from refusal
