"""The layers of a floor drawing, each a function that draws one kind of thing on axes in metres."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import geopandas as gpd
import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.patheffects import withStroke
from shapely.geometry import LineString, box
from shapely.geometry.base import BaseGeometry

from moisturemap.figures.labels import SMALLEST_PT, Floor, Label
from moisturemap.figures.style import (
    DRILL,
    INK,
    PAPER,
    SET_ASIDE,
    WARNING,
    band_colours,
    font,
)
from moisturemap.figures.typeface import POINTS_PER_INCH, properties_for, width_of
from moisturemap.floorplan import FloorPlan
from moisturemap.survey import CONTESTED, USED_FLAGS

LINE_STYLES: dict[str, Any] = {
    "exterior-wall": {"color": INK, "linewidth": 3.2, "linestyle": "-"},
    "interior-wall": {"color": INK, "linewidth": 1.6, "linestyle": "-"},
    "movement-joint": {"color": INK, "linewidth": 1.2, "linestyle": (0, (6, 2, 1, 2))},
    "day-joint": {"color": INK, "linewidth": 1.2, "linestyle": (0, (6, 3))},
    "known-service": {"color": WARNING, "linewidth": 1.4, "linestyle": (0, (2, 1.5))},
}
"""How lines of the plan are drawn; doors, keep-clear areas and power points are not map content."""

USED = USED_FLAGS
MARKS = {"clear": "o", "full-scale": "^", "below-scale": "v", CONTESTED: "s"}


CONTESTED_MARK = "?"
"""Stands after the letter of a contested zone."""

CONTESTED_DASHES, CONTESTED_DOTS = (0, (3, 2)), (0, (1.5, 1.0))
"""How what may be wet floor or a thing is told from a thing without colour."""


def patch(geometry: BaseGeometry) -> PathPatch:
    """Return a polygon or multipolygon, holes kept, as one patch."""
    vertices: list[np.ndarray] = []
    codes: list[np.ndarray] = []
    for polygon in polygons(geometry):
        for ring in (polygon.exterior, *polygon.interiors):
            xy = np.asarray(ring.coords)[:, :2]
            code = np.full(len(xy), Path.LINETO, dtype=Path.code_type)
            code[0], code[-1] = Path.MOVETO, Path.CLOSEPOLY
            vertices.append(xy)
            codes.append(code)
    if not vertices:
        return PathPatch(Path(np.empty((0, 2))))
    return PathPatch(Path(np.concatenate(vertices), np.concatenate(codes)))


def polygons(geometry: BaseGeometry) -> list[BaseGeometry]:
    """Return the polygons of a geometry; lines and points of a collection are left out."""
    parts = getattr(geometry, "geoms", [geometry])
    flat = [piece for part in parts for piece in getattr(part, "geoms", [part])]
    return [piece for piece in flat if piece.geom_type == "Polygon" and not piece.is_empty]


def lines(geometry: BaseGeometry) -> list[np.ndarray]:
    """Return the coordinates of the lines of a geometry."""
    parts = getattr(geometry, "geoms", [geometry])
    return [
        np.asarray(part.coords)[:, :2]
        for part in parts
        if part.geom_type in ("LineString", "LinearRing") and not part.is_empty
    ]


def draw_bands(
    ax: Axes,
    table: gpd.GeoDataFrame,
    levels: np.ndarray,
    colours: ListedColormap | None = None,
) -> None:
    """Fill the contour bands, light = low to dark = high."""
    colours = colours or band_colours(len(levels) - 1)
    for band in table.itertuples():
        index = int(np.argmin(np.abs(levels[:-1] - band.low)))
        shape = patch(band.geometry)
        shape.set(facecolor=colours(index), edgecolor=colours(index), linewidth=0.3, zorder=2)
        ax.add_artist(shape)  # add_patch would search its curves for limits the sheet has set


def draw_hatch(ax: Axes, area: BaseGeometry, hatch: str, colour: str = INK) -> None:
    """Hatch an area."""
    if area.is_empty:
        return
    shape = patch(area)
    shape.set(facecolor="none", edgecolor=colour, linewidth=0.0, hatch=hatch, alpha=0.7, zorder=3)
    shape.set_hatch_linewidth(0.7)
    ax.add_artist(shape)


def draw_plan(ax: Axes, plan: FloorPlan) -> None:
    """Draw rooms, walls, joints and known services."""
    for room in plan.rooms:
        shape = patch(room.polygon)
        shape.set(facecolor="none", edgecolor=INK, linewidth=1.4, zorder=6)
        ax.add_artist(shape)
    for line in plan.lines:
        if line.kind not in LINE_STYLES:
            continue
        style = LINE_STYLES[line.kind]
        area = line.geometry.geom_type.endswith("Polygon")
        for xy in lines(line.geometry.boundary if area else line.geometry):
            ax.plot(*xy.T, zorder=6.5, solid_capstyle="projecting", **style)


def draw_readings(ax: Axes, readings: gpd.GeoDataFrame, size: float) -> None:
    """Mark where readings were taken: dots, triangles at the ends of the scale, crosses aside."""
    for flag, marker in MARKS.items():
        chosen = readings[readings["flag"] == flag]
        ax.scatter(
            chosen["x"],
            chosen["y"],
            s=size * (1 if flag == "clear" else 3),
            marker=marker,
            facecolor=INK,
            edgecolor=PAPER,
            linewidth=0.25,
            alpha=0.75,
            zorder=5,
        )
    aside = readings[~readings["flag"].isin(USED)]
    ax.scatter(
        aside["x"], aside["y"], s=size * 2.6, marker="x", color=SET_ASIDE, linewidth=0.9, zorder=5
    )


def draw_outline(ax: Axes, line: BaseGeometry, wet: BaseGeometry) -> None:
    """Draw the wet level: a thick dark line, cased light on its drier side.

    A casing on both sides would hide the colour of narrow wet floor and leave it pale.
    """
    parts = lines(line)
    if not parts:
        return
    reach = box(*line.bounds).buffer(1.0 + np.ptp(np.vstack(parts), axis=0).max())
    drier = patch(reach.difference(wet)).get_path()
    for xy in parts:
        casing = ax.plot(*xy.T, color=PAPER, linewidth=3.6, zorder=7, solid_capstyle="round")
        casing[0].set_clip_path(drier, ax.transData)
        ax.plot(*xy.T, color=INK, linewidth=1.9, zorder=7.1, solid_capstyle="round")


def draw_anomalies(ax: Axes, table: gpd.GeoDataFrame) -> None:
    """Draw anomalies by shape: cross-ticked lines, diamonds, saltires, hatched areas.

    What is contested is dashed, without ticks, and a square where it is a spot.
    """
    for anomaly in table.itertuples():
        geometry = anomaly.geometry
        contested = getattr(anomaly, "standing", "thing") == "contested"
        if anomaly.kind == "line":
            for xy in lines(geometry):
                ax.plot(*xy.T, color=PAPER, linewidth=4.2, zorder=8)
                dashes = CONTESTED_DASHES if contested else "-"
                ax.plot(*xy.T, color=WARNING, linewidth=2.0, zorder=8.1, linestyle=dashes)
                if not contested:
                    draw_ticks(ax, xy)
        elif geometry.geom_type == "Polygon":
            shape = patch(geometry)
            shape.set(facecolor="none", edgecolor=WARNING, hatch="++", linewidth=1.2, zorder=8)
            ax.add_patch(shape)
        else:
            marker = "s" if contested else "D" if anomaly.kind == "spot" else "X"
            ax.scatter(
                geometry.centroid.x,
                geometry.centroid.y,
                s=SIGN_PT**2,
                marker=marker,
                zorder=8.2,
                facecolor=PAPER,
                edgecolor=WARNING,
                linewidth=1.5,
                linestyle=CONTESTED_DOTS if contested else "-",
            )


def signs_of(table: gpd.GeoDataFrame) -> dict[str, list[str]]:
    """Return the names of anomalies by the sign of the key that they are drawn by."""
    found: dict[str, list[str]] = {}
    for one in table.itertuples():
        found.setdefault(_sign_of(one), []).append(str(one.anomaly))
    return found


def _sign_of(anomaly: Any) -> str:
    contested = getattr(anomaly, "standing", "thing") == "contested"
    if anomaly.kind == "line":
        return "contested-line" if contested else "line"
    if anomaly.geometry.geom_type == "Polygon":
        return "hatch++"
    if contested:
        return "contested-spot"
    return "spot" if anomaly.kind == "spot" else "stray"


def draw_ticks(ax: Axes, xy: np.ndarray) -> None:
    """Put short ticks across a line so that it is told from others without colour."""
    steps = np.diff(xy, axis=0)
    length = np.hypot(*steps.T)
    along = np.concatenate([[0.0], np.cumsum(length)])
    half = 0.012 * max(np.ptp(ax.get_xlim()), np.ptp(ax.get_ylim()))
    for place in np.arange(2 * half, along[-1], 4 * half):
        i = min(int(np.searchsorted(along, place, side="right")) - 1, len(length) - 1)
        direction = steps[i] / length[i]
        middle = xy[i] + direction * (place - along[i])
        across = half * np.array([-direction[1], direction[0]])
        ends = np.stack([middle - across, middle + across])
        ax.plot(*ends.T, color=WARNING, linewidth=1.2, zorder=8.1)


HOLE_PT = 6.5
"""Size of the name in a hole's disc [pt]."""


