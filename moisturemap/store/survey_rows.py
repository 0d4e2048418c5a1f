"""The survey as rows of the project file, and back."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any

import shapely

from moisturemap.errors import StoreError
from moisturemap.floorplan import FloorPlan, PlanLine, Room, Slab, Storey
from moisturemap.store import frames, record
from moisturemap.store.frames import FrameColumn
from moisturemap.store.rows import Row
from moisturemap.store.schema import LAYERS
from moisturemap.store.values import from_plain, to_plain
from moisturemap.survey import Instrument, InstrumentCheck, Limit, Survey, Visit

_OWN_LAYERS = (*frames.TABLES, "plan", "instruments", "visits", "limit", "room_limits", "folder")
_READ_ALONE = ("changed_tests", "hole_names", "former_readings", "former_tests", "lost_record")
"""What is worked out from the record and never kept."""
Named = dict[str, Any]


def _fields(bundle: Any) -> Named:
    return {one.name: getattr(bundle, one.name) for one in dataclasses.fields(bundle)}


def setting(key: str, value: Any) -> Named:
    """Return one row of the settings."""
    return {"key": key, "value": record.canonical(to_plain(value))}


def room_row(room: Room) -> Named:
    """Return the row of a room."""
    row = {"name": room.name, "geometry": room.polygon, **_fields(room.slab)}
    if room.storey is not None:
        x, y = room.storey.origin
        row |= {"storey": room.storey.name, "storey_level": room.storey.level}
        row |= {"storey_x": x, "storey_y": y}
    return row


def storey_of(named: Mapping[str, Any]) -> Storey | None:
    """Return the storey that the row of a room names, or None.

    Parameters
    ----------
    named : mapping
        Row by column name.
    """
    if not named.get("storey"):
        return None
    origin = (float(named.get("storey_x") or 0.0), float(named.get("storey_y") or 0.0))
    return Storey(str(named["storey"]), named.get("storey_level"), origin)


def line_row(line: PlanLine) -> Named:
    """Return the row of a line of the plan."""
    return _fields(line)


def instrument_row(instrument: Instrument) -> Named:
    """Return the row of an instrument; its checks are rows of their own."""
    fields = _fields(instrument)
    low, high = fields.pop("scale") or (None, None)
    del fields["checks"]
    return {**fields, "scale_low": low, "scale_high": high}


def check_row(instrument: str, check: InstrumentCheck) -> Named:
    """Return the row of one check of an instrument."""
    return {"instrument": instrument, **_fields(check)}


def visit_row(visit: Visit) -> Named:
    """Return the row of a visit."""
    return _fields(visit)


def limit_row(limit: Limit, room: str | None = None) -> Named:
    """Return the row of a limit, of one room or of all."""
    return {"room": room, **_fields(limit)}


def column_setting(layer: str, columns: Iterable[FrameColumn]) -> Named:
    """Return the settings row that says how a table is kept."""
    listed = [list(dataclasses.astuple(column)) for column in columns]
    return setting(f"columns of {layer}", listed)


def named_rows(survey: Survey) -> dict[str, list[Named]]:
    """Return everything but the three tables, as rows by layer, in the order to insert them."""
    plan = {
        name: value
        for name, value in _fields(survey.plan).items()
        if name not in ("rooms", "lines")
    }
    apart = (*_OWN_LAYERS, *_READ_ALONE)
    settings = {name: value for name, value in _fields(survey).items() if name not in apart}
    limits = [limit_row(survey.limit)] if survey.limit else []
    return {
        "settings": [setting(key, value) for key, value in {**settings, "plan": plan}.items()],
        "rooms": [room_row(room) for room in survey.plan.rooms],
        "lines": [line_row(line) for line in survey.plan.lines],
        "instruments": [instrument_row(one) for one in survey.instruments.values()],
        "instrument_checks": [
            check_row(one.id, check) for one in survey.instruments.values() for check in one.checks
        ],
        "visits": [visit_row(visit) for visit in survey.visits],
        "limits": limits + [limit_row(one, room) for room, one in survey.room_limits.items()],
    }


_BACK: dict[str, Callable[[Any], Any]] = {
    "flag": bool,
    "date": date.fromisoformat,
    "time": datetime.fromisoformat,
}


def _named(rows: Iterable[Row], layer: str) -> list[Named]:
    """Return rows by column name, with Python values and without fid and extra."""
    kind = LAYERS[layer]
    found = []
    for row in rows:
        named = dict(zip(kind.names, row, strict=True))
        for name, what in kind.columns.items():
            if what in _BACK and named[name] is not None:
                named[name] = _BACK[what](named[name])
        extra = json.loads(named.pop("extra") or "{}")
        named.update({name: from_plain(value) for name, value in extra.items()})
        del named["fid"]
        found.append(named)
    return found


def with_extra(named: Mapping[str, Any]) -> Named:
    """Return a row by column name together with what it holds beside its columns.

    Parameters
    ----------
    named : mapping
        Row by column name.
    """
    extra = json.loads(named.get("extra") or "{}")
    return {**named, **{name: from_plain(value) for name, value in extra.items()}}


def _bundle(cls: Any, named: Mapping[str, Any]) -> Any:
    wanted = {one.name for one in dataclasses.fields(cls)}
    return cls(**{name: value for name, value in named.items() if name in wanted})


def settings_of(rows: Iterable[Row]) -> Named:
    """Return the settings by key."""
    return {row[1]: from_plain(json.loads(row[2])) for row in rows}


def columns_of(settings: Mapping[str, Any], layer: str) -> tuple[FrameColumn, ...]:
    """Return how a table is kept, from the settings."""
    listed = settings.get(f"columns of {layer}")
    if listed is None:
        return frames.usual_columns(LAYERS[layer])
    return tuple(FrameColumn(*one) for one in listed)


def to_survey(state: Mapping[str, Sequence[Row]]) -> Survey:
    """Return the survey that rows by layer hold.

    Raises
    ------
    StoreError
        If there is no room or no visit yet.
    """
    settings = settings_of(state["settings"])
    plan = _plan(state, settings.get("plan", {}))
    visits = tuple(_bundle(Visit, named) for named in _named(state["visits"], "visits"))
    if not plan.rooms or not visits:
        message = "the project has no room or no visit yet; add both before it is computed"
        raise StoreError(message)
    limits = [
        (named.pop("room"), _bundle(Limit, named)) for named in _named(state["limits"], "limits")
    ]
    tables: Named = {
        name: frames.from_rows(state[name], LAYERS[name], columns_of(settings, name))
        for name in frames.TABLES
    }
    others: Named = {
        one.name: settings[one.name]
        for one in dataclasses.fields(Survey)
        if one.name in settings and one.name not in _OWN_LAYERS
    }
    return Survey(
        plan=plan,
        instruments=_instruments(state),
        visits=visits,
        limit=next((limit for room, limit in limits if room is None), None),
        room_limits={room: limit for room, limit in limits if room is not None},
        **tables,
        **others,
    )


def rooms_of(rows: Sequence[Row]) -> tuple[Room, ...]:
    """Return the rooms their rows hold."""
    return tuple(
        Room(
            named["name"],
            shapely.from_wkb(named["geometry"]),
            _bundle(Slab, named),
            storey_of(named),
        )
        for named in _named(rows, "rooms")
    )


def _plan(state: Mapping[str, Sequence[Row]], others: Mapping[str, Any]) -> FloorPlan:
    rooms = rooms_of(state["rooms"])
    lines = tuple(
        _bundle(PlanLine, {**named, "geometry": shapely.from_wkb(named["geometry"])})
        for named in _named(state["lines"], "lines")
    )
    return FloorPlan(rooms, lines, **others)


def _instruments(state: Mapping[str, Sequence[Row]]) -> dict[str, Instrument]:
    checks: dict[str, list[InstrumentCheck]] = {}
    for named in _named(state["instrument_checks"], "instrument_checks"):
        checks.setdefault(named["instrument"], []).append(_bundle(InstrumentCheck, named))
    found = {}
    for named in _named(state["instruments"], "instruments"):
        low, high = named.pop("scale_low"), named.pop("scale_high")
        named["scale"] = None if low is None else (low, high)
        named["checks"] = tuple(checks.get(named["id"], ()))
        found[named["id"]] = _bundle(Instrument, named)
    return found
