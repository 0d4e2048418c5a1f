"""A calibrated test as it was written down, with the floor and the instrument it belongs to."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np
import pandas as pd
from shapely.geometry import Point

from moisturemap.acceptance.air_log import air_log
from moisturemap.errors import InputError
from moisturemap.floorplan import Room, Slab
from moisturemap.survey import (
    TEST_FIELDS,
    TEST_METHODS,
    AmbientReading,
    Instrument,
    Limit,
    Survey,
    TestField,
    TestMethod,
)

RH_METHODS = ("in-situ-rh", "sleeve-rh", "hood-rh")
"""Methods whose results and limits are relative humidities."""

BESIDE_ROOM_M = 0.3
"""A test this near to the room it names stands in it: in a doorway as deep as a wall, or by the
slip of a tape (our choice) [m]."""

OF_THE_TABLE = ("test", "visit", "source", "row", "censored", "geometry")
"""Columns of a test that are no facts of it."""

YES, NO = ("yes", "y", "true", "1"), ("no", "n", "false", "0")
"""A yes and a no as text."""


@dataclass(frozen=True, slots=True)
class ServiceAir:
    """The air of a room in normal use; None where it is not stated [C] and [%RH]."""

    temperature_c: float | None = None
    rh_pct: float | None = None


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
        What the record states, of the right type; what it leaves open is absent.
    room : Room or None
        Where it stands; None off the plan.
    instrument : Instrument or None
        None when not named or not listed.
    service : ServiceAir
    log : tuple of AmbientReading
        Of the air of its room up to the reading, in order of time.
    limit_rh : float or None
        Limit of its room where that is a relative humidity [%RH].
    """

    key: str
    hole: str
    method: TestMethod
    fields: dict[str, Any]
    room: Room | None
    instrument: Instrument | None
    service: ServiceAir = ServiceAir()
    log: tuple[AmbientReading, ...] = ()
    limit_rh: float | None = None

    def number(self, name: str) -> float | None:
        """Return a number of the record, or None."""
        value = self.fields.get(name)
        return None if value is None else float(value)

    def moment(self, name: str) -> datetime | None:
        """Return a time of the record, or None."""
        return self.fields.get(name)

    def latest(self, name: str) -> datetime | None:
        """Return the latest a time of the record can mean: the end of a day without a time."""
        stated = self.moment(name)
        if stated is None or name not in self.text("day_only").split():
            return stated
        return stated + timedelta(days=1)

    def text(self, name: str) -> str:
        """Return a text of the record, "" when it is not there."""
        return str(self.fields.get(name, ""))

    @property
    def beyond(self) -> dict[str, str]:
        """What columns that are not known hold, by heading, as text."""
        return {
            name: str(value).strip()
            for name, value in self.fields.items()
            if name not in TEST_FIELDS and name not in OF_THE_TABLE
        }

    def flag(self, name: str) -> bool | None:
        """Return a yes or no of the record, or None."""
        return self.fields.get(name)

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
    def concrete_c(self) -> float | None:
        """Temperature of the concrete: in the hole, else of its surface [C]."""
        hole = self.number("temperature_c")
        return hole if hole is not None else self.number("slab_temperature_c")

    @property
    def label(self) -> str:
        """Name for sentences."""
        depth = self.number("depth_mm")
        at = f" at {depth:g} mm" if depth is not None else ""
        return f"{self.hole or 'test ' + self.key}{at}"


def entries_of(survey: Survey) -> tuple[TestEntry, ...]:
    """Return every test of a survey.

    Parameters
    ----------
    survey : Survey

    Raises
    ------
    InputError
        When a field is not what it must be; names test, field, value and what is allowed.
    """
    names = list(survey.tests.columns)
    rows = zip(*(survey.tests[name].tolist() for name in names), strict=True)
    return tuple(_entry(dict(zip(names, row, strict=True)), survey) for row in rows)


def _entry(row: Mapping[Any, Any], survey: Survey) -> TestEntry:
    stated = {str(name): value for name, value in row.items() if not _blank(value)}
    key = str(stated.get("test", ""))
    fields = {
        name: _typed(value, TEST_FIELDS[name], key) if name in TEST_FIELDS else value
        for name, value in stated.items()
    }
    room = _room(fields, survey)
    method = method_named(str(fields.get("method", "")))
    instrument = survey.instruments.get(str(fields.get("instrument", "")))
    limit = survey.room_limits.get(room.name, survey.limit) if room else survey.limit
    return TestEntry(
        key,
        str(fields.get("hole", "")),
        method,
        fields,
        room,
        instrument,
        _service(room, str(fields.get("visit", "")), survey),
        air_log(room, fields.get("read"), survey),
        _limit_rh(limit),
    )