def hole_width(name: str) -> float:
    """Return the diameter of the disc of a hole [in]."""
    return max(0.17, width_of(name, HOLE_PT, "bold") + 0.05)


CROWDED_IN = 0.07
"""Diameter of the ring of a hole whose disc would cover another's [in]."""


def draw_holes(
    ax: Axes, holes: gpd.GeoDataFrame, beside: Mapping[str, Label] | None = None
) -> None:
    """Draw proposed holes as discs with their names; those named beside them as rings."""
    beside = beside or {}
    (west, east), (south, north) = ax.get_xlim(), ax.get_ylim()
    for hole in holes.itertuples():
        name = str(hole.hole)
        apart = name in beside
        shown = west <= hole.x <= east and south <= hole.y <= north
        ax.plot(
            hole.x,
            hole.y,
            marker="o",
            markersize=POINTS_PER_INCH * (CROWDED_IN if apart else hole_width(name)),
            markerfacecolor=PAPER,
            markeredgecolor=DRILL,
            markeredgewidth=1.5,
            zorder=10,
            clip_on=not shown,  # beside a wall a disc reaches over the edge of the drawing
        )
        if apart:
            draw_leader(ax, beside[name], hole.x, hole.y, DRILL)
            continue
        ax.text(
            hole.x,
            hole.y,
            name,
            ha="center",
            va="center_baseline",
            color=INK,
            fontproperties=font(HOLE_PT, "bold"),
            zorder=10.1,
        )
    write_labels(ax, beside.values(), INK)


