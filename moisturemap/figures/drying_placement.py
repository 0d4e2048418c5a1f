"""Where the machines stand and where they should: moves as arrows on the floor."""

from __future__ import annotations

import math

import numpy as np
import shapely
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import FancyArrowPatch, Polygon

from moisturemap.bundles import EquipmentPlan
from moisturemap.equipment import HALF_ANGLE_DEG
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.drying_maps import (
    CHANGE_WIDTH,
    FloorPage,
    draw_areas,
    shared_levels,
    write_area_rows,
)
from moisturemap.figures.key_panel import ROW, SAMPLE, KeyPanel, KeyRow
from moisturemap.figures.style import DRILL, INK, MUTED, PAPER, font
from moisturemap.mapping.bands import bands, contour

SQUARE = {"dehumidifier": "s", "air-mover": ">"}
"""Dehumidifiers are squares, air movers wedges that point where they blow."""


def placement_figure(equipment: EquipmentPlan) -> Figure:
    """Draw the wet floor, the machines today (hollow), proposed (filled) and the way between."""
    survey, drying = equipment.survey, equipment.comparison.drying
    plan = survey.plan
    page = FloorPage.of(plan, 1, CHANGE_WIDTH)
    ax = page.panels[0]
    surface = drying.levels[-1]
    levels = shared_levels((surface,))
    if levels.size:
        layers.draw_bands(ax, bands(surface.cells(), plan, levels), levels)
    level = drying.wet.level.value
    layers.draw_plan(ax, plan, names=False)
    if level is not None:
        layers.draw_outline(ax, contour(surface.cells(), plan, level))
    _draw_site(ax, equipment)
    draw_areas(ax, drying)
    size = 0.012 * max(plan.bounds[2] - plan.bounds[0], plan.bounds[3] - plan.bounds[1])
    for row in equipment.placement.moves.itertuples():
        _draw_move(ax, row, size, equipment)
    _write_key(page.key, equipment, levels)
    visit = equipment.comparison.latest.visit.id
    page.write(
        survey.name,
        f"Machines on visit {visit}: today and as proposed",
        " ".join(equipment.placement.statements[:3]),
    )
    return page.figure


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
                s=36,
                marker="P",
                facecolor=PAPER,
                edgecolor=INK,
                linewidth=1.1,
                zorder=9,
            )


def _draw_move(  # type: ignore[no-untyped-def]
    ax: Axes, row, size: float, equipment: EquipmentPlan
) -> None:
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
        ax.annotate(
            row.machine,
            (row.new_x, row.new_y),
            xytext=(8, 7),
            zorder=11,
            textcoords="offset points",
            color=INK,
            path_effects=[layers.HALO],
            fontproperties=font(8, "bold"),
            annotation_clip=False,
        )


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


def _write_key(key: KeyPanel, equipment: EquipmentPlan, levels: np.ndarray) -> None:
    key.heading("Relative reading")
    if levels.size:
        level = equipment.comparison.drying.wet.level.value
        key.ramp(levels, equipment.comparison.latest.moisture.quantity.unit, level)
    moves = equipment.placement.moves
    for kind, text in (
        ("dehumidifier", "dehumidifier"),
        ("air-mover", "air mover, with its stream"),
    ):
        if kind in set(moves["kind"]):
            _sample(key, SQUARE[kind], DRILL, text)
    if (moves["action"] == "move").any():
        _sample(key, "s", PAPER, "where a machine stands today")
    write_area_rows(key, equipment.comparison.drying)
    kinds = {line.kind for line in equipment.survey.plan.lines}
    if "power-point" in kinds:
        _sample(key, "P", PAPER, "power point", INK)
    if "keep-clear" in kinds:
        key.row(KeyRow("hatchxx", "keep clear"))


def _sample(key: KeyPanel, marker: str, face: str, text: str, edge: str = DRILL) -> None:
    key.y -= ROW
    key.ax.add_line(
        Line2D(
            [SAMPLE / 2],
            [key.y + 0.045],
            linestyle="none",
            marker=marker,
            markersize=7,
            markerfacecolor=face,
            markeredgecolor=edge,
            markeredgewidth=1.3,
        )
    )
    key.ax.text(SAMPLE + 0.12, key.y, text, color=INK, fontproperties=font(7.5))