def _limit_rh(limit: Limit | None) -> float | None:
    if limit is None or method_named(limit.method).key not in RH_METHODS:
        return None
    return limit.value


def _service(room: Room | None, visit: str, survey: Survey) -> ServiceAir:
    slab = room.slab if room else Slab()
    own = [one for one in survey.visits if one.id == visit]
    temperature, humidity = slab.service_temperature_c, slab.service_rh_pct
    if own and temperature is None:
        temperature = own[0].service_temperature_c
    if own and humidity is None:
        humidity = own[0].service_rh_pct
    return ServiceAir(temperature, humidity)


def _blank(value: Any) -> bool:
    if value is None or isinstance(value, str):
        return value is None or value == ""
    return bool(pd.api.types.is_scalar(value) and pd.isna(value))


def _typed(value: Any, field: TestField, key: str) -> Any:
    """Return a field as what it must be, or refuse it."""
    if field.kind == "number":
        return _number(value, field, key)
    if field.kind == "time":
        return _moment(value, field, key)
    if field.kind == "flag":
        return _flag(value, field, key)
    return str(value)


def _refused(value: Any, field: TestField, key: str, allowed: str) -> InputError:
    message = f"{field.name} cannot be this"
    return InputError(message, place=f"test {key or '?'}", value=value, allowed=allowed)


def _number(value: Any, field: TestField, key: str) -> float:
    low = -math.inf if field.low is None else field.low
    high = math.inf if field.high is None else field.high
    allowed = f"a number from {low:g} to {high:g} {field.unit}".replace("from -inf to inf ", "")
    try:
        number = float(value.replace(",", ".") if isinstance(value, str) else value)
    except (TypeError, ValueError) as wrong:
        raise _refused(value, field, key, allowed) from wrong
    if not math.isfinite(number) or not low <= number <= high:
        raise _refused(value, field, key, allowed)
    return number


def _moment(value: Any, field: TestField, key: str) -> datetime:
    allowed = "a time such as 2026-03-14T09:30:00+00:00"
    try:
        made = datetime.fromisoformat(value) if isinstance(value, str) else value
    except ValueError as wrong:
        raise _refused(value, field, key, allowed) from wrong
    if isinstance(made, pd.Timestamp):
        made = made.to_pydatetime()
    if isinstance(made, date) and not isinstance(made, datetime):
        made = datetime(made.year, made.month, made.day, tzinfo=UTC)
    if not isinstance(made, datetime):
        raise _refused(value, field, key, allowed)
    return made if made.tzinfo else made.replace(tzinfo=UTC)


def _flag(value: Any, field: TestField, key: str) -> bool:
    word = str(value).strip().casefold()
    known = isinstance(value, bool | np.bool_ | int | float | str)
    if not known or word.removesuffix(".0") not in (*YES, *NO):
        raise _refused(value, field, key, "yes or no")
    return word.removesuffix(".0") in YES


def _room(stated: Mapping[str, Any], survey: Survey) -> Room | None:
    """Find the room by the place and its name; None where they do not agree.

    A place just outside the room it names is in it: in a doorway, or by the slip of a tape.
    """
    name = str(stated.get("room", "")).strip()
    rooms = survey.plan.rooms
    alike = [room for room in rooms if _loose(room.name) == _loose(name)]
    named = next((room for room in rooms if room.name == name), alike[0] if alike else None)
    if name and named is None:
        return None
    if "x" not in stated or "y" not in stated:
        return named
    place = float(stated["x"]), float(stated["y"])
    found = survey.plan.room_at(*place)
    if named is None or found is not None:
        return found if named in (None, found) else None
    return named if named.polygon.distance(Point(place)) <= BESIDE_ROOM_M else None


def _loose(name: str) -> str:
    return " ".join(name.split()).casefold()


def method_named(name: str) -> TestMethod:
    """Return a method by its key, or by the key of its quantity.

    Raises
    ------
    InputError
        When there is no such method.
    """
    if name in TEST_METHODS:
        return TEST_METHODS[name]
    by_quantity = {method.quantity.key: method for method in TEST_METHODS.values()}
    if name not in by_quantity:
        message = "there is no such test method"
        raise InputError(message, value=name, allowed=", ".join(TEST_METHODS))
    return by_quantity[name]
