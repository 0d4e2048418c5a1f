"""The set-out of a room's holes: tape lines on the plan, each with its distance."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from moisturemap.bundles import Study
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.drilled_holes import (
    DRILLED,
    draw_drilled,
    drilled_already,
    keep_off_drilled,
    name_drilled,
    proposed,
)
from moisturemap.figures.key import Entry, Key, Mark, Row
from moisturemap.figures.labels import Floor, Label
from moisturemap.figures.samples import line_names
from moisturemap.figures.sheet import Format, Sheet, Texts
from moisturemap.figures.style import INK, MUTED, WARNING
from moisturemap.floorplan import FloorPlan, Room, corners, walls

TAPE_PT = 7.0
"""Of a distance beside its tape [pt]."""

MANY_HOLES = 10
"""More holes in one room are drawn small, and their names may cross tapes."""


@dataclass(frozen=True, slots=True)
class Tape:
    """A tape line from a wall or corner to a hole [m]."""

    start: tuple[float, float]
    end: tuple[float, float]
    distance: float
    hole: str


def rooms_to_set_out(study: Study) -> tuple[Room, ...]:
    """Return the rooms that hold proposed holes, in plan order."""
    named = set(proposed(study.drill_plan)["room"])
    return tuple(room for room in study.survey.plan.rooms if room.name in named)


CAUTION = (
    "Distances from the finished face of the wall as drawn; an arrow shows which way the tape runs "
    "from the hole. Measure twice; where the room does not agree with the plan, stop and ask. "
    "Clear every caution, and sweep the meter across each place both ways, before drilling."
)


def set_out_sheet(
    study: Study, room: Room, form: Format = Format(), *, keyed: bool = True
) -> Figure:
    """Draw one room with its holes, the tape lines that fix each, and what to keep clear of.

    Parameters
    ----------
    study : Study
    room : Room
    form : Format
    keyed : bool
        Whether key and caution stand on the sheet; where many sheets follow each other they are
        said once before them.
    """
    holes, drilled = _holes_of(study, room), drilled_already(study, room)
    sheet = Sheet(room.polygon.bounds, form, keyed=keyed)
    tapes = [tape for hole in holes.itertuples() for tape in tapes_of(hole, room)]
    floor = sheet.floor()
    near = study.anomalies[study.anomalies.intersects(room.polygon.buffer(0.5))]
    layers.keep_off_signs(floor, near)
    for line in study.survey.plan.lines_of("known-service"):
        layers.keep_off_line(floor, _edge(line.geometry).intersection(room.polygon))
    signs = keep_off_drilled(floor, drilled)
    beside, labels = _place(floor, room, (holes, signs), tapes, form)
    names = name_drilled(floor, drilled)
    distances = [] if labels or not tapes else _listed(tapes, form)
    rows = [Row("hole", "place to test"), Row("tape", "tape, square to the wall or to the corner")]
    rows += [DRILLED] if drilled else []
    rows += [
        Row(sign, f"{', '.join(names)} flagged by the scan: locate before drilling")
        for sign, names in layers.signs_of(near).items()
    ]
    plan = _within(study.survey.plan, room)
    rows += [Row(*one) for one in line_names(plan).items()]
    depths = {form.units.depth(h.depth_mm) for h in holes.itertuples() if h.depth_mm == h.depth_mm}
    told = f"Visit {study.visit.id}" + (f" · depth {', '.join(sorted(depths))}" if depths else "")
    texts = Texts(f"Set-out: {room.name}", told, CAUTION if keyed else "")
    figure, (ax,) = sheet.draw(
        texts, Key((*(rows if keyed else [DRILLED] * bool(drilled)), *distances))
    )
    layers.draw_plan(ax, plan)
    layers.draw_anomalies(ax, near)
    for tape in tapes:
        _draw_tape(ax, tape)
    draw_drilled(ax, drilled, names)
    layers.draw_holes(ax, holes, beside)
    layers.write_labels(ax, labels, INK)
    return figure


def _edge(shape: BaseGeometry) -> BaseGeometry:
    """Return what is drawn of a service: its line, or the edge of one that is an area."""
    return shape.boundary if shape.geom_type.endswith("Polygon") else shape


def _holes_of(study: Study, room: Room) -> gpd.GeoDataFrame:
    holes = proposed(study.drill_plan)
    return holes[holes["room"] == room.name]


def tapes_of(hole: Any, room: Room) -> Iterator[Tape]:
    """Yield the tape lines that fix a hole; none when no pair of walls or corners does."""
    at = Point(hole.x, hole.y)
    for name, distance in (
        (hole.from_a, hole.distance_a_m),
        (hole.from_b, hole.distance_b_m),
    ):
        for wall in walls(room):
            if wall.name == name:
                foot = wall.line.interpolate(wall.line.project(at))
                yield Tape((foot.x, foot.y), (hole.x, hole.y), float(distance), str(hole.hole))
        for corner in corners(room):
            if corner.name == name:
                start = (corner.point.x, corner.point.y)
                yield Tape(start, (hole.x, hole.y), float(distance), str(hole.hole))


def _place(
    floor: Floor,
    room: Room,
    marks: tuple[Any, list[tuple[float, float, float]]],
    tapes: list[Tape],
    form: Format,
) -> tuple[dict[str, Label], list[Label]]:
    """Place names of crowded holes, and each distance beside its tape, named by its hole.

    The marks are the holes, and the signs of drilled ones.

    No distance is placed when one of them finds no free place close by, so that none is taken for
    another's; all are listed then.
    """
    holes, signs = marks
    lines = [LineString([tape.start, tape.end]) for tape in tapes]
    many = len(holes) > MANY_HOLES
    floor.shun(room.polygon.boundary)
    names = layers.place_holes(floor, holes, small=True, signs=signs) if many else {}
    for line in (room.polygon.boundary, *lines):
        layers.keep_off_line(floor, line)
    names = names if many else layers.place_holes(floor, holes, signs=signs)
    labels = []
    for tape in sorted(tapes, key=lambda one: one.distance):
        middle = [(a + b) / 2 for a, b in zip(tape.start, tape.end, strict=True)]
        text = f"{tape.hole} {_told(tape, form)}" if len(holes) > 1 else _told(tape, form)
        label = floor.beside_if_free(middle[0], middle[1], text, TAPE_PT, gap=0.06, reach=0.16)
        if label is None:
            return names, []
        labels.append(label)
    return names, labels


def _listed(tapes: list[Tape], form: Format) -> list[Entry]:
    """Return the distances of each hole as entries of the key."""
    by_hole: dict[str, list[str]] = {}
    for tape in tapes:
        by_hole.setdefault(tape.hole, []).append(_told(tape, form))
    return [Mark(hole, ", ".join(told)) for hole, told in by_hole.items()]


def _told(tape: Tape, form: Format) -> str:
    """Return the distance of a tape and the way it runs, which no line's end parts."""
    return f"{_arrow(tape)} {form.units.length(tape.distance)}".replace(" ", "\u00a0")


ARROWS = "→↗↑↖←↙↓↘"


def _arrow(tape: Tape) -> str:
    """Return which way the tape runs from the hole, so that no distance is taken for another's."""
    across, up = (a - b for a, b in zip(tape.start, tape.end, strict=True))
    return ARROWS[round(math.atan2(up, across) / (math.pi / 4)) % len(ARROWS)]


def _within(plan: FloorPlan, room: Room) -> FloorPlan:
    """Return one room of a plan with the lines that reach it."""
    reach = room.polygon.buffer(0.3)
    kept = tuple(line for line in plan.lines if line.geometry.intersects(reach))
    return FloorPlan((room,), kept)


def _draw_tape(ax: Axes, tape: Tape) -> None:
    across, up = zip(tape.start, tape.end, strict=True)
    ax.plot(across, up, color=MUTED, linewidth=0.9, linestyle=(0, (5, 2)), zorder=9)
    ax.plot(*tape.start, marker="o", markersize=3, color=WARNING, zorder=9.1)
