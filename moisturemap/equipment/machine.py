"""Drying machines as they stand.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import pandas as pd

from moisturemap.floorplan import FloorPlan

KINDS = ("dehumidifier", "air-mover")


@dataclass(frozen=True, slots=True)
class Machine:
    """A dehumidifier or an air mover.

    Attributes
    ----------
    name, kind : str
        Kind is one of ``KINDS``.
    x, y : float
        Where it stands [m].
    direction_deg : float or None
        Where an air mover blows, counter-clockwise from the x axis [degrees].
    capacity : float or None
    unit : str
        Of the capacity, e.g. ``"l/day"``.
    current_a : float or None
        Drawn while it runs [A].
    note : str
        What is written of it; may tell how a dehumidifier dries.
    """

    name: str
    kind: str
    x: float
    y: float
    direction_deg: float | None = None
    capacity: float | None = None
    unit: str = ""
    current_a: float | None = None
    note: str = ""


def machines_of(table: pd.DataFrame) -> tuple[Machine, ...]:
    """Return the machines of one visit; rows as in ``EQUIPMENT_COLUMNS``.

    Parameters
    ----------
    table : DataFrame

    Returns
    -------
    tuple of Machine
    """
    return tuple(
        Machine(
            str(row["machine"]),
            str(row["kind"]),
            float(row["x"]),
            float(row["y"]),
            _number(row["direction_deg"]),
            _number(row["capacity"]),
            row["unit"] if isinstance(row["unit"], str) else "",
            note=row["note"] if isinstance(row.get("note"), str) else "",
        )
        for row in table.to_dict("records")
    )


def _number(value: object) -> float | None:
    number = float(value) if isinstance(value, (int, float)) else math.nan
    return None if math.isnan(number) else number


def machine_notes(machines: tuple[Machine, ...], plan: FloorPlan) -> tuple[str, ...]:
    """Say which machines stand off the plan, where they serve nothing, or blow nowhere known."""
    notes = []
    for one in machines:
        if plan.room_at(one.x, one.y) is None:
            notes.append(
                f"{one.name} stands at ({one.x:g}, {one.y:g}), outside every room of the "
                "plan: as it stands it is taken to serve nothing."
            )
        elif one.kind == "air-mover" and one.direction_deg is None:
            notes.append(
                f"{one.name} has no direction: today it is taken to blow the best way "
                "from where it stands."
            )
    return tuple(notes)
