"""Rooms drawn with one name: which a record means, by storey or place, or refused."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import pandas as pd
import shapely

from moisturemap.errors import SurveyError
from moisturemap.files import SurveyFile
from moisturemap.floorplan import FloorPlan, extent_words, storeys_by_place
from moisturemap.survey import LoggerSeries, MachineLog, Visit

Notes = tuple[str, ...]


def settle_stated_rooms(file: SurveyFile, plan: FloorPlan) -> tuple[SurveyFile, Notes]:
    """Put what ``[[rooms]]`` state of a name that several rooms bear on the one that is meant.

    Parameters
    ----------
    file : SurveyFile
    plan : FloorPlan

    Returns
    -------
    file : SurveyFile
        With slabs, limits and storeys under the names the rooms have in the plan.
    notes : tuple of str

    Raises
    ------
    SurveyError
        Where several may be meant, or the storey stated is not that of the room.
    """
    doubled = {name for group in plan.same_named for name in group}
    sure = {
        room: one.name
        for room, one in file.storeys.items()
        if room not in doubled and any(room == known.name for known in plan.rooms)
    }
    drawn_on = storeys_by_place(plan, file.every_storey, sure) if doubled else {}
    moved: dict[str, str] = {}
    notes = []
    for group in plan.same_named:
        meant = _meant(file, plan, group, drawn_on)
        if meant != group[0]:
            moved[group[0]] = meant
            where = _where(plan, meant)
            storey = file.storeys[group[0]].name
            notes.append(
                f"Of the rooms named '{group[0]}' the one on storey {storey} is meant in"
                f" {file.source}: {where}."
            )
        _check_storeys(file, plan, group, drawn_on, moved)
    return _under(file, moved), tuple(notes)


def _meant(
    file: SurveyFile, plan: FloorPlan, group: Sequence[str], drawn_on: Mapping[str, str]
) -> str:
    """Return the room that the shared name stands for in [[rooms]], or refuse."""
    shared = group[0]
    left = [name for name in group[1:] if name not in file.slabs]
    if shared not in file.slabs or not left:
        return shared
    stated = file.storeys.get(shared)
    maybe = [shared, *left]
    if stated is not None and all(name in drawn_on for name in maybe):
        on = [name for name in maybe if drawn_on[name] == stated.name]
        if len(on) == 1:
            return on[0]
    told = "" if stated is None else f", and storey {stated.name} does not tell which"
    raise SurveyError(
        f"the plan holds {len(group)} rooms of this name{told}",
        source=file.source,
        place=f"[[rooms]] {list(file.slabs).index(shared) + 1} name",
        value=shared,
        allowed=_each_by_name(plan, group),
    )


def _check_storeys(
    file: SurveyFile,
    plan: FloorPlan,
    group: Sequence[str],
    drawn_on: Mapping[str, str],
    moved: Mapping[str, str],
) -> None:
    """Refuse a storey that the room of that name is not drawn on."""
    for name in group:
        stated, here = file.storeys.get(name), moved.get(name, name)
        if stated is None or drawn_on.get(here, stated.name) == stated.name:
            continue
        raise SurveyError(
            f"the room of this name is drawn on storey {drawn_on[here]}: {_where(plan, here)}",
            source=file.source,
            place=f"[[rooms]] {list(file.slabs).index(name) + 1} {name} storey",
            value=stated.name,
            allowed=_each_by_name(plan, group),
        )


def _under(file: SurveyFile, moved: Mapping[str, str]) -> SurveyFile:
    if not moved:
        return file
    return replace(
        file,
        slabs={moved.get(name, name): one for name, one in file.slabs.items()},
        storeys={moved.get(name, name): one for name, one in file.storeys.items()},
        room_limits={moved.get(name, name): one for name, one in file.room_limits.items()},
    )


def _where(plan: FloorPlan, name: str) -> str:
    return f"'{name}', {extent_words(*plan.room(name).polygon.bounds)}"


def _each_by_name(plan: FloorPlan, group: Sequence[str]) -> str:
    """Say how to write each of the rooms of one name."""
    rooms = "; ".join(_where(plan, name) for name in group)
    return f"a row in [[rooms]] for each, by the name it has here: {rooms}"


def refuse_doubled_room(
    name: str, file: SurveyFile, plan: FloorPlan, source: str, place: str
) -> None:
    """Refuse a room without a place whose name several rooms bear.

    Rooms that ``[[rooms]]`` state each by its own name are told apart by it.

    Parameters
    ----------
    name : str
        Of the room; "" states none.
    file : SurveyFile
        As :func:`settle_stated_rooms` gives it.
    plan : FloorPlan
    source, place : str
        For the message.

    Raises
    ------
    SurveyError
    """
    for group in plan.same_named:
        if name == group[0] and not set(group) <= set(file.slabs):
            raise SurveyError(
                f"the plan holds {len(group)} rooms of this name",
                source=source,
                place=place,
                value=name,
                allowed=_each_by_name(plan, group),
            )


def check_logs_of_air(visit: Visit, file: SurveyFile, plan: FloorPlan) -> None:
    """Refuse an entry of an acclimation log for a name that several rooms bear."""
    for one in visit.acclimation:
        place = f"visit {visit.id}, acclimation of {one.when:%Y-%m-%d %H:%M}"
        refuse_doubled_room(one.room, file, plan, file.source, place)


def check_running_logs(
    logs: Sequence[LoggerSeries | MachineLog], file: SurveyFile, plan: FloorPlan
) -> None:
    """Refuse the log of a logger or machine without a place in a room of a shared name."""
    for one in logs:
        if isinstance(one, MachineLog):
            refuse_doubled_room(one.room, file, plan, one.source, one.machine)
        elif one.x is None or one.y is None:
            refuse_doubled_room(one.room, file, plan, file.source, f"[[loggers]] {one.id}")


def settled_logger(series: LoggerSeries, plan: FloorPlan) -> LoggerSeries:
    """Return a logger in a room of a shared name under the name of the room it hangs in."""
    if series.x is None or series.y is None:
        return series
    room = plan.room_at(series.x, series.y)
    for group in plan.same_named:
        if room is not None and series.room in group and room.name in group:
            return replace(series, room=room.name)
    return series


def settle_by_place(
    tables: Sequence[pd.DataFrame], plan: FloorPlan
) -> tuple[list[pd.DataFrame], Notes]:
    """Put rows stated for a shared name in the room their place lies in.

    Parameters
    ----------
    tables : sequence of DataFrame
        Each ``x, y`` [m] and, where rooms are stated, ``room``.
    plan : FloorPlan

    Returns
    -------
    tables : list of DataFrame
    notes : tuple of str
        What was put where, by room.
    """
    notes: list[str] = []
    return [_by_place(table, plan, notes) for table in tables], tuple(notes)


def _by_place(table: pd.DataFrame, plan: FloorPlan, notes: list[str]) -> pd.DataFrame:
    if table.empty or "room" not in table or not plan.same_named:
        return table
    found = table["room"].fillna("").astype(str)
    for group in plan.same_named:
        shared = (found.str.strip() == group[0]).to_numpy()
        for name in group[1:]:
            inside = shared & shapely.intersects_xy(plan.room(name).polygon, table["x"], table["y"])
            found[inside] = name
            if inside.any():
                rows = "1 row" if inside.sum() == 1 else f"{int(inside.sum())} rows"
                notes.append(f"{rows} stated for '{group[0]}' lie in {_where(plan, name)}.")
    return table.assign(room=found)
