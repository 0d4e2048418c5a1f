"""Drying machines from a table."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from moisturemap.files.record_table import Column, RecordOptions, RecordTable
from moisturemap.files.table import read_table, texts
from moisturemap.survey import EQUIPMENT_COLUMNS

MACHINE_KINDS = {
    "dehumidifier": (
        "dehu",
        "dh",
        "dryer",
        "refrigerant dehumidifier",
        "desiccant",
        "desiccant dehumidifier",
        "desiccant dryer",
        "refrigerant dryer",
        "adsorptionstrockner",
        "trockner",
        "kondenstrockner",
        "luftentfeuchter",
        "entfeuchter",
        "deshumidificateur",
        "assecheur",
    ),
    "air-mover": (
        "fan",
        "blower",
        "airmover",
        "axial fan",
        "ventilator",
        "geblaese",
        "luefter",
        "ventilateur",
        "turbine",
    ),
}
"""Kinds of machine, and other words for them."""

TYPE_WORDS = ("refrigerant", "desiccant", "kondens", "adsorption")
"""What of the word for a kind tells how a dehumidifier dries: it is kept in the note."""

MACHINE_HEADINGS: dict[str, tuple[str, ...]] = {
    "machine": ("id", "name", "no", "nr", "unitno", "equipment", "geraet", "maschine", "appareil"),
    "kind": ("type", "art", "typ", "sorte", "genre"),
    "x": ("xcoord", "easting", "posx"),
    "y": ("ycoord", "northing", "posy"),
    "direction_deg": ("direction", "bearing", "angle", "richtung", "winkel"),
    "capacity": ("output", "rating", "leistung", "capacite", "puissance"),
    "unit": ("capacityunit", "einheit", "unite"),
    "note": ("notes", "comment", "remark", "bemerkung", "remarque"),
}

_COLUMNS = {
    "machine": Column("text"),
    "kind": Column("text"),
    "x": Column("number"),
    "y": Column("number"),
    "direction_deg": Column("number", -360, 360),
    "capacity": Column("number", 0),
    "unit": Column("text"),
    "note": Column("text"),
}


def read_equipment(
    path: Path | str, options: RecordOptions | None = None
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Read drying machines from CSV or XLSX.

    Parameters
    ----------
    path : Path or str
    options : RecordOptions, optional

    Returns
    -------
    equipment : pandas.DataFrame
        ``EQUIPMENT_COLUMNS`` but ``visit``, then columns that are not known, as text; ``x`` and
        ``y`` in metres; direction counter-clockwise from the x axis [degrees], NaN when not stated.
    notes : tuple of str

    Raises
    ------
    InputError
        Naming file, row, value and what is allowed.
    """
    options = options or RecordOptions()
    table = read_table(Path(path), options.sheet, options.name)
    records = RecordTable.find(table, _COLUMNS, MACHINE_HEADINGS, ("kind", "x", "y"), options)
    frame, notes = records.frame()
    frame = records.positions(frame, needed=True)
    frame["kind"] = records.keys("kind", MACHINE_KINDS, "kind of machine")
    frame["machine"] = _names(records)
    typed = _typed(records)
    for name in EQUIPMENT_COLUMNS:
        if name != "visit" and name not in frame:
            frame[name] = np.nan if _COLUMNS[name].kind == "number" else ""
    frame["note"] = [
        f"{kind}; {note}" if kind and note else kind or note
        for kind, note in zip(typed, texts(frame["note"].tolist()), strict=True)
    ]
    first = [name for name in EQUIPMENT_COLUMNS if name in frame]
    frame = frame[[*first, *[name for name in frame if name not in first]]]
    return frame.reset_index(drop=True), notes


def _typed(records: RecordTable) -> list[str]:
    """Return the words for a kind that tell how a dehumidifier dries, "" for others."""
    said = texts(records.cells("kind"))
    return [text if any(one in text.casefold() for one in TYPE_WORDS) else "" for text in said]


def _names(records: RecordTable) -> list[str]:
    """Return the names of the machines, M1, M2, ... where none is written; each stands once."""
    names: list[str] = []
    for k, text in enumerate(texts(records.cells("machine"))):
        name = text or f"M{k + 1}"
        if name in names:
            column = "machine" if "machine" in records.header.columns else "kind"
            raise records.refuse("two machines have one name", column, k, "each name once a visit")
        names.append(name)
    return names
