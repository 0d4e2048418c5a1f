"""Read the files that run on between visits: loggers and the logs of machines."""

from __future__ import annotations

from typing import Any

from moisturemap.errors import SurveyError
from moisturemap.files import (
    LoggerPlace,
    RecordOptions,
    SurveyFile,
    nearest,
    read_logger,
    read_machine_logs,
)
from moisturemap.floorplan import FloorPlan
from moisturemap.quantities import METRES_PER_UNIT
from moisturemap.survey import LoggerSeries, MachineLog
from moisturemap.workflow.same_names import check_running_logs, settled_logger


def read_loggers(
    file: SurveyFile, plan: FloorPlan
) -> tuple[tuple[LoggerSeries, ...], tuple[str, ...]]:
    """Read the loggers that a survey names.

    Parameters
    ----------
    file : SurveyFile
    plan : FloorPlan
        Rooms a logger may name.

    Returns
    -------
    loggers : tuple of LoggerSeries
    notes : tuple of str

    Raises
    ------
    InputError
        Naming file, row or key, value and what is allowed.
    """
    scale = METRES_PER_UNIT[file.coordinates]
    found: list[LoggerSeries] = []
    notes: list[str] = []
    for number, entry in enumerate(file.loggers, start=1):
        given = dict(entry.options)
        where = f"[[loggers]] {number}"
        _refuse_room(given.get("room", ""), plan, file.source, where)
        if ("x" in given) != ("y" in given):
            message = "x and y of a logger belong together"
            raise SurveyError(message, source=file.source, place=where, allowed="both or neither")
        if given["place"] == "hole" and not {"depth_mm", "x", "y"} <= set(given):
            message = "a logger in a hole needs its place and the depth of its sensor"
            allowed = "x, y and depth_mm"
            raise SurveyError(message, source=file.source, place=where, allowed=allowed)
        place = LoggerPlace(
            id=given["id"],
            place=given["place"],
            room=given.get("room", ""),
            x=given["x"] * scale if "x" in given else None,
            y=given["y"] * scale if "y" in given else None,
            depth_mm=given.get("depth_mm"),
        )
        options = _options(given, file, entry.name)
        series, more = read_logger(entry.path, place, options, channel=given.get("channel", ""))
        found.append(settled_logger(series, plan))
        notes += more
    check_running_logs(found, file, plan)
    return tuple(found), tuple(notes)


def read_logs_of_machines(
    file: SurveyFile, plan: FloorPlan
) -> tuple[tuple[MachineLog, ...], tuple[str, ...]]:
    """Read the logs of machines that a survey names; see ``read_loggers``."""
    found: list[MachineLog] = []
    notes: list[str] = []
    for number, entry in enumerate(file.machine_logs, start=1):
        given = dict(entry.options)
        where = f"[[machine_logs]] {number}"
        _refuse_room(given.get("room", ""), plan, file.source, where)
        logs, more = read_machine_logs(
            entry.path,
            _options(given, file, entry.name),
            machine=given.get("machine", ""),
            room=given.get("room", ""),
        )
        for log in logs:
            _refuse_room(log.room, plan, log.source or entry.name, f"machine {log.machine}")
        twice = {one.machine for one in logs} & {one.machine for one in found}
        if twice:
            message = "a machine has two logs"
            raise SurveyError(
                message,
                source=file.source,
                place=where,
                value=", ".join(sorted(twice)),
                allowed="one log for each machine",
            )
        found += logs
        notes += more
    check_running_logs(found, file, plan)
    return tuple(found), tuple(notes)


def _options(given: dict[str, Any], file: SurveyFile, name: str) -> RecordOptions:
    read = {key: given[key] for key in ("sheet", "decimal", "temperature_unit") if key in given}
    return RecordOptions(**read, zone=given.get("zone", file.zone), name=name)


def _refuse_room(room: str, plan: FloorPlan, source: str, where: str) -> None:
    names = [one.name for one in plan.rooms]
    if room and room not in names:
        meant = nearest(room, names)
        message = "the plan has no such room" + (f"; did you mean {meant!r}?" if meant else "")
        allowed = ", ".join(names)
        raise SurveyError(message, source=source, place=where, value=room, allowed=allowed)
