"""Files of loggers and machines: shown as they are understood, and kept with the job."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import tzinfo
from pathlib import Path
from typing import Any

from shapely.geometry import Point

from moisturemap.errors import OptionError
from moisturemap.files import (
    LoggerPlace,
    RecordOptions,
    logger_channels,
    read_logger,
    read_machine_logs,
)
from moisturemap.files.logger_layout import find_layout
from moisturemap.files.moment import zone_of
from moisturemap.files.table import read_table, shown
from moisturemap.floorplan import FloorPlan
from moisturemap.survey import LOGGER_PLACES, LoggerSeries, MachineLog

SAMPLE_ROWS, SAMPLE_COLUMNS = 8, 12


def record_options(name: str, zone: str, decimal: str) -> RecordOptions:
    """Return how a file is to be read.

    Parameters
    ----------
    name : str
        Of the file, for messages.
    zone : str
        Of times that state none: IANA name or offset; "" takes UTC and says so.
    decimal : str
        ``"."``, ``","`` or "" to find out.
    """
    known: tzinfo | None = zone_of(zone, name, "time zone") if zone else None
    return RecordOptions(zone=known, decimal=decimal or None, name=name)


OFF_PLAN_M = 0.5
"""A logger farther than this from every room is off the plan [m] (our choice)."""


def logger_place(given: Mapping[str, Any], plan: FloorPlan | None) -> LoggerPlace:
    """Return where a logger sat.

    Parameters
    ----------
    given : mapping
        ``id, place, room, x, y, depth_mm`` as typed [m, mm].
    plan : FloorPlan or None
        None before it is drawn.

    Raises
    ------
    OptionError
        When place, room or depth cannot be meant, or the place is off the plan.
    """
    place = LoggerPlace(**given)
    rooms = [] if plan is None else [room.name for room in plan.rooms]
    if place.place not in LOGGER_PLACES:
        message, allowed = "a logger sits in another place", ", ".join(LOGGER_PLACES)
        raise OptionError(message, value=place.place, allowed=allowed)
    if place.room and place.room not in rooms:
        raise OptionError("no such room", value=place.room, allowed=", ".join(rooms))
    if (place.x is None) != (place.y is None):
        raise OptionError("x and y of a logger belong together", allowed="both or neither")
    if plan is not None and place.x is not None and place.y is not None:
        away = min(room.polygon.distance(Point(place.x, place.y)) for room in plan.rooms)
        if away > OFF_PLAN_M:
            west, south, east, north = plan.bounds
            raise OptionError(
                "this place is off the plan",
                value=f"x {place.x:g} m, y {place.y:g} m",
                allowed=f"x from {west:g} to {east:g} m, y from {south:g} to {north:g} m",
            )
    if place.place == "hole" and None in (place.x, place.y, place.depth_mm):
        raise OptionError(
            "a logger in a hole needs its place and the depth of its sensor",
            allowed="x, y and depth in mm",
        )
    return place


def understood_logger(path: Path, options: RecordOptions, channel: str) -> dict[str, Any]:
    """Show how the file of a logger is understood.

    Returns
    -------
    dict
        ``channels`` to choose from, the ``columns`` of the one chosen, the ``sample`` of the file,
        the ``series`` (None until a channel is chosen) and ``notes``.
    """
    channels = logger_channels(path, options)
    table = read_table(path, options.sheet, options.name)
    layout = find_layout(table)
    heads = [shown(cell) for cell in table.rows[layout.row]]
    named = {
        "time": [heads[j] for j in layout.when if j < len(heads)],
        **{
            quantity: [heads[j]]
            for quantity, j in layout.columns(channel or None).items()
            if j < len(heads)
        },
    }
    sample = [
        [shown(cell) for cell in row[:SAMPLE_COLUMNS]]
        for row in table.rows[layout.row : layout.row + SAMPLE_ROWS]
    ]
    answer = {"channels": list(channels), "columns": named, "sample": sample}
    if channels and channel not in channels:
        return {**answer, "series": None, "notes": []}
    series, notes = read_logger(path, LoggerPlace(id="", place="air"), options, channel=channel)
    return {**answer, "series": logger_shown(series), "notes": list(notes)}


def understood_machines(
    path: Path, options: RecordOptions, machine: str, room: str
) -> tuple[tuple[MachineLog, ...], dict[str, Any]]:
    """Read the log of machines, and show how it is understood."""
    logs, notes = read_machine_logs(path, options, machine=machine, room=room)
    return logs, {"machines": [machine_shown(one) for one in logs], "notes": list(notes)}


def logger_shown(series: LoggerSeries) -> dict[str, Any]:
    """Return a logger as a page shows it; what was not recorded is None."""
    return {
        **{name: getattr(series, name) for name in ("id", "place", "room", "x", "y", "depth_mm")},
        "began": series.began.isoformat(),
        "ended": series.ended.isoformat(),
        "recorded": series.recorded or len(series.hours),
        "source": series.source,
        "hours": [round(one, 3) for one in series.hours],
        "rh_pct": [_known(one) for one in series.rh_pct],
        "temperature_c": [_known(one) for one in series.temperature_c],
        "gaps": [list(gap) for gap in series.gaps],
    }


def machine_shown(log: MachineLog) -> dict[str, Any]:
    """Return the log of a machine as a page shows it: sums, and from when to when."""
    sums = {
        name: sum(found) if (found := [v for e in log.entries if (v := getattr(e, name))]) else None
        for name in ("litres", "run_hours", "energy_kwh")
    }
    return {
        "machine": log.machine,
        "room": log.room,
        "source": log.source,
        "entries": len(log.entries),
        "began": log.entries[0].when.isoformat() if log.entries else None,
        "ended": log.entries[-1].when.isoformat() if log.entries else None,
        **sums,
    }


def with_loggers(
    kept: Sequence[LoggerSeries], new: LoggerSeries, instead: bool
) -> tuple[LoggerSeries, ...]:
    """Add a logger; one of the same name is replaced when that is meant, else refused."""
    if any(one.id == new.id for one in kept) and not instead:
        raise OptionError(
            "a logger of this name is kept already",
            value=new.id,
            allowed="another name, or to put the new file in its place",
        )
    return (*(one for one in kept if one.id != new.id), new)


def with_machine_logs(
    kept: Sequence[MachineLog], new: Sequence[MachineLog], instead: bool
) -> tuple[MachineLog, ...]:
    """Add logs of machines; one of the same machine is replaced when that is meant."""
    names = {one.machine for one in new}
    twice = sorted(names & {one.machine for one in kept})
    if twice and not instead:
        raise OptionError(
            "a log of this machine is kept already",
            value=", ".join(twice),
            allowed="to put the new file in its place",
        )
    return (*(one for one in kept if one.machine not in names), *new)


def _known(value: float) -> float | None:
    return None if math.isnan(value) else round(value, 3)
