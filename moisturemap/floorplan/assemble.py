"""From drawn outlines and lines to a floor plan that can be relied on."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence, Sized

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from moisturemap.errors import OptionError, PlanError
from moisturemap.floorplan.line import (
    LINE_KINDS,
    NOT_KEPT_CLEAR,
    PlanLine,
    unknown_words,
    with_what_it_encloses,
)
from moisturemap.floorplan.mend import cut_out, mend_outline, part_overlaps
from moisturemap.floorplan.outline import LENGTH_UNITS, NO_FLOOR, Outline, finite_places
from moisturemap.floorplan.plan import FloorPlan
from moisturemap.floorplan.room import Room

MOST_CORNERS = 200_000
MOST_ROOMS = 2_000
WIDEST_M = 2_000.0
NARROWEST_M = 0.5
LONGEST_NAME = 200
"""Characters of a name that are kept; longer ones are cut and that is noted (our choice)."""


def make_plan(
    outlines: Sequence[Outline],
    lines: Sequence[PlanLine] = (),
    *,
    unit: str = "m",
    source: str | None = None,
    notes: Sequence[str] = (),
) -> FloorPlan:
    """Check, mend and assemble a floor plan.

    Parameters
    ----------
    outlines : sequence of Outline
        Rooms and voids, in the unit of the drawing.
    lines : sequence of PlanLine
        In the unit of the drawing.
    unit : str
        Unit of the coordinates, one of ``LENGTH_UNITS``.
    source : str, optional
        File, for messages.
    notes : sequence of str
        What the reader has already noted.

    Returns
    -------
    FloorPlan
        In metres; ``notes`` say what was mended or assumed.

    Raises
    ------
    PlanError
        Naming room, ring and place, when the plan cannot be mended without guessing.
    OptionError
        When the unit is not known.
    """
    said = list(notes)
    scale = metres_per(unit)
    rooms = [outline for outline in outlines if not outline.void]
    _check_size(outlines, rooms, scale, unit, source)
    named = _named([_scaled(outline, scale, source) for outline in rooms], said)
    heard: list[str] = []
    polygons = [(o.name, mend_outline(o, heard.append, source=source)) for o in named]
    voids = [
        (f"void {number}", mend_outline(_scaled(o, scale, source), heard.append, source=source))
        for number, o in enumerate((o for o in outlines if o.void), 1)
    ]
    polygons = part_overlaps(polygons, heard.append, source=source)
    polygons = cut_out(polygons, voids, heard.append, source=source)
    said += _gathered(heard)
    kept = _sound_lines(lines, scale, polygons, said, source)
    unknown = unknown_words(kept)
    said += [unknown] if unknown else []
    rooms_here = tuple(Room(name, area) for name, area in polygons)
    return FloorPlan(rooms_here, kept, tuple(said), _same_named(rooms, named))


def metres_per(unit: str) -> float:
    """Return the metres in one unit of length, or refuse the unit.

    Parameters
    ----------
    unit : str
        Name of a unit of length.

    Returns
    -------
    float
        [m]

    Raises
    ------
    OptionError
    """
    try:
        return LENGTH_UNITS[unit]
    except (KeyError, TypeError):
        raise OptionError(
            "the unit of the coordinates is not known", value=unit, allowed=", ".join(LENGTH_UNITS)
        ) from None


def _check_size(
    outlines: Sequence[Outline],
    rooms: Sequence[Outline],
    scale: float,
    unit: str,
    source: str | None,
) -> None:
    if not rooms:
        raise PlanError(
            "the plan has no room", source=source, allowed="at least one closed outline of a room"
        )
    for outline in outlines:
        if not outline.rings:
            raise PlanError(NO_FLOOR, source=source, place=_called(outline), value="no ring")
    rings = [ring for outline in outlines for ring in outline.rings]
    corners = sum(len(ring) for ring in rings if isinstance(ring, Sized))
    for what, number, most in (
        ("corners", corners, MOST_CORNERS),
        ("rooms", len(rooms), MOST_ROOMS),
    ):
        if number > most:
            raise PlanError(
                f"the plan has {number:,} {what}",
                source=source,
                allowed=f"at most {most:,}: simplify the drawing, or give one floor at a time",
            )
    shells = [finite_places(o.rings[0], f"{_called(o)}, outer ring", source=source) for o in rooms]
    every = np.concatenate(shells)
    if len(every):
        _check_width(np.ptp(every, axis=0) * scale, scale, unit, source)


def _check_width(width: NDArray[np.float64], scale: float, unit: str, source: str | None) -> None:
    across = float(width.max())
    if NARROWEST_M <= across <= WIDEST_M:
        return
    shown = f"{across:,.0f} m" if across > 1 else f"{across:.3g} m"
    plausible = [
        other
        for other in ("m", "mm", "cm", "ft")
        if other != unit and 3 <= across / scale * LENGTH_UNITS[other] <= 500
    ]
    guess = f"; the coordinates look like {' or '.join(plausible)}" if plausible else ""
    raise PlanError(
        f"with coordinates in {unit} the plan is {shown} wide{guess}",
        source=source,
        allowed=f"{NARROWEST_M:g} m to {WIDEST_M:,.0f} m; state the unit of the coordinates",
    )


def _called(outline: Outline) -> str:
    kind = "void" if outline.void else "room"
    return f"{kind} '{outline.name}'" if outline.name else f"{kind} ({outline.place})"


def _scaled(outline: Outline, scale: float, source: str | None) -> Outline:
    rings = tuple(
        finite_places(
            ring,
            f"{_called(outline)}, {f'hole {number}' if number else 'outer ring'}",
            source=source,
        )
        * scale
        for number, ring in enumerate(outline.rings)
    )
    return Outline(outline.name, rings, outline.place, outline.void)


def _named(outlines: list[Outline], said: list[str]) -> list[Outline]:
    """Give every room a name of its own, noting what was numbered."""
    wanted = [_plain_name(outline.name) for outline in outlines]
    taken = {name for name in wanted if name}
    used: set[str] = set()
    named = []
    unnamed = 0
    for name, outline in zip(wanted, outlines, strict=True):
        unique = name
        if not name:
            unnamed += 1
            unique = _free("room", unnamed, taken | used)
        elif name in used:
            unique = _free(name, 2, taken | used)
            where = extent_words(*shapely.bounds(shapely.multipoints(outline.rings[0])))
            said.append(f"A second room is named '{name}'; it is called '{unique}' here: {where}.")
        used.add(unique)
        named.append(Outline(unique, outline.rings, outline.place, outline.void))
    for name in map(_whole_name, (one.name for one in outlines)):
        if len(name) > LONGEST_NAME:
            kept = f"'{name[:40]}…' is cut to {LONGEST_NAME} characters"
            said.append(f"The name of the room {kept}; use the cut name in survey.toml.")
    if unnamed:
        rooms = "One room has" if unnamed == 1 else f"{unnamed} rooms have"
        said.append(f"{rooms} no name; numbered in the order of the drawing.")
    return named


def _same_named(drawn: Sequence[Outline], named: Sequence[Outline]) -> tuple[tuple[str, ...], ...]:
    """Group the rooms that are drawn with one name, in the order of the drawing."""
    groups: dict[str, list[str]] = {}
    for outline, here in zip(drawn, named, strict=True):
        groups.setdefault(_plain_name(outline.name), []).append(here.name)
    return tuple(tuple(group) for name, group in groups.items() if name and len(group) > 1)


def extent_words(west: float, south: float, east: float, north: float) -> str:
    """Say over what a room reaches [m], in words."""
    return f"x {west:.1f} to {east:.1f} m, y {south:.1f} to {north:.1f} m"


def _plain_name(name: object) -> str:
    return _whole_name(name)[:LONGEST_NAME].strip()


def _whole_name(name: object) -> str:
    text = re.sub(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]+", " ", str(name))
    return " ".join(text.split())


def _free(stem: str, number: int, taken: set[str]) -> str:
    while f"{stem} {number}" in taken:
        number += 1
    return f"{stem} {number}"


def _gathered(heard: Iterable[str]) -> list[str]:
    """Turn what was mended into sentences; the same small thing in many rooms becomes one."""
    turned = [text.partition(",")[0] for text in heard if text.endswith("was turned round")]
    rest = [
        f"{text[0].upper()}{text[1:]}." for text in heard if not text.endswith("was turned round")
    ]
    if turned:
        shown = ", ".join(turned[:5]) + (f" and {len(turned) - 5} more" if turned[5:] else "")
        rest.append(f"Outer rings drawn clockwise were turned round: {shown}.")
    return rest


CABLE_M = 0.5
"""A power point drawn as a longer line is the cable to it [m]; our choice."""

_STRAYED = 3.0
"""A service this many times the floor's width away is likelier drawn in another system (our
choice)."""


def _sound_lines(
    lines: Sequence[PlanLine],
    scale: float,
    rooms: list[tuple[str, Polygon]],
    said: list[str],
    source: str | None,
) -> tuple[PlanLine, ...]:
    floor = shapely.union_all([polygon for _, polygon in rooms])
    kept = []
    for number, line in enumerate(lines, 1):
        where = f"line {number} ({line.kind}{f', {line.name!r}' if line.name else ''})"
        if line.kind not in LINE_KINDS:
            raise PlanError(
                "the kind of a line is not known",
                source=source,
                place=where,
                value=line.kind,
                allowed=", ".join(LINE_KINDS),
            )
        geometry = _sound_line(line.geometry, scale, where, source)
        if geometry is None:
            said.append(f"{where[0].upper()}{where[1:]} has no length and was left out.")
            continue
        off, across = float(geometry.distance(floor)), math.sqrt(floor.area)
        if off > max(5.0, 0.1 * across):
            upper = f"{where[0].upper()}{where[1:]}"
            strayed = line.kind == "known-service" and off > _STRAYED * across
            doubt = f": if it runs in the floor, {NOT_KEPT_CLEAR}" if strayed else ""
            said.append(f"{upper} lies {off:.1f} m off the floor; kept as drawn{doubt}.")
        kind = "known-service" if _is_cable(line.kind, geometry) else line.kind
        if kind == "known-service":
            geometry = with_what_it_encloses(geometry)
        kept.append(PlanLine(kind, geometry, _plain_name(line.name)))
    return tuple(kept)


def _is_cable(kind: str, geometry: BaseGeometry) -> bool:
    """Whether a power point is drawn as a line: what leads to it."""
    return kind == "power-point" and "Line" in geometry.geom_type and geometry.length > CABLE_M


def _sound_line(
    geometry: BaseGeometry, scale: float, where: str, source: str | None
) -> BaseGeometry | None:
    places = shapely.get_coordinates(geometry)
    if len(places):
        finite_places(places, where, source=source)
    flat = shapely.transform(shapely.force_2d(geometry), lambda xy: xy * scale)
    if flat.is_empty or (flat.length == 0 and "Point" not in flat.geom_type):
        return None
    if "Polygon" in flat.geom_type and not flat.is_valid:
        flat = flat.buffer(0)
    return None if flat.is_empty else flat