def place_holes(
    floor: Floor,
    holes: gpd.GeoDataFrame,
    *,
    small: bool = False,
    signs: Iterable[tuple[float, float, float]] = (),
) -> dict[str, Label]:
    """Keep labels off the holes; return the names of those whose disc would cover another's.

    Or one of the signs (x, y [m], width [in]); of all where they are to be drawn small.
    """
    discs = list(signs)
    crowded = []
    for hole in holes.itertuples():
        width = hole_width(str(hole.hole)) + 0.03
        near = small or any(
            np.hypot(hole.x - x, hole.y - y) * floor.scale < (width + other) / 2
            for x, y, other in discs
        )
        if near:
            crowded.append((str(hole.hole), hole.x, hole.y))
            width = CROWDED_IN + 0.03
        discs.append((hole.x, hole.y, width))
        floor.occupy(hole.x, hole.y, width, width)
    size = SMALLEST_PT if small else HOLE_PT
    return {name: floor.beside(x, y, name, size, gap=0.04) for name, x, y in crowded}


def place_zones(floor: Floor, zones: gpd.GeoDataFrame) -> list[Label]:
    """Return the letter of each zone, inside it where there is room, else beside it."""
    labels = []
    for zone in zones.itertuples():
        unsure = getattr(zone, "standing", "wet") == "contested"
        name = f"{zone.zone}{CONTESTED_MARK if unsure else ''}"
        wordings = [([name], size, "bold") for size in ZONE_SIZES]
        label = floor.inside(zone.geometry, wordings)
        if label is None:
            at = zone.geometry.representative_point()
            label = floor.beside(at.x, at.y, name, ZONE_SIZES[-1], gap=0.04)
        labels.append(label)
    return labels


