"""What a survey was before it was changed, as far as a verdict has to know, from the record."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from moisturemap.store import frames, rows, survey_rows
from moisturemap.store.changed_readings import as_rows, former_readings, former_sentences
from moisturemap.store.changed_since import changed_since_issue
from moisturemap.store.changed_tests import changed_limits, former_tests, names_of_holes
from moisturemap.store.schema import LAYERS


def former(
    connection: sqlite3.Connection, state: Mapping[str, Sequence[rows.Row]], at: int | None
) -> dict[str, Any]:
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
    readings, tests = former_readings(connection, at), former_tests(connection, at)
    lowered = former_sentences(readings)
    return {
        "notes": (*settings.get("notes", ()), *lowered),
        "changed_tests": (
            *(sentence for _, sentence, _ in tests),
            *changed_limits(connection, at),
            *changed_since_issue(connection, at),
            *lowered,
        ),
        "hole_names": names_of_holes(connection),
        "former_readings": _table("readings", as_rows(readings), settings),
        "former_tests": _tests(tests, settings),
    }


def _table(layer: str, found: Sequence[rows.Row], settings: Mapping[str, Any]) -> pd.DataFrame:
    columns = survey_rows.columns_of(settings, layer)
    return frames.from_rows(found, LAYERS[layer], columns) if found else pd.DataFrame()


def _tests(
    found: Sequence[tuple[dict[str, Any], str, str]], settings: Mapping[str, Any]
) -> pd.DataFrame:
    names = LAYERS["tests"].names
    table = _table("tests", [[row.get(name) for name in names] for row, *_ in found], settings)
    if table.empty:
        return table
    return table.assign(told=[one for _, one, _ in found], altered_why=[one for *_, one in found])
