"""Maps over several visits: each visit on one colour scale, and what changed."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import fill

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap, ListedColormap
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from shapely.geometry.base import BaseGeometry

from moisturemap.drying import ChangeMap, DryingProgress
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.key_panel import LINE_NAMES, ROW, SAMPLE, KeyPanel, KeyRow
from moisturemap.figures.style import INK, MUTED, PAPER, WARNING, font
from moisturemap.floorplan import FloorPlan
from moisturemap.mapping import MoistureSurface
from moisturemap.mapping.bands import area_above, band_levels, bands, contour
from moisturemap.quantities import DISCLAIMER

CHANGE_RAMP = ("#7a4a12", "#c98f4a", "#ecd9bd", "#f6f5f2", "#b9cde0", "#4d86b3", "#173a6b")
"""Brown = fell, pale = unchanged, blue = rose; told apart with any colour vision; no green."""

EDGE, TITLE, FOOT, KEY = 0.3, 0.75, 0.75, 2.45
PANEL_WIDTH, CHANGE_WIDTH = 3.3, 8.4
MOST_ACROSS = 3
LEVEL_BANDS = 12
STEPS = (0.5, 1.0, 2.0, 2.5, 5.0, 10.0, 20.0)


@dataclass(frozen=True)
class FloorPage:
    """A page with room for floor drawings, a key at the right and a caption below.

    Attributes
    ----------
    figure : Figure
    panels : tuple of Axes
        In reading order, each framed to the floor.
    key : KeyPanel
    """

    figure: Figure
    panels: tuple[Axes, ...]
    key: KeyPanel

    @classmethod
    def of(cls, plan: FloorPlan, count: int, width: float) -> FloorPage:
        """Lay out a page for so many drawings of one floor, each so wide [in]."""
        west, south, east, north = plan.bounds
        margin = 0.05 * max(east - west, north - south)
        ratio = (north - south + 2 * margin) / (east - west + 2 * margin)
        if ratio > 1.6:
            width = width * 1.6 / ratio
        across = min(count, MOST_ACROSS)
        down = -(-count // across)
        height, gap = width * ratio, 0.32
        page = (
            across * width + (across - 1) * 0.12 + KEY + 3 * EDGE,
            max(down * height + (down - 1) * gap, 3.3) + TITLE + FOOT,
        )
        figure = Figure(figsize=page, dpi=150, facecolor=PAPER)
        panels = []
        for index in range(count):
            left = EDGE + (index % across) * (width + 0.12)
            top = page[1] - TITLE - (index // across) * (height + gap)
            ax = figure.add_axes(
                (left / page[0], (top - height) / page[1], width / page[0], height / page[1])
            )
            ax.set_xlim(west - margin, east + margin)
            ax.set_ylim(south - margin, north + margin)
            ax.set_aspect("equal")
            ax.axis("off")
            panels.append(ax)
        side = figure.add_axes(
            (
                (page[0] - KEY - EDGE) / page[0],
                0.1 / page[1],
                KEY / page[0],
                (page[1] - TITLE) / page[1],
            )
        )
        return cls(figure, tuple(panels), KeyPanel(side, KEY, page[1] - TITLE, KEY))

    def write(self, title: str, subtitle: str, caption: str) -> None:
        """Write title, subtitle and caption."""
        width, height = self.figure.get_figwidth(), self.figure.get_figheight()
        left = EDGE / width
        self.figure.text(
            left,
            1 - 0.32 / height,
            title,
            color=INK,
            parse_math=False,
            fontproperties=font(13, "bold"),
        )
        self.figure.text(
            left,
            1 - 0.53 / height,
            subtitle,
            color=MUTED,
            parse_math=False,
            fontproperties=font(8.5),
        )
        wide = int((width - KEY - 3 * EDGE) * 15.5)
        self.figure.text(
            left,
            0.58 / height,
            fill(caption, wide),
            color=INK,
            va="top",
            fontproperties=font(7.5),
            linespacing=1.35,
            parse_math=False,
        )


def visits_figure(drying: DryingProgress, plan: FloorPlan, name: str) -> Figure:
    """Draw the map of each visit on one colour scale, the wet level as a thick line."""
    page = FloorPage.of(plan, len(drying.levels), PANEL_WIDTH)
    levels = shared_levels(drying.levels)
    wet_level = drying.wet.level.value
    for index, (ax, surface) in enumerate(zip(page.panels, drying.levels, strict=True)):
        if levels.size:
            layers.draw_bands(ax, bands(surface.cells(), plan, levels), levels)
        layers.draw_plan(ax, plan, names=False)
        if wet_level is not None:
            layers.draw_outline(ax, contour(surface.cells(), plan, wet_level))
        ax.set_title(
            _visit_title(drying, index), color=INK, fontproperties=font(8.5), loc="left", pad=2
        )
    page.key.heading("Relative reading")
    if levels.size:
        page.key.ramp(levels, drying.levels[-1].quantity.unit, wet_level)
    offset = (
        " Readings are on the scale of the latest visit."
        if any(one.value for one in drying.series.offsets)
        else ""
    )
    page.write(
        name,
        "Map of each visit, one colour scale",
        f"Kriged relative readings.{offset} {DISCLAIMER}",
    )
    return page.figure


def _visit_title(drying: DryingProgress, index: int) -> str:
    visit = drying.series.visits[index]
    parts = [visit.id]
    if visit.started is not None:
        parts.append(f"{visit.started:%Y-%m-%d}")
    if drying.wet_areas:
        parts.append(f"wet {drying.wet_areas[index].area_m2:.0f} m2")
    return " · ".join(parts)


def shared_levels(surfaces: tuple[MoistureSurface, ...]) -> np.ndarray:
    """Return round band limits that span the maps of all visits."""
    values = np.concatenate([one.dataset["mean"].to_numpy().ravel() for one in surfaces])
    return band_levels(values, LEVEL_BANDS)


def _step(span: float, most: int) -> float:
    power = 10.0 ** np.floor(np.log10(span / most))
    return float(next(s * power for s in STEPS if s * power * most >= span))


def change_figure(change: ChangeMap, drying: DryingProgress, plan: FloorPlan, name: str) -> Figure:
    """Draw the change: brown fell, blue rose, dotted where none is shown; areas outlined."""
    page = FloorPage.of(plan, 1, CHANGE_WIDTH)
    ax = page.panels[0]
    levels = change_levels(change)
    latest = drying.levels[-1]
    changed = latest.on_cells(change.dataset["mean"].to_numpy())
    if levels.size:
        colours = change_colours(len(levels) - 1)
        for band in bands(changed, plan, levels).itertuples():
            shade = colours(int(np.argmin(np.abs(levels[:-1] - band.low))))
            shape = layers.patch(band.geometry)
            shape.set(facecolor=shade, edgecolor=shade, linewidth=0.3, zorder=2)
            ax.add_patch(shape)
    unshown = unshown_area(change, latest, plan)
    layers.draw_hatch(ax, unshown, "..", MUTED)
    layers.draw_plan(ax, plan, names=False)
    draw_areas(ax, drying)
    _change_key(page.key, change, levels, drying, plan, unshown)
    rate = " a week" if change.name == "rate" else ""
    subtitle = f"Change of the reading{rate} from visit {change.visits[0]} to {change.visits[-1]}"
    page.write(name, subtitle, f"{change.sentence} {DISCLAIMER}")
    return page.figure


def change_levels(change: ChangeMap) -> np.ndarray:
    """Return an odd number of bands about zero that span the change."""
    values = change.dataset["mean"].to_numpy()
    values = values[np.isfinite(values)]
    if not values.size:
        return np.empty(0)
    reach = max(float(np.abs(values).max()), 1e-6)
    step = _step(2.0 * reach, 13)
    count = int(np.ceil(reach / step - 0.5))
    return np.asarray((np.arange(-count, count + 2) - 0.5) * step)


def change_colours(count: int) -> ListedColormap:
    """Return one colour for each band of change."""
    ramp = LinearSegmentedColormap.from_list("change", CHANGE_RAMP)
    return ListedColormap([ramp(0.5 if count == 1 else i / (count - 1)) for i in range(count)])


def unshown_area(change: ChangeMap, latest: MoistureSurface, plan: FloorPlan) -> BaseGeometry:
    """Return the floor on which no change is shown; `latest` gives the cells."""
    known = np.where(np.isfinite(change.dataset["mean"].to_numpy()), 1.0, np.nan)
    mapped = area_above(latest.on_cells(known), plan, 0.5)
    return mapped.difference(change.shapes["dried"]).difference(change.shapes["rose"])


def draw_areas(ax: Axes, drying: DryingProgress) -> None:
    """Outline stagnant areas (dashed) and rising areas (solid), with their names."""
    for area in drying.areas.itertuples():
        dashes = "-" if area.kind == "rising" else (0, (4, 2))
        for width, colour, zorder in ((4.0, PAPER, 8), (2.0, WARNING, 8.1)):
            shape = layers.patch(area.geometry)
            shape.set(
                facecolor="none",
                edgecolor=colour,
                linewidth=width,
                zorder=zorder,
                linestyle=dashes if colour == WARNING else "-",
            )
            ax.add_patch(shape)
        place = area.geometry.representative_point()
        ax.text(
            place.x,
            place.y,
            area.area,
            color=WARNING,
            ha="center",
            va="center",
            zorder=11,
            fontproperties=font(9, "bold"),
            path_effects=[layers.HALO],
        )


def area_rows(drying: DryingProgress) -> tuple[tuple[str, str], ...]:
    """Return (kind, text) of the key rows for areas."""
    kinds = set(drying.areas["kind"])
    rows = (("rising", "R  rising: possible active leak"), ("stagnant", "N  wet and not drying"))
    return tuple(row for row in rows if row[0] in kinds)


def write_area_rows(key: KeyPanel, drying: DryingProgress) -> None:
    """Write the key rows of the areas with their outline as a sample."""
    for kind, text in area_rows(drying):
        key.y -= ROW
        dashes = "-" if kind == "rising" else (0, (4, 2))
        key.ax.add_patch(
            Rectangle(
                (0, key.y - 0.02),
                SAMPLE,
                0.13,
                facecolor="none",
                edgecolor=WARNING,
                linewidth=1.8,
                linestyle=dashes,
            )
        )
        key.ax.text(SAMPLE + 0.12, key.y, text, color=INK, fontproperties=font(7.5))


def _change_key(
    key: KeyPanel,
    change: ChangeMap,
    levels: np.ndarray,
    drying: DryingProgress,
    plan: FloorPlan,
    unshown: BaseGeometry,
) -> None:
    key.heading("Change of the reading" + (" a week" if change.name == "rate" else ""))
    if levels.size:
        _change_ramp(key, levels)
    if not unshown.is_empty:
        key.row(KeyRow("hatch..", "no change shown\n(does not mean dry)"))
    write_area_rows(key, drying)
    kinds = {line.kind for line in plan.lines}
    for kind, text in LINE_NAMES.items():
        if kind in kinds:
            key.row(KeyRow(kind, text))


def _change_ramp(key: KeyPanel, levels: np.ndarray) -> None:
    """Draw the bands of change as a column, risen on top."""
    count = len(levels) - 1
    colours = change_colours(count)
    step = min(0.24, 1.9 / count)
    bottom = key.y - step * count - 0.05
    for index in range(count):
        key.ax.add_patch(
            Rectangle(
                (0, bottom + index * step),
                SAMPLE,
                step,
                linewidth=0.5,
                facecolor=colours(index),
                edgecolor=MUTED,
            )
        )
    ends = {0: " (fell)", count: " (rose)"}
    for index, level in enumerate(levels):
        key.ax.text(
            SAMPLE + 0.08,
            bottom + index * step,
            f"{level:+.3g}{ends.get(index, '')}",
            va="center",
            color=MUTED,
            fontproperties=font(7.5),
        )
    key.y = bottom - 0.1
