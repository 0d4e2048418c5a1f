"""Plain sentences for anomalies; what they say is a likelihood, never a certainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry.base import BaseGeometry

from moisturemap.anomalies.assemble import Anomaly
from moisturemap.anomalies.drawn import drawn_words
from moisturemap.floorplan import FloorPlan, Room, nearest_wall, walls
from moisturemap.floorplan.wall import Wall

PARALLEL_DEG = 6.0
"""A line this near to a wall's direction is called parallel to it [degrees]."""

LOCATE = "locate before drilling"
UNCONFIRMED = "; a wet band as narrow reads alike on this grid: sweep the scanner across it twice"


def _bearing(geometry: BaseGeometry) -> float:
    (x0, y0), (x1, y1) = geometry.coords[0], geometry.coords[-1]
    return float(np.degrees(np.arctan2(y1 - y0, x1 - x0)))


def _apart(one: float, other: float) -> float:
    turn = abs(one - other) % 180.0
    return min(turn, 180.0 - turn)


def _off(wall: Wall, geometry: BaseGeometry) -> float:
    """Return how far off a wall a straight line runs, square to it, where it passes the wall.

    Infinite where it passes nowhere: an end that comes near a wall says nothing of its course.
    """
    line = np.asarray(wall.line.coords)
    along = (line[-1] - line[0]) / wall.length
    first, last = np.asarray(geometry.coords)[[0, -1], :2] - line[0, :2]
    start, end = float(first @ along), float(last @ along)
    low, high = max(0.0, min(start, end)), min(wall.length, max(start, end))
    if high <= low:
        return float("inf")
    place = first + (0.5 * (low + high) - start) / (end - start) * (last - first)
    return float(abs(along[0] * place[1] - along[1] * place[0]))


def _parallel_wall(geometry: BaseGeometry, room: Room) -> tuple[Wall, float] | None:
    """Return the nearest wall that a straight line passes in parallel, and how far off [m]."""
    bearing = _bearing(geometry)
    found = [
        (wall, _off(wall, geometry))
        for wall in walls(room)
        if wall.length >= 1.0 and _apart(bearing, _bearing(wall.line)) <= PARALLEL_DEG
    ]
    passed = [one for one in found if np.isfinite(one[1])]
    return min(passed, key=lambda one: one[1], default=None)


def _line_course(geometry: BaseGeometry, plan: FloorPlan, room: str) -> str:
    bends = len(geometry.coords) - 2
    if bends > 0:
        return f"with {bends} bend{'s' if bends > 1 else ''}"
    passed = _parallel_wall(geometry, plan.room(room)) if room else None
    if passed is None:
        return f"at {_bearing(geometry) % 180:.0f} degrees from the x axis"
    wall, off = passed
    return f"parallel to the {wall.name}, {off:.1f} m from it"


def _line_sentence(anomaly: Anomaly, plan: FloorPlan, room: str, persistence: str) -> str:
    shape = (
        f"line-shaped, {anomaly.length:.1f} m, {_line_course(anomaly.geometry, plan, room)}, "
        f"about {anomaly.strength:+.0f} over its sides"
    )
    if persistence == "dries":
        return (
            f"{shape}: falls from visit to visit as wet floor does, so a leaking joint or seam "
            f"is likelier than a pipe; {LOCATE} all the same"
        )
    if persistence == "persists":
        return (
            f"{shape}: unchanged since the earlier visit: likely a pipe, metal or an active "
            f"leak; {LOCATE}"
        )
    what = (
        "likely a heating loop" if len(anomaly.geometry.coords) > 5 else "likely pipe, cable or bar"
    )
    return f"{shape}: {what}; {LOCATE}"


def _place(anomaly: Anomaly, plan: FloorPlan, room: str) -> str:
    x, y = anomaly.geometry.x, anomaly.geometry.y
    if not room:
        return f"at x {x:.2f} m, y {y:.2f} m"
    wall, distance = nearest_wall(plan, room, x, y)
    return f"{distance:.1f} m from the {wall.name}"


