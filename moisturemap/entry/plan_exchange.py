"""The floor plan in plain types, to and from a page that draws it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import shapely
from shapely.affinity import affine_transform, rotate, translate
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from moisturemap.errors import PlanError
from moisturemap.floorplan import (
    BUILD_UPS,
    LINE_KINDS,
    MEMBRANES,
    FloorPlan,
    PlanLine,
    Room,
    Slab,
    Storey,
)
from moisturemap.floorplan.mend import mend_outline, part_overlaps
from moisturemap.floorplan.outline import Outline
from moisturemap.store import Project, storey_of, with_extra

LARGEST_M = 2000.0
"""Coordinates beyond this are no floor but a slip of the unit [m]."""

Plain = Mapping[str, Any]


def plan_from_plain(content: Plain) -> FloorPlan:
    """Make a floor plan of rooms and lines as a page draws them.

    Parameters
    ----------
    content : mapping
        ``rooms``: each ``name``, ``rings`` (outline, then holes, corners [m]) and ``slab``;
        ``lines``: each ``kind``, ``name``, ``shape`` (point, line or area) and ``places`` [m].

    Raises
    ------
    PlanError
        When a room has no name of its own, crosses itself or overlaps another; says where.
    """
    notes: list[str] = []
    drawn = content["rooms"]
    if not drawn:
        message = "the plan has no room yet"
        raise PlanError(message, allowed="at least one room")
    names = [str(room["name"]).strip() for room in drawn]
    _refuse_names(names)
    outlines = [
        Outline(name, tuple(_closed(ring, name) for ring in room["rings"]))
        for name, room in zip(names, drawn, strict=True)
    ]
    polygons = [(outline.name, mend_outline(outline, notes.append)) for outline in outlines]
    polygons = part_overlaps(polygons, notes.append)
    rooms = tuple(
        Room(name, polygon, _slab(room.get("slab") or {}, name), _storey(room.get("storey")))
        for (name, polygon), room in zip(polygons, drawn, strict=True)
    )
    return FloorPlan(rooms, tuple(_line(one) for one in content["lines"]), tuple(notes))


def _refuse_names(names: Sequence[str]) -> None:
    for name in names:
        if not name:
            message = "a room has no name"
            raise PlanError(message, allowed="a name for every room")
        if names.count(name) > 1:
            message = "two rooms have the same name"
            raise PlanError(message, value=name, allowed="a name of its own for every room")


def _corners(ring: Any, where: str) -> np.ndarray[Any, np.dtype[np.float64]]:
    corners = np.asarray(ring, dtype=float)
    fits = corners.ndim == 2 and corners.shape[1] == 2 and np.isfinite(corners).all()
    if not fits or np.abs(corners).max(initial=0.0) > LARGEST_M:
        message = "a corner cannot be used"
        allowed = f"two numbers each, at most {LARGEST_M:g} m from the origin"
        raise PlanError(message, place=where, allowed=allowed)
    return corners


def _closed(ring: Any, where: str) -> np.ndarray[Any, np.dtype[np.float64]]:
    corners = _corners(ring, where)
    return np.vstack([corners, corners[:1]])


def _slab(given: Plain, room: str) -> Slab:
    placed = given.get("placed")
    thickness = given.get("thickness_mm")
    faces = given.get("drying_faces", 1)
    if thickness is not None and not 1 <= float(thickness) <= LARGEST_M:
        message = "the thickness cannot be right"
        raise PlanError(message, place=room, value=thickness, allowed="1 to 2000 mm")
    if faces not in (1, 2):
        message = "drying faces"
        raise PlanError(message, place=room, value=faces, allowed="1 or 2")
    return Slab(
        base=str(given.get("base") or "concrete"),
        thickness_mm=None if thickness is None else float(thickness),
        drying_faces=int(faces),
        heated=_flag_or_none(given.get("heated")),
        placed=None if not placed else _day(placed, room),
        pour=str(given.get("pour") or ""),
        on=str(given.get("on") or ""),
        service_temperature_c=_number_or_none(given.get("service_temperature_c")),
        service_rh_pct=_number_or_none(given.get("service_rh_pct")),
        **_history(given, room),
    )


def _storey(given: Plain | None) -> Storey | None:
    if not given or not given.get("name"):
        return None
    x, y = given.get("origin") or (0.0, 0.0)
    return Storey(str(given["name"]), given.get("level"), (float(x), float(y)))


def _plain_storey(storey: Storey | None) -> dict[str, Any] | None:
    if storey is None:
        return None
    return {"name": storey.name, "level": storey.level, "origin": list(storey.origin)}


def _history(given: Plain, room: str) -> dict[str, Any]:
    """Return what is known of covering, membrane and build-up, so that no edit loses it."""
    days = ("covered", "lifted", "first_fault")
    found: dict[str, Any] = {
        name: _day(given[name], room) if given.get(name) else None for name in days
    }
    for name, allowed in (("membrane", MEMBRANES), ("build_up", BUILD_UPS)):
        value = str(given.get(name) or "")
        if value and value not in allowed:
            message = f"{name.replace('_', '-')} of the room"
            raise PlanError(message, place=room, value=value, allowed=", ".join(allowed))
        found[name] = value
    return found


def _flag_or_none(value: Any) -> bool | None:
    return None if value is None else bool(value)


def _number_or_none(value: Any) -> float | None:
    return None if value is None or value == "" else float(value)


def _day(text: Any, room: str) -> date:
    try:
        return date.fromisoformat(str(text))
    except ValueError:
        message = "the day the layer was placed cannot be read"
        raise PlanError(message, place=room, value=text, allowed="a day like 2026-03-01") from None


def _line(given: Plain) -> PlanLine:
    kind, shape, name = given["kind"], given["shape"], str(given.get("name") or "")
    if kind not in LINE_KINDS:
        message = "no such kind of line"
        raise PlanError(message, value=kind, allowed=", ".join(LINE_KINDS))
    places = _corners(given["places"], name or kind)
    least = {"point": 1, "line": 2, "area": 3}.get(shape)
    if least is None or len(places) < least:
        message = f"a {kind} needs more places"
        raise PlanError(message, place=name, value=len(places), allowed=f"{least or 'a'} or more")
    make = {"point": lambda p: Point(p[0]), "line": LineString, "area": Polygon}[shape]
    geometry = make(places)
    if shape != "point" and geometry.length == 0:
        message = f"a {kind} has no length"
        raise PlanError(message, place=name)
    return PlanLine(kind, geometry, name)


def plan_to_plain(plan: FloorPlan) -> dict[str, Any]:
    """Return rooms and lines in plain types; the inverse of :func:`plan_from_plain`.

    Parameters
    ----------
    plan : FloorPlan
    """
    return {
        "rooms": [
            {
                "name": room.name,
                "rings": _rings(room.polygon),
                "slab": _plain_slab(room.slab),
                "storey": _plain_storey(room.storey),
            }
            for room in plan.rooms
        ],
        "lines": [part for line in plan.lines for part in _plain_lines(line)],
    }


def _places(coordinates: Any) -> list[list[float]]:
    return [[round(float(x), 4), round(float(y), 4)] for x, y, *_ in coordinates]


def _rings(polygon: Polygon) -> list[list[list[float]]]:
    return [_places(ring.coords)[:-1] for ring in (polygon.exterior, *polygon.interiors)]


def _plain_slab(slab: Slab) -> dict[str, Any]:
    return {
        "base": slab.base,
        "thickness_mm": slab.thickness_mm,
        "drying_faces": slab.drying_faces,
        "heated": slab.heated,
        "placed": slab.placed.isoformat() if slab.placed else None,
        "pour": slab.pour,
        "on": slab.on,
        "service_temperature_c": slab.service_temperature_c,
        "service_rh_pct": slab.service_rh_pct,
        **{
            name: None if day is None else day.isoformat()
            for name, day in (
                ("covered", slab.covered),
                ("lifted", slab.lifted),
                ("first_fault", slab.first_fault),
            )
        },
        "membrane": slab.membrane,
        "build_up": slab.build_up,
    }


def _plain_lines(line: PlanLine) -> list[dict[str, Any]]:
    parts = getattr(line.geometry, "geoms", [line.geometry])
    return [{"kind": line.kind, "name": line.name, **_plain_shape(part)} for part in parts]


def _plain_shape(geometry: BaseGeometry) -> dict[str, Any]:
    if geometry.geom_type == "Point":
        return {"shape": "point", "places": _places(geometry.coords)}
    if geometry.geom_type == "Polygon":
        return {"shape": "area", "places": _places(geometry.exterior.coords)[:-1]}
    return {"shape": "line", "places": _places(geometry.coords)}


def stored_plan(project: Project) -> FloorPlan | None:
    """Return the plan of a project, also before it has a visit; None without a room.

    Parameters
    ----------
    project : Project
    """
    rooms = tuple(
        Room(
            row["name"],
            shapely.from_wkb(row["geometry"]),
            _slab(with_extra(row), row["name"]),
            storey_of(with_extra(row)),
        )
        for row in project.rows("rooms")
    )
    lines = tuple(
        PlanLine(row["kind"], shapely.from_wkb(row["geometry"]), row["name"] or "")
        for row in project.rows("lines")
    )
    return FloorPlan(rooms, lines) if rooms else None


def left_out(rows: Sequence[Mapping[str, Any]], plan: FloorPlan) -> int:
    """Return how many of these rows have a place (``x, y`` [m]) that lies in no room of a plan.

    Parameters
    ----------
    rows : sequence of mapping
        Readings or tests of a job.
    plan : FloorPlan
    """
    placed = [(row["x"], row["y"]) for row in rows if row["x"] is not None and row["y"] is not None]
    if not placed:
        return 0
    outline = plan.outline
    shapely.prepare(outline)
    return int((~shapely.covers(outline, shapely.points(placed))).sum())


def turned(plan: FloorPlan, degrees: float = 0.0, *, mirror: bool = False) -> FloorPlan:
    """Turn a plan counter-clockwise about its origin and mirror it left to right, to start at 0.

    A plan that is neither turned nor mirrored keeps its coordinates.

    Parameters
    ----------
    plan : FloorPlan
    degrees : float
        Counter-clockwise [degrees].
    mirror : bool
        Left to right.
    """
    if degrees == 0 and not mirror:
        return plan

    def moved(geometry: BaseGeometry) -> BaseGeometry:
        if mirror:
            geometry = affine_transform(geometry, [-1, 0, 0, 1, 0, 0])
        return rotate(geometry, degrees, origin=(0, 0))

    rooms = [replace(room, polygon=moved(room.polygon)) for room in plan.rooms]
    lines = [PlanLine(line.kind, moved(line.geometry), line.name) for line in plan.lines]
    west, south, _, _ = FloorPlan(tuple(rooms)).bounds
    return FloorPlan(
        tuple(replace(room, polygon=translate(room.polygon, -west, -south)) for room in rooms),
        tuple(PlanLine(x.kind, translate(x.geometry, -west, -south), x.name) for x in lines),
        plan.notes,
    )
