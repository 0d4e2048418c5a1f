"""Mending of drawing faults that leave no doubt about what was meant; the others are refused."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree, polygonize, unary_union
from shapely.geometry import LinearRing, LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient
from shapely.validation import explain_validity

from moisturemap.errors import PlanError
from moisturemap.floorplan.joint import polygons_of
from moisturemap.floorplan.outline import CLOSING_M, NO_FLOOR, Outline, Say, tidy_ring
from moisturemap.floorplan.room import Room

Array = NDArray[np.float64]

MOST_CROSSINGS = 200
"""Self-crossings of one ring that are looked at one by one; our choice.

A wall traced twice with a shaking hand has some tens; each takes about 1 ms.
"""


def mend_outline(outline: Outline, say: Say, *, source: str | None = None) -> Polygon:
    """Make a valid polygon of a drawn outline, mending small faults and saying so.

    Parameters
    ----------
    outline : Outline
        Corners in metres.
    say : callable
        Takes a sentence for everything that was mended.
    source : str, optional
        File, for messages.

    Returns
    -------
    Polygon
        Valid, outer ring counter-clockwise.

    Raises
    ------
    PlanError
        When the outline crosses itself, encloses nothing, or a hole lies outside; names room,
        ring and place.
    """
    label = _label(outline)
    shell = _ring_area(outline, 0, label, say, source)
    floor: BaseGeometry = shell
    for number in range(1, len(outline.rings)):
        where = f"{label}, hole {number}"
        hole = _hole_area(outline, number, label, say, source)
        if hole is None:
            continue
        if not hole.intersects(shell) or hole.intersection(shell).area < 1e-9:
            raise PlanError(
                "the hole lies outside its room",
                source=source,
                place=where,
                value=_at(hole),
                allowed="holes inside the outer ring",
            )
        if not shell.contains(hole):
            say(f"{where}: reaches over the edge of the room and was cut off there")
        elif hole.intersection(floor).area < hole.area - 1e-9:
            say(f"{where}: overlaps another hole; they were joined")
        floor = floor.difference(hole)
    return _one_piece(floor, label, say, source)


def cut_out(
    rooms: list[tuple[str, Polygon]],
    voids: list[tuple[str, Polygon]],
    say: Say,
    *,
    source: str | None = None,
) -> list[tuple[str, Polygon]]:
    """Cut columns, pits and openings out of the rooms they stand in."""
    if not voids:
        return rooms
    tree = STRtree([void for _, void in voids])
    cut = []
    touched: set[int] = set()
    for name, polygon in rooms:
        inside = [int(i) for i in tree.query(polygon, predicate="intersects")]
        touched.update(inside)
        rest = polygon.difference(unary_union([voids[i][1] for i in inside]))
        cut.append((name, _one_piece(rest, f"room '{name}'", say, source) if inside else polygon))
    for index, (label, _) in enumerate(voids):
        if index not in touched:
            say(f"{label}: stands in no room and was left out")
    return cut


def part_overlaps(
    rooms: list[tuple[str, Polygon]], say: Say, *, source: str | None = None
) -> list[tuple[str, Polygon]]:
    """Trim overlaps up to ``CLOSING_M`` wide off the later room; refuse wider ones.

    Raises
    ------
    PlanError
        Naming both rooms, the size of the overlap and its place.
    """
    polygons = [polygon for _, polygon in rooms]
    pairs = STRtree(polygons).query(polygons, predicate="intersects")
    pairs = pairs[:, pairs[0] < pairs[1]]
    for first, second in pairs[:, np.lexsort(pairs[::-1])].T:
        shared = shapely.intersection(polygons[first], polygons[second], grid_size=1e-6)
        if shared.area < 1e-9:
            continue
        names = f"rooms '{rooms[first][0]}' and '{rooms[second][0]}'"
        if not is_sliver(shared):
            raise PlanError(
                f"the rooms overlap by {shared.area:.2f} m2",
                source=source,
                place=names,
                value=_at(shared),
                allowed=f"rooms side by side; overlaps up to {CLOSING_M * 1000:.0f} mm wide are "
                "trimmed. A room inside another must be a hole of it",
            )
        rest = polygons[second].difference(polygons[first])
        polygons[second] = _one_piece(rest, f"room '{rooms[second][0]}'", lambda _: None, source)
        if shared.area > 1e-4:
            say(
                f"{names}: overlapped by {shared.area:.3f} m2 (no more than "
                f"{CLOSING_M * 1000:.0f} mm wide); trimmed off '{rooms[second][0]}'"
            )
    return [(name, polygon) for (name, _), polygon in zip(rooms, polygons, strict=True)]


def is_sliver(area: BaseGeometry) -> bool:
    """Tell whether an area is nowhere wider than ``CLOSING_M``."""
    return bool(area.buffer(-CLOSING_M / 2).is_empty)


def mend(room: Room) -> tuple[Room, tuple[str, ...]]:
    """Return a room with its polygon mended, and what was mended, in sentences.

    Parameters
    ----------
    room : Room

    Raises
    ------
    PlanError
        When the polygon cannot be mended without guessing.
    """
    notes: list[str] = []
    rings = (room.polygon.exterior, *room.polygon.interiors)
    outline = Outline(room.name, tuple(np.asarray(ring.coords) for ring in rings))
    polygon = mend_outline(outline, notes.append)
    return replace(room, polygon=polygon), tuple(notes)


def _label(outline: Outline) -> str:
    kind = "void" if outline.void else "room"
    if outline.name:
        return f"{kind} '{outline.name}'"
    return f"{kind} without a name" + (f" ({outline.place})" if outline.place else "")


def _hole_area(
    outline: Outline, number: int, label: str, say: Say, source: str | None
) -> Polygon | None:
    try:
        return _ring_area(outline, number, label, say, source)
    except PlanError as error:
        if error.message != NO_FLOOR:
            raise
        say(f"{label}, hole {number}: has no width and was left out")
        return None


def _ring_area(outline: Outline, number: int, label: str, say: Say, source: str | None) -> Polygon:
    """Area enclosed by one ring of an outline, as a valid polygon without holes but touches."""
    where = f"{label}, outer ring" if number == 0 else f"{label}, hole {number}"
    corners = tidy_ring(outline.rings[number], where, say, source=source)
    drawn = Polygon(corners)
    if drawn.is_valid:
        area = drawn
    else:
        area = _untangled(corners, drawn, where, say, source)
    if area.area <= 0 or is_sliver(area):
        raise PlanError(
            NO_FLOOR,
            source=source,
            place=where,
            value=f"{area.area:.6f} m2",
            allowed=f"an area wider than {CLOSING_M * 1000:.0f} mm",
        )
    if number == 0 and not outline.void and not LinearRing(corners).is_ccw:
        say(f"{where}: ran clockwise and was turned round")
    return orient(area)


def _untangled(corners: Array, drawn: Polygon, where: str, say: Say, source: str | None) -> Polygon:
    """Undo crossings no wider than ``CLOSING_M``; refuse the others at their place.

    The ring is cut at its crossings into faces. A simple ring winds once, one way, round each
    face of its floor and not at all round the rest; any other face is a fault.
    """
    closed = np.vstack([corners, corners[:1]])
    if _crosses_often(closed):
        raise _crossing(drawn, where, source, f"crosses itself more than {MOST_CROSSINGS} times")
    faces = list(polygonize(list(_noded(closed))).geoms)
    winding = [_winding(corners, face) for face in faces]
    weight = {
        sign: sum(f.area for f, w in zip(faces, winding, strict=True) if w == sign)
        for sign in (1, -1)
    }
    way = max(weight, key=lambda sign: weight[sign])
    wrong = [f for f, w in zip(faces, winding, strict=True) if w not in (0, way)]
    broad = [face for face in wrong if not is_sliver(face)]
    if broad:
        raise _crossing(drawn, where, source)
    good = [f for f, w in zip(faces, winding, strict=True) if w * way > 0]
    pieces = polygons_of(unary_union(good))
    main = [piece for piece in pieces if not is_sliver(piece)]
    if len(main) > 1:
        raise _crossing(drawn, where, source, "touches itself and falls into parts")
    if not main:
        raise PlanError(NO_FLOOR, source=source, place=where)
    what = (
        "a crossing no wider than 20 mm was undone"
        if wrong or len(pieces) > 1
        else "touches itself; the area it encloses is kept"
    )
    say(f"{where}: {what}")
    return Polygon(main[0].exterior, [h for h in main[0].interiors if not is_sliver(Polygon(h))])


def _crosses_often(closed: Array) -> bool:
    """Tell whether a ring meets itself more than ``MOST_CROSSINGS`` times, without finding all.

    A ring drawn at random has a number of crossings that grows with the square of its corners.
    """
    sides = shapely.linestrings(np.stack([closed[:-1], closed[1:]], axis=1))
    tree, found, begin, step = STRtree(sides), 0, 0, 16
    while begin < len(sides):
        one, other = tree.query(sides[begin : begin + step], predicate="intersects")
        apart = np.abs(one + begin - other)
        # neighbours share a corner; the last side and the first are neighbours too
        found += int(np.count_nonzero((apart > 1) & (apart < len(sides) - 1)))
        if found > 2 * MOST_CROSSINGS:  # both sides of a crossing count it
            return True
        begin, step = begin + step, min(2 * step, 4096)
    return False


def _noded(closed: Array) -> list[BaseGeometry]:
    net = unary_union(LineString(closed))
    return list(getattr(net, "geoms", [net]))


def _winding(corners: Array, face: Polygon) -> int:
    """Count how often a ring winds counter-clockwise round a face (Sunday's crossing rule)."""
    x, y = face.representative_point().coords[0]
    ahead = np.roll(corners, -1, axis=0)
    side = (ahead[:, 0] - corners[:, 0]) * (y - corners[:, 1]) - (x - corners[:, 0]) * (
        ahead[:, 1] - corners[:, 1]
    )
    up = (corners[:, 1] <= y) & (ahead[:, 1] > y) & (side > 0)
    down = (corners[:, 1] > y) & (ahead[:, 1] <= y) & (side < 0)
    return int(up.sum() - down.sum())


def _crossing(
    drawn: Polygon, where: str, source: str | None, fault: str = "crosses itself"
) -> PlanError:
    reason = explain_validity(drawn)
    place = reason.partition("[")[2].rstrip("]").split()
    spot = f"x = {float(place[0]):.3f} m, y = {float(place[1]):.3f} m" if len(place) >= 2 else None
    return PlanError(
        f"the ring {fault}" + (f" at {spot}" if spot else ""),
        source=source,
        place=where,
        allowed="corners in order round the room, without crossing walls",
    )


def _one_piece(floor: BaseGeometry, label: str, say: Say, source: str | None) -> Polygon:
    pieces = polygons_of(floor)
    main = [piece for piece in pieces if not is_sliver(piece)]
    if len(main) == 1:
        if len(pieces) > 1:
            say(f"{label}: slivers up to {CLOSING_M * 1000:.0f} mm wide were left out")
        return orient(main[0])
    if not main:
        raise PlanError(
            "no floor is left of the room",
            source=source,
            place=label,
            allowed="holes and neighbours that leave some floor",
        )
    raise PlanError(
        f"holes or neighbours cut the room into {len(main)} parts",
        source=source,
        place=label,
        allowed="one outline for each part, each with its own name",
    )


def _at(area: BaseGeometry) -> str:
    middle = area.representative_point()
    return f"near x = {middle.x:.2f} m, y = {middle.y:.2f} m"
