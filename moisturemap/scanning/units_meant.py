"""Values that look as if they were written in another unit: asked about, never changed."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from moisturemap.scanning.remark import Remark
from moisturemap.survey import TEST_METHODS, Survey
from moisturemap.survey.usual import (
    DEGREES,
    DEPTH,
    HUMIDITY,
    RESULTS,
    THICKNESS,
    Usual,
    meanings,
)

FIELDS = {
    "air_temperature_c": DEGREES,
    "slab_temperature_c": DEGREES,
    "service_temperature_c": DEGREES,
    "temperature_c": DEGREES,
    "probe_temperature_c": DEGREES,
    "air_rh_pct": HUMIDITY,
    "service_rh_pct": HUMIDITY,
    "depth_mm": DEPTH,
    "thickness_mm": THICKNESS,
}
"""What the fields of visits, rooms, checks and tests usually hold."""

Stated = tuple[str, str, float, Usual]
"""Where, field, value and what is usual there."""


def remarks_on_units(survey: Survey) -> list[Remark]:
    """Ask about values beyond what floors under work usually show, each with its place.

    A cold floor is asked about only in a survey in feet and Fahrenheit, where 18 may have been
    meant in Celsius; elsewhere it is just cold.
    """
    found = [*_of_visits(survey), *_of_instruments(survey), *_of_rooms(survey), *_of_tests(survey)]
    return [
        Remark("warning", _question(*one), one[0])
        for one in found
        if not one[3].holds(one[2]) and (survey.units == "us" or not _only_cold(one))
    ]


def _only_cold(stated: Stated) -> bool:
    return stated[3] is DEGREES and stated[2] < DEGREES.low


def _question(where: str, field: str, value: float, usual: Usual) -> str:
    others = meanings(value, usual)
    told = ", ".join(f"{value:g} {unit} = {then:.4g} {usual.unit}" for unit, then in others.items())
    if usual is DEGREES and value < usual.low:
        told = f"{1.8 * value + 32:.4g} C = {32 + 1.8 * (1.8 * value + 32):.4g} F"
    meant = f" Was another unit meant ({told})?" if told else " Look at it again."
    return (
        f"{where}: {field} is {value:g} {usual.unit}; usual are {usual.low:g} to {usual.high:g}"
        f" {usual.unit}.{meant}"
    )


def _fields(where: str, bundle: object) -> Iterator[Stated]:
    for name, usual in FIELDS.items():
        value = getattr(bundle, name, None)
        if value is not None:
            yield where, name, float(value), usual


def _of_visits(survey: Survey) -> Iterator[Stated]:
    for visit in survey.visits:
        yield from _fields(f"Visit {visit.id}", visit)
        for entry in visit.acclimation:
            where = f"Visit {visit.id}, air of {entry.when:%Y-%m-%d %H:%M}"
            yield from _fields(where, entry)
        for x, y, degrees in visit.surface_temperatures:
            yield f"Visit {visit.id}, x {x:g} y {y:g}", "surface_temperatures", degrees, DEGREES


def _of_instruments(survey: Survey) -> Iterator[Stated]:
    for instrument in survey.instruments.values():
        for check in instrument.checks:
            where = f"Instrument {instrument.id}, check of {check.when:%Y-%m-%d}"
            yield from _fields(where, check)


def _of_rooms(survey: Survey) -> Iterator[Stated]:
    for room in survey.plan.rooms:
        yield from _fields(f"Room {room.name}", room.slab)


def _of_tests(survey: Survey) -> Iterator[Stated]:
    columns = [name for name in FIELDS if name in survey.tests]
    for row in survey.tests.to_dict("records"):
        stands = f" ({row['source']} row {row['row']})" if row.get("row") else ""
        where = f"Test {row['hole'] or row['test']}{stands}"
        method = TEST_METHODS.get(str(row["method"]))
        for name in columns:
            of_boards = name == "depth_mm" and method is not None and method.key == "pin"
            if pd.notna(row[name]) and not of_boards:
                yield where, name, float(row[name]), FIELDS[name]
        usual = RESULTS.get(method.key) if method else None
        first_unit = method and (row["unit"] or method.units[0]) in _as_first(method.key)
        if usual and first_unit and pd.notna(row["value"]):
            yield where, "value", float(row["value"]), usual


def _as_first(method: str) -> tuple[str, ...]:
    """Return the units of a method that mean its first one."""
    units = TEST_METHODS[method].units
    return units if method != "mver" else tuple(one for one in units if "g/" not in one)
