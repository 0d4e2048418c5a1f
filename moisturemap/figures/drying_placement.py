"""Where the machines stand and where they should: moves as arrows on the floor."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import FancyArrowPatch, Polygon

from moisturemap.bundles import EquipmentPlan
from moisturemap.equipment import HALF_ANGLE_DEG
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.drying_maps import (
    OFF_WALLS,
    area_rows,
    draw_areas,
    place_areas,
    shared_levels,
)
from moisturemap.figures.key import Entry, Heading, Key, Row, moisture_scale
from moisturemap.figures.labels import Floor, Label
from moisturemap.figures.samples import line_names
from moisturemap.figures.sheet import Format, Sheet, Texts
from moisturemap.figures.style import DRILL, INK, MUTED, PAPER
from moisturemap.mapping.bands import area_above, bands, contour

MACHINE_PT = 7.0
"""Of the name of a machine [pt]."""


def placement_figure(equipment: EquipmentPlan, form: Format = Format()) -> Figure:
    """Draw the wet floor, the machines today (hollow), proposed (filled) and the way between."""
    survey, drying = equipment.survey, equipment.comparison.drying
    plan, surface = survey.plan, drying.levels[-1]
    levels, level = shared_levels((surface,)), drying.wet.level.value
    view = part_shown(equipment)
    sheet = Sheet(view or plan.bounds, form, ruled=view is not None)
    floor = sheet.floor()
    floor.shun(*layers.wall_lines(plan), off=OFF_WALLS)
    names, areas = _place_labels(floor, equipment)
    visit = equipment.comparison.latest.visit.id
    title = f"Machines on visit {visit}: today and as proposed"
    texts = Texts(
        survey.name,
        title if view is None else f"{title}; the part of the floor where they stand",
        form.units.sentence(" ".join(equipment.placement.statements[:3])),
    )
    figure, (ax,) = sheet.draw(texts, Key(tuple(_key(equipment, levels))))
    if levels.size:
        layers.draw_bands(ax, bands(surface.cells(), plan, levels), levels)
    layers.draw_plan(ax, plan)
    if level is not None:
        wet = area_above(surface.cells(), plan, level)
        layers.draw_outline(ax, contour(surface.cells(), plan, level), wet)
    _draw_site(ax, equipment)
    draw_areas(ax, drying, areas)
    size = MARK_IN / 2 / sheet.scale
    for row in equipment.placement.moves.itertuples():
        _draw_move(ax, row, size, equipment)
    for label, (x, y) in names:
        layers.draw_leader(ax, label, x, y, INK)
    layers.write_labels(ax, [label for label, _ in names], INK)
    return figure


BESIDE_SHARE, BESIDE_M, PART = 0.5, 2.0, 0.25
"""Floor shown beside the rooms of the machines, by their size and at least [m], and the share of
the plan below which it alone is drawn: on a large building the marks would cover each other (our
choice)."""


def part_shown(equipment: EquipmentPlan) -> tuple[float, float, float, float] | None:
    """Return the bounds of the part of a large floor where all machines stand; None for all of it.

    Parameters
    ----------
    equipment : EquipmentPlan

    Returns
    -------
    (float, float, float, float) or None
        West, south, east, north [m].
    """
    plan, moves = equipment.survey.plan, equipment.placement.moves
    places = np.vstack([moves[["x", "y"]], moves[["new_x", "new_y"]]]).astype(float)
    places = places[np.isfinite(places).all(axis=1)]
    if not len(places):
        return None
    rooms = [plan.room_at(*place) for place in places]
    shapes = [one.polygon for one in rooms if one is not None]
    west, south, east, north = shapely.union_all([shapely.MultiPoint(places), *shapes]).bounds
    pad = max(BESIDE_M, BESIDE_SHARE * max(east - west, north - south))
    whole, near = (
        shapely.box(*plan.bounds),
        shapely.box(west, south, east, north).buffer(pad, join_style="mitre"),
    )
    part = near.intersection(whole)
    areas = equipment.comparison.drying.areas
    if part.area > PART * whole.area or not all(part.contains(one) for one in areas.geometry):
        return None
    bounds: tuple[float, float, float, float] = part.bounds
    return bounds


POWER_POINT_PT = 6.0
"""Width of the sign of a power point [pt]."""

MARK_IN = 0.15
"""Width of the mark of a machine [in]."""


def _place_labels(
    floor: Floor, equipment: EquipmentPlan
) -> tuple[list[tuple[Label, tuple[float, float]]], list[Label]]:
    """Return the names of machines with their marks, and those of areas."""
    moves = equipment.placement.moves
    stand = [
        (str(row.machine), float(row.new_x), float(row.new_y))
        for row in moves.itertuples()
        if row.action != "remove" and math.isfinite(row.new_x)
    ]
    today = moves.loc[moves["action"] != "stay", ["x", "y"]].dropna()
    for x, y in [*(one[1:] for one in stand), *today.itertuples(index=False)]:
        floor.occupy(x, y, 1.2 * MARK_IN, 1.2 * MARK_IN)
    for line in equipment.survey.plan.lines:
        if line.kind == "power-point":
            at = line.geometry.centroid
            floor.occupy(at.x, at.y, POWER_POINT_PT / 72, POWER_POINT_PT / 72)
    areas = place_areas(floor, equipment.comparison.drying)
    names = [
        (floor.beside(x, y, name, MACHINE_PT, gap=0.6 * MARK_IN), (x, y)) for name, x, y in stand
    ]
    return names, areas


def _draw_site(ax: Axes, equipment: EquipmentPlan) -> None:
    """Draw doors, keep-clear areas and power points."""
    for line in equipment.survey.plan.lines:
        if line.kind == "keep-clear":
            layers.draw_hatch(ax, line.geometry, "xx", MUTED)
        elif line.kind == "door":
            for xy in layers.lines(line.geometry):
                ax.plot(*xy.T, color=PAPER, linewidth=4.5, zorder=6.6, solid_capstyle="butt")
                ax.plot(*xy.T, color=MUTED, linewidth=1.4, zorder=6.7, linestyle=(0, (1.5, 1)))
        elif line.kind == "power-point":
            place = line.geometry.centroid
            ax.scatter(
                place.x,
                place.y,
                s=POWER_POINT_PT**2,
                marker="P",
                facecolor=PAPER,
                edgecolor=INK,
                linewidth=1.1,
                zorder=9,
            )


def _draw_move(ax: Axes, row: Any, size: float, equipment: EquipmentPlan) -> None:
    if row.action in ("move", "turn", "remove") and math.isfinite(row.x):
        _mark(ax, row.kind, (row.x, row.y, row.direction_deg), size, filled=False)
    if row.action == "move":
        way = np.asarray(row.geometry.coords)
        ax.plot(*way.T, color=PAPER, linewidth=3.6, zorder=9)
        ax.plot(*way.T, color=DRILL, linewidth=1.5, zorder=9.1)
        back = way[-2] + (way[-1] - way[-2]) * 0.5
        arrow = FancyArrowPatch(
            tuple(back),
            tuple(way[-1]),
            arrowstyle="-|>",
            linewidth=1.5,
            mutation_scale=11,
            color=DRILL,
            zorder=9.2,
            shrinkB=7,
        )
        ax.add_patch(arrow)
    if row.action != "remove" and math.isfinite(row.new_x):
        if not math.isnan(row.new_direction_deg):
            _stream(ax, (row.new_x, row.new_y), row.new_direction_deg, equipment)
        _mark(ax, row.kind, (row.new_x, row.new_y, row.new_direction_deg), size, filled=True)


def _mark(
    ax: Axes, kind: str, at: tuple[float, float, float], size: float, *, filled: bool
) -> None:
    x, y, heading = at
    face = DRILL if filled else PAPER
    corners = size * np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
    turn = math.radians(0.0 if math.isnan(heading) else heading)
    if kind != "dehumidifier":
        wedge = size * 1.3 * np.array([(-0.8, -0.9), (1.2, 0.0), (-0.8, 0.9)])
        around = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
        corners = wedge @ around.T
    ax.add_patch(
        Polygon(
            np.add(corners, [x, y]),
            facecolor=face,
            edgecolor=DRILL,
            linewidth=1.5,
            zorder=10,
            clip_on=False,
        )
    )


def _stream(ax: Axes, at: tuple[float, float], heading: float, equipment: EquipmentPlan) -> None:
    """Shade what lies in the stream of an air mover, inside its room."""
    turns = np.radians(heading + np.linspace(-HALF_ANGLE_DEG, HALF_ANGLE_DEG, 13))
    reach = equipment.placement.options.throw_m
    arc = np.column_stack([at[0] + reach * np.cos(turns), at[1] + reach * np.sin(turns)])
    room = equipment.survey.plan.room_at(*at)
    sector = shapely.Polygon([at, *map(tuple, arc)])
    inside = sector if room is None else sector.intersection(room.polygon)
    parts = [one for one in layers.polygons(inside) if one.distance(shapely.Point(at)) < 0.1]
    shape = layers.patch(shapely.union_all(parts))
    shape.set(facecolor=DRILL, edgecolor=DRILL, alpha=0.16, linewidth=0.8, zorder=4)
    ax.add_patch(shape)


def _key(equipment: EquipmentPlan, levels: np.ndarray) -> list[Entry]:
    entries: list[Entry] = [Heading("Relative reading")]
    if levels.size:
        entries.append(moisture_scale(levels, equipment.comparison.drying.wet.level.value))
    moves = equipment.placement.moves
    words = {"dehumidifier": "dehumidifier", "air-mover": "air mover, with its stream"}
    entries += [Row(kind, text) for kind, text in words.items() if kind in set(moves["kind"])]
    if (moves["action"] == "move").any():
        entries.append(Row("machine-today", "where a machine stands today"))
    entries += area_rows(equipment.comparison.drying)
    entries += [Row(*one) for one in line_names(equipment.survey.plan).items()]
    kinds = {line.kind for line in equipment.survey.plan.lines}
    if "door" in kinds:
        entries.append(Row("door", "door or gate"))
    if "power-point" in kinds:
        entries.append(Row("power-point", "power point"))
    if "keep-clear" in kinds:
        entries.append(Row("hatchxx", "keep clear"))
    return entries