ZONE_SIZES = (13.0, 11.0, 9.0)
"""Of the letter of a zone, the largest that fits [pt]."""


SIGN_PT = 6.5
"""Width of the sign of a spot or stray reading [pt]."""

Sign = tuple[str, float, float]
"""Name of an anomaly and where its name belongs."""


def keep_off_signs(floor: Floor, table: gpd.GeoDataFrame) -> list[Sign]:
    """Keep labels off the signs of anomalies; return the name of each and where it belongs."""
    signs = []
    for anomaly in table.itertuples():
        inside = anomaly.geometry.intersection(box(*floor.limits))
        place = anomaly.geometry if inside.is_empty else inside
        keep_off_line(floor, place)
        if place.geom_type == "LineString":
            place = place.interpolate(0.12, normalized=True)
        middle = place.centroid
        signs.append((str(anomaly.anomaly), middle.x, middle.y))
        width = SIGN_PT * 1.3 / POINTS_PER_INCH
        floor.occupy(middle.x, middle.y, width, width)
    return signs


def name_signs(floor: Floor, signs: Iterable[Sign]) -> list[Label]:
    """Return the name of each anomaly beside its sign."""
    return [floor.beside(x, y, name, 7.0, gap=0.06) for name, x, y in signs]


def keep_off_plan(floor: Floor, plan: FloorPlan, *, walls: bool = True) -> None:
    """Keep labels off known services, and off walls and joints."""
    seen = box(*floor.limits)
    for line in plan.lines:
        if line.kind in LINE_STYLES if walls else line.kind == "known-service":
            keep_off_line(floor, line.geometry.intersection(seen))
    for room in plan.rooms if walls else ():
        keep_off_line(floor, room.polygon.boundary.intersection(seen))


def wall_lines(plan: FloorPlan) -> list[BaseGeometry]:
    """Return the lines of a plan as they are drawn: walls, joints, services, edges of rooms."""
    drawn = [line.geometry for line in plan.lines if line.kind in LINE_STYLES]
    return [*drawn, *(room.polygon.boundary for room in plan.rooms)]


def keep_off_line(floor: Floor, geometry: BaseGeometry) -> None:
    """Keep labels off lines."""
    for xy in lines(geometry):
        path = LineString(xy)
        for along in np.arange(0.0, path.length, 0.08 / floor.scale):
            at = path.interpolate(along)
            floor.occupy(at.x, at.y, 0.1, 0.1)


def write_labels(ax: Axes, labels: Iterable[Label], colour: str, zorder: float = 11) -> None:
    """Write labels where they were placed, in a light halo."""
    for label in labels:
        ax.text(
            label.x,
            label.y,
            label.text,
            ha="center",
            va="center",
            color=colour,
            fontproperties=properties_for(label.text, label.size, label.weight),
            path_effects=[withStroke(linewidth=0.26 * label.size, foreground=PAPER)],
            linespacing=1.1,
            zorder=zorder,
            parse_math=False,
        )


def draw_leader(ax: Axes, label: Label, x: float, y: float, colour: str) -> None:
    """Draw a thin line from a mark to a label that stands away from it."""
    if label.led:
        ax.plot([x, label.x], [y, label.y], color=colour, linewidth=0.6, zorder=10.5)
