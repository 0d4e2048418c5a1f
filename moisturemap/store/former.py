"""What a survey was before it was changed, as far as a verdict has to know, from the record."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from moisturemap.errors import StoreError
from moisturemap.store import frames, record, rows, survey_rows
from moisturemap.store.changed_readings import as_rows, former_readings, former_sentences
from moisturemap.store.changed_since import changed_since_issue
from moisturemap.store.changed_tests import changed_limits, former_tests, names_of_holes
from moisturemap.store.schema import LAYERS

BEFORE_FILE = "changed-before.json"
"""What was changed in a project file, beside the survey folder it was unpacked into."""

BEFORE = "before"
"""Key of the settings that keeps it where such a folder is packed again."""

MISSING = (
    "changed-before.json tells what was changed before the folder was unpacked, and it is missing:"
    " what spoke against the floor may be lost, so nothing clears it. Put the file back, or unpack"
    " the project file again"
)
ALTERED = (
    "changed-before.json tells what was changed before the folder was unpacked, and it is not as it"
    " was written: what spoke against the floor may be lost, so nothing clears it. Unpack the"
    " project file again"
)

Named = dict[str, Any]


def former(
    connection: sqlite3.Connection, state: Mapping[str, Sequence[rows.Row]], at: int | None
) -> Named:
    """Return the fields of a survey that only the record of its project file tells.

    Parameters
    ----------
    connection : sqlite3.Connection
    state : mapping of str to rows
        The layers as they are.
    at : int or None
        Last entry of the record that counts.
    """
    settings = survey_rows.settings_of(state["settings"])
    told = changed_before(connection, settings, at)
    names = {str(one["row"]["hole"]) for one in told["tests"] if one["row"].get("hole")}
    return {
        **_fields(told, settings),
        "notes": _with(tuple(settings.get("notes", ())), told["lowered"]),
        "hole_names": names_of_holes(connection) | names,
    }


def _with(notes: tuple[str, ...], more: Sequence[str]) -> tuple[str, ...]:
    return (*notes, *(one for one in dict.fromkeys(more) if one not in notes))


def changed_before(
    connection: sqlite3.Connection, settings: Mapping[str, Any], at: int | None = None
) -> Named:
    """Return what was changed and may speak against a floor, as plain types for JSON.

    Parameters
    ----------
    connection : sqlite3.Connection
    settings : mapping
        Of the project, with what was changed before it was packed.
    at : int, optional
        Last entry of the record that counts.

    Returns
    -------
    dict
        ``told``, sentences; ``lowered``, those on readings among them; ``tests``, rows as first
        stored with ``told`` and ``why``; ``readings``, rows; ``lost``, what of an earlier one was
        missing, where some was.
    """
    earlier = settings.get(BEFORE) or {}
    readings, tests = former_readings(connection, at), former_tests(connection, at)
    lowered = former_sentences(readings)
    told = (
        *(sentence for _, sentence, _ in tests),
        *changed_limits(connection, at),
        *changed_since_issue(connection, at),
        *lowered,
    )
    names = LAYERS["readings"].names
    stood = [dict(zip(names, row, strict=True)) for row in as_rows(readings)]
    return {
        **({"lost": earlier["lost"]} if earlier.get("lost") else {}),
        "told": [*earlier.get("told", ()), *told],
        "lowered": [*earlier.get("lowered", ()), *lowered],
        "tests": [
            *earlier.get("tests", ()),
            *({"row": dict(row), "told": one, "why": why} for row, one, why in tests),
        ],
        "readings": [*earlier.get("readings", ()), *stood],
    }


def fingerprint_of(told: Named) -> str:
    """Return the fingerprint of what was changed, however the file that tells it is laid out."""
    return hashlib.sha256(record.canonical(told).encode()).hexdigest()


def with_lost(told: Named, lost: str) -> Named:
    """Return what was changed, with the sentence on what of it is missing."""
    if not lost:
        return told
    nothing: Named = {"told": [], "lowered": [], "tests": [], "readings": []}
    known = told or nothing
    return {**known, "told": [*dict.fromkeys((*known["told"], lost))], "lost": lost}


def with_kept(told: Named, kept: Sequence[Named], why: str) -> Named:
    """Return what was changed, with rows of a copy of the job that stand in no layer.

    Parameters
    ----------
    told : dict
        As :func:`changed_before` returns it, or {}.
    kept : sequence of dict
        ``layer``, ``row`` by column and the sentence ``told`` of each.
    why : str
        Reason given of tests.
    """
    nothing: Named = {"told": [], "lowered": [], "tests": [], "readings": []}
    found = {**nothing, **told}
    found["told"] = [*dict.fromkeys((*found["told"], *(one["told"] for one in kept)))]
    for one in kept:
        row = {"row": dict(one["row"]), "told": one["told"], "why": why}
        if one["layer"] == "tests" and row not in found["tests"]:
            found["tests"] = [*found["tests"], row]
        if one["layer"] == "readings" and one["row"] not in found["readings"]:
            found["readings"] = [*found["readings"], dict(one["row"])]
    return found


def read_before(folder: Path, expected: str = "") -> Named:
    """Return what was changed in the project file a folder was unpacked from; {} of other folders.

    Parameters
    ----------
    folder : Path
    expected : str
        Fingerprint that ``survey.toml`` states of it; "" of folders that were not unpacked.

    Raises
    ------
    StoreError
        When the file that tells it cannot be read.
    """
    path = folder / BEFORE_FILE
    if not path.is_file():
        return with_lost({}, MISSING if expected else "")
    try:
        found: Named = json.loads(path.read_text(encoding="utf-8"))
        _fields(found, {})
    except (OSError, ValueError, LookupError, TypeError, AttributeError) as error:
        message = (
            f"{path}: what was changed before the folder was unpacked cannot be read ({error}). "
            "Unpack the project file again"
        )
        raise StoreError(message) from error
    return with_lost(found, ALTERED if expected not in ("", fingerprint_of(found)) else "")


def former_of_folder(folder: Path, expected: str = "") -> Named:
    """Return the fields of a survey that the project file its folder came from told.

    Parameters
    ----------
    folder : Path
    expected : str
        Fingerprint that ``survey.toml`` states of what it told.

    Raises
    ------
    StoreError
        When the file that tells it cannot be read.
    """
    found = read_before(folder, expected)
    return {**_fields(found, {}), "notes": tuple(found["lowered"])} if found else {}


def _fields(told: Named, settings: Mapping[str, Any]) -> Named:
    return {
        "lost_record": told.get("lost", ""),
        "changed_tests": tuple(told["told"]),
        "former_readings": _table("readings", told["readings"], settings),
        "former_tests": _tests(told["tests"], settings),
    }


def _table(layer: str, found: Sequence[Named], settings: Mapping[str, Any]) -> pd.DataFrame:
    if not found:
        return pd.DataFrame()
    kind, columns = LAYERS[layer], survey_rows.columns_of(settings, layer)
    return frames.from_rows(
        [[row.get(name) for name in kind.names] for row in found], kind, columns
    )


def _tests(found: Sequence[Named], settings: Mapping[str, Any]) -> pd.DataFrame:
    table = _table("tests", [one["row"] for one in found], settings)
    if table.empty:
        return table
    told, why = [one["told"] for one in found], [one["why"] for one in found]
    return table.assign(told=told, altered_why=why)
