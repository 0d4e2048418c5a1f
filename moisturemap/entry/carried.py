"""What was placed on a plan and moves with a part of it that is pushed along.

Everything was measured against the walls of its room; a room that moves as a whole takes it along,
so that each distance the tape gave is still true.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
import shapely
from shapely.affinity import translate

from moisturemap.bundles import overrides_of
from moisturemap.errors import PlanError
from moisturemap.floorplan import FloorPlan
from moisturemap.store import Project, survey_rows
from moisturemap.store.change import Change, layer_named
from moisturemap.store.edits import write_setting
from moisturemap.store.record import Operation

DECISIONS = "decisions"
"""Key of the decisions among the settings of a project; ``bundles.overrides`` reads them."""

ROWS = ("readings", "tests", "equipment")
"""Layers whose rows have a place."""

SAME_M = 1e-3
"""Corners this near to one another are the same [m]."""

Place = tuple[float, float]
Moves = Callable[[str, Any, Place], Place]


@dataclass(frozen=True, kw_only=True)
class Carried:
    """Things placed on the floor, and by how much they move with it.

    Attributes
    ----------
    by : (float, float)
        [m]
    readings, tests, equipment : tuple of int
        Numbers of the rows.
    holes : tuple of str
        Names of issued holes.
    loggers : tuple of str
    decisions : tuple of str
        Places of marks and of decisions about what was flagged, and of wishes about holes: the
        time each was taken and the number of its place, as "TIME#0".
    """

    by: Place
    readings: tuple[int, ...] = ()
    tests: tuple[int, ...] = ()
    equipment: tuple[int, ...] = ()
    holes: tuple[str, ...] = ()
    loggers: tuple[str, ...] = ()
    decisions: tuple[str, ...] = ()


def placed_beyond(project: Project, start: Place, direction: Place, least: float) -> dict[str, Any]:
    """Return what is placed beyond a line across the floor, as ``Carried`` names it.

    With it how many ``marks`` that is, and the issued holes ``standing`` anywhere on the floor.

    Parameters
    ----------
    project : Project
    start, direction : (float, float)
        A place [m], and the direction in which it is measured from there.
    least : float
        What is further along than this lies beyond [m].
    """
    length = math.hypot(*direction)
    if length == 0.0:
        message = "a wall without length has no direction"
        raise PlanError(message, value=direction)
    ux, uy = direction[0] / length, direction[1] / length

    def beyond(place: Place) -> bool:
        return (place[0] - start[0]) * ux + (place[1] - start[1]) * uy > least

    found: dict[str, list[Any]] = {name: [] for name in (*ROWS, "holes", "loggers", "decisions")}
    for kind, name, place in _placed(project):
        if beyond(place):
            found[kind].append(name)
    marked = {one.when for one in overrides_of(project.settings()).anomalies if one.places}
    marks = {str(name).rpartition("#")[0] for name in found["decisions"]} & marked
    holes = project.settings().get("issued_holes") or ()
    standing = [{"hole": one.hole, "room": one.room} for one in holes if not one.withdrawn]
    return {**found, "marks": len(marks), "standing": standing}


def _placed(project: Project) -> Iterable[tuple[str, Any, Place]]:
    """Yield everything that has a place: its kind and name as ``Carried`` has them, and where."""
    for layer in ROWS:
        for row in project.rows(layer):
            if row["x"] is not None and row["y"] is not None:
                yield layer, row["fid"], (row["x"], row["y"])
    settings = project.settings()
    for hole in settings.get("issued_holes") or ():
        yield "holes", hole.hole, (hole.x, hole.y)
    for logger in settings.get("loggers") or ():
        if logger.x is not None and logger.y is not None:
            yield "loggers", logger.id, (logger.x, logger.y)
    decisions = overrides_of(settings)
    for mark in decisions.anomalies:
        for number, place in enumerate(mark.places):
            yield "decisions", f"{mark.when}#{number}", place
    for wish in decisions.holes:
        for number, to in enumerate(((wish.x, wish.y), wish.to)):
            if to is not None:
                yield "decisions", f"{wish.when}#{number}", to


def carry(made: Change, settings: Mapping[str, Any], carried: Carried) -> dict[str, Any]:
    """Move what is carried, within a change of the project; return the settings after it.

    Parameters
    ----------
    made : Change
    settings : mapping
        Settings of the project, by name, as they are.
    carried : Carried
    """
    for layer in ROWS:
        _carry_rows(made, layer, carried)

    def moved(kind: str, name: Any, place: Place) -> Place:
        if name not in getattr(carried, kind):
            return place
        return round(place[0] + carried.by[0], 6), round(place[1] + carried.by[1], 6)

    new = {
        key: now for key, now in _settings_moved(settings, moved).items() if now != settings[key]
    }
    for key, now in new.items():
        write_setting(made, survey_rows.setting(key, now))
    return {**settings, **new}


def _carry_rows(made: Change, layer: str, carried: Carried) -> None:
    names = layer_named(layer).names
    wanted = set(getattr(carried, layer))
    old = tuple(row for row in made.rows(layer) if row[0] in wanted)
    new = []
    for row in old:
        now = list(row)
        for axis, by in zip(("x", "y"), carried.by, strict=True):
            now[names.index(axis)] = round(row[names.index(axis)] + by, 6)
        new.append(now)
    if old:
        made.apply(Operation(layer, names, old, tuple(new)))


def _settings_moved(settings: Mapping[str, Any], moved: Moves) -> dict[str, Any]:
    """Return the settings that hold places, with those that are carried moved."""

    def at(kind: str, name: str, one: Any) -> Any:
        if one.x is None or one.y is None:
            return one
        x, y = moved(kind, name, (one.x, one.y))
        return replace(one, x=x, y=y)

    found: dict[str, Any] = {}
    if settings.get("issued_holes"):
        found["issued_holes"] = tuple(at("holes", x.hole, x) for x in settings["issued_holes"])
    if settings.get("loggers"):
        found["loggers"] = tuple(at("loggers", one.id, one) for one in settings["loggers"])
    if settings.get(DECISIONS):
        decisions = overrides_of(settings)
        marks = [
            replace(
                one,
                places=tuple(
                    moved("decisions", f"{one.when}#{number}", place)
                    for number, place in enumerate(one.places)
                ),
            )
            for one in decisions.anomalies
        ]
        wishes = [
            replace(
                at("decisions", f"{one.when}#0", one),
                to=moved("decisions", f"{one.when}#1", one.to) if one.to else None,
            )
            for one in decisions.holes
        ]
        found[DECISIONS] = replace(
            decisions, anomalies=tuple(marks), holes=tuple(wishes)
        ).as_plain()
    return found


def refuse_left_behind(
    project: Project, before: FloorPlan, after: FloorPlan, carried: Sequence[Carried]
) -> None:
    """Refuse a plan in which a room moves and something placed in it does not.

    Raises
    ------
    PlanError
        Naming the room and how many things were placed there meanwhile.
    """
    taken = {
        (kind, name) for one in carried for kind, names in asdict(one).items() for name in names
    }
    left = [place for kind, name, place in _placed(project) if (kind, name) not in taken]
    rooms = {room.name: room.polygon for room in after.rooms}
    for room in before.rooms:
        now = rooms.get(room.name)
        if now is None or not left or not _moves(room.polygon, now):
            continue
        inside = int(shapely.contains_xy(room.polygon, *np.asarray(left, dtype=float).T).sum())
        if inside:
            message = f"{room.name} moves, and what was placed in it meanwhile would stay behind"
            raise PlanError(message, value=inside, allowed="undo the push, then push again")


def _moves(before: shapely.Polygon, after: shapely.Polygon) -> bool:
    """Whether a room keeps its shape and stands somewhere else."""
    x, y = after.centroid.x - before.centroid.x, after.centroid.y - before.centroid.y
    shifted = translate(before, x, y)
    alike = bool(shapely.hausdorff_distance(shifted, after) <= SAME_M)
    return alike and math.hypot(x, y) > SAME_M
