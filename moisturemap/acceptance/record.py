"""A calibrated test as it was written down, with the floor and the instrument it belongs to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

import pandas as pd

from moisturemap.floorplan import Room, Slab
from moisturemap.survey import TEST_METHODS, Instrument, Survey, TestMethod


@dataclass(frozen=True)
class TestEntry:
    """One row of the table of tests.

    Attributes
    ----------
    key : str
        Number of the test in the survey, as text.
    hole : str
        Name on site.
    method : TestMethod
    fields : dict
        What the record states; what it leaves open is absent.
    room : Room or None
        Where it stands; None off the plan.
    instrument : Instrument or None
        None when not named or not listed.
    """

    key: str
    hole: str
    method: TestMethod
    fields: dict[str, Any]
    room: Room | None
    instrument: Instrument | None

    def number(self, name: str) -> float | None:
        """Return a number of the record, or None."""
        value = self.fields.get(name)
        return None if value is None or isinstance(value, str) else float(value)

    def moment(self, name: str) -> datetime | None:
        """Return a time of the record, or None."""
        value = self.fields.get(name)
        return value.to_pydatetime() if isinstance(value, pd.Timestamp) else value

    def text(self, name: str) -> str:
        """Return a text of the record, "" when it is not there."""
        return str(self.fields.get(name, ""))

    def flag(self, name: str) -> bool | None:
        """Return a yes or no of the record, or None."""
        value = self.fields.get(name)
        return None if value is None or isinstance(value, str) else bool(value)

    @property
    def place(self) -> tuple[float, float] | None:
        """Position in the plan [m], or None."""
        x, y = self.number("x"), self.number("y")
        return None if x is None or y is None else (x, y)

    @property
    def slab(self) -> Slab:
        """What the floor is made of there; nothing known off the plan."""
        return self.room.slab if self.room else Slab(base="")

    @property
    def thickness_mm(self) -> float | None:
        """Thickness at the hole, else of the room's slab [mm]."""
        return self.number("thickness_mm") or self.slab.thickness_mm

    @property
    def label(self) -> str:
        """Name for sentences."""
        depth = self.number("depth_mm")
        at = f" at {depth:g} mm" if depth is not None else ""
        return f"{self.hole or 'test ' + self.key}{at}"


def entries_of(survey: Survey) -> tuple[TestEntry, ...]:
    """Return every test of a survey."""
    return tuple(_entry(row, survey) for row in survey.tests.to_dict("records"))


def _entry(row: dict[Any, Any], survey: Survey) -> TestEntry:
    stated = {str(name): value for name, value in row.items() if not _blank(value)}
    room = _room(stated, survey)
    method = method_named(str(stated.get("method", "")))
    instrument = survey.instruments.get(str(stated.get("instrument", "")))
    hole = str(stated.get("hole", ""))
    return TestEntry(str(stated.get("test", "")), hole, method, stated, room, instrument)


def _blank(value: Any) -> bool:
    return value is None or value == "" or (not isinstance(value, str) and pd.isna(value))


def _room(stated: dict[str, Any], survey: Survey) -> Room | None:
    if "x" in stated and "y" in stated:
        found = survey.plan.room_at(float(stated["x"]), float(stated["y"]))
        if found is not None:
            return found
    named = {room.name: room for room in survey.plan.rooms}
    return named.get(str(stated.get("room", "")))


def method_named(name: str) -> TestMethod:
    """Return a method by its key, or by the key of its quantity.

    Raises
    ------
    KeyError
        When there is no such method.
    """
    if name in TEST_METHODS:
        return TEST_METHODS[name]
    return {method.quantity.key: method for method in TEST_METHODS.values()}[name]