def _spot_sentence(anomaly: Anomaly, plan: FloorPlan, room: str, persistence: str) -> str:
    where = _place(anomaly, plan, room)
    count = max(1, anomaly.disturbed.size)
    readings = "one reading" if count == 1 else f"{count} readings"
    if anomaly.strength < 0:
        return (
            f"spot {where}, {readings} about {anomaly.strength:.0f} below its surroundings: "
            "likely a void, a film or poor contact; read it again"
        )
    head = f"spot {where}, {readings} about {anomaly.strength:+.0f} over its surroundings"
    if persistence == "dries":
        return f"{head}: falls from visit to visit as wet floor does: likely a small wet spot"
    if persistence == "persists":
        return (
            f"{head}: unchanged since the earlier visit: likely metal, a box, salts or an "
            f"active leak; {LOCATE}"
        )
    return f"{head}: likely metal, a floor box or salts, or a small active leak; {LOCATE}"


def _stray_sentence(anomaly: Anomaly, plan: FloorPlan, room: str, persistence: str) -> str:
    where = _place(anomaly, plan, room)
    head = f"one reading {where} stands {abs(anomaly.strength):.0f} "
    head += "above" if anomaly.strength > 0 else "below"
    if persistence == "persists":
        return (
            f"{head} its neighbours on more than one visit: not mis-keyed; likely a small "
            f"piece of metal; {LOCATE}"
        )
    return f"{head} its neighbours: likely mis-keyed, or something small; read it again"


def _mesh_sentence(anomaly: Anomaly, plan: FloorPlan, room: str, persistence: str) -> str:
    return (
        f"a regular pattern over the floor that repeats every {anomaly.width:.2f} m on this "
        f"grid, about {anomaly.strength:+.0f} from trough to crest: likely reinforcement mesh, "
        f"whose true pitch may be finer, or heating loops; {LOCATE}"
    )


@dataclass(frozen=True)
class Told:
    """What is said of an anomaly, and whether more than the grid speaks for what it is."""

    sentence: str
    confirmed: bool


def describe(anomaly: Anomaly, plan: FloorPlan, room: str, persistence: str) -> Told:
    """Say what an anomaly looks like and what to do about it."""
    by_kind = {
        "line": _line_sentence,
        "spot": _spot_sentence,
        "stray": _stray_sentence,
        "mesh": _mesh_sentence,
    }
    contested, drawn = anomaly.standing == "contested", drawn_words(anomaly, plan)
    say = _contested_sentence if contested else by_kind[anomaly.kind]
    confirmed = anomaly.told or contested or bool(drawn)
    return Told(
        say(anomaly, plan, room, persistence) + ("" if confirmed else UNCONFIRMED) + drawn,
        confirmed,
    )


def _contested_sentence(anomaly: Anomaly, plan: FloorPlan, room: str, persistence: str) -> str:
    if anomaly.kind == "line":
        head = (
            f"line-shaped, {anomaly.length:.1f} m, {_line_course(anomaly.geometry, plan, room)}, "
            f"about {anomaly.strength:+.0f} over its sides"
        )
    else:
        count = max(1, anomaly.disturbed.size)
        readings = "one reading" if count == 1 else f"{count} readings"
        head = f"{readings} {_place(anomaly, plan, room)}, about {anomaly.strength:+.0f}"
    visits = {
        "dries": "; it falls from visit to visit as wet floor does",
        "persists": "; no change since the earlier visit is shown, which tells neither",
    }.get(persistence, "")
    if anomaly.swept:
        return (
            f"{head}: contested, a pipe, metal or a wrong reading as well as wet floor, and the "
            f"sweeps across it cannot tell which either{visits}; it stays in the map; have a "
            "specialist locate what lies there, by a pipe and cable locator or ground radar, and "
            "keep holes clear of it until then"
        )
    return (
        f"{head}: contested, a pipe, metal or a wrong reading as well as wet floor, and the "
        f"readings of this visit cannot tell which{visits}; "
        f"it stays in the map; sweep the scanner across it, and {LOCATE}"
    )


def reason(anomaly: Anomaly, name: str, stays: bool) -> str:
    """Say why a reading is flagged."""
    words = {
        "line": "lies over a line-shaped anomaly",
        "spot": "lies over a spot anomaly",
        "mesh": "is disturbed by a regular pattern",
        "stray": "stands alone",
    }
    if anomaly.standing == "contested":
        return f"may be wet floor or something embedded ({name}); stays in the map"
    if stays:
        return f"{words[anomaly.kind]} ({name}), with wet floor beside it; stays in the map"
    return f"{words[anomaly.kind]} ({name}); kept, but left out of the map"
