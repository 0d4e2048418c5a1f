"""The map of one visit, fit to stand in a report as it is."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import fill

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator
from shapely.geometry import MultiPoint, Point
from shapely.geometry.base import BaseGeometry

from moisturemap.bundles import Study
from moisturemap.checked import checked
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.key_panel import LINE_NAMES, KeyPanel, KeyRow
from moisturemap.figures.style import INK, MUTED, font
from moisturemap.mapping.areas import poorly_known_area, unsure_area, wet_line
from moisturemap.mapping.bands import band_levels, bands
from moisturemap.quantities import DISCLAIMER

Box = tuple[float, float, float, float]

KEY_WIDTH, KEY_BELOW, COLUMN = 2.35, 2.35, 1.95
"""Width of a key beside the map, height of one below it, width of its columns [in]."""

TITLE, FOOT, EDGE, AXIS = 0.62, 1.02, 0.3, 0.25
MAP_SIDE, SHORTEST = 8.6, 3.9
"""Longest and shortest side of the map itself [in]."""

NARROW = 8.6
"""A page narrower than this has its key below the map [in]."""

FEW_PLACES = 30
"""Places below which a map leans on assumptions more than on readings."""


@dataclass(frozen=True, slots=True)
@checked
class MapOptions:
    """What a map shows.

    Attributes
    ----------
    readings, anomalies, holes : bool
        Whether to draw them.
    title : str or None
        Title instead of the survey's name.
    width_mm : float or None
        Width of the page [mm]; the key stands below the map when the page is narrow. By default
        as wide as the floor asks.
    """

    readings: bool = True
    anomalies: bool = True
    holes: bool = True
    title: str | None = None
    width_mm: float | None = None


def map_figure(study: Study, options: MapOptions = MapOptions()) -> Figure:
    """Draw the map of a study.

    Contour bands light = dry to dark = wet, clipped to the rooms; the wet level as a thick line;
    zones by letter; hatching where the map cannot say whether the floor is wet, dots where hardly
    a reading supports it; readings, anomalies by shape, holes by number; key, scale bar, caption.
    """
    plan = study.survey.plan
    figure, ax, key = page(plan.bounds, options.width_mm)
    levels = band_levels(study.moisture.cells().values)
    if levels.size:
        layers.draw_bands(ax, bands(study.moisture.cells(), plan, levels), levels)
    unsure = unsure_area(study.moisture, plan)
    unknown = poorly_known_area(study.moisture, plan, study.readings)
    layers.draw_hatch(ax, unsure, "////")
    layers.draw_hatch(ax, unknown, "..")
    holes = MultiPoint(list(study.drill_plan.geometry)) if options.holes else None
    layers.draw_plan(ax, plan, busy=holes)
    if options.readings:
        layers.draw_readings(ax, study.readings, _dot_size(ax, figure, study))
    layers.draw_outline(ax, wet_line(study.moisture, plan, study.wet.level.value))
    if options.anomalies:
        layers.draw_anomalies(ax, study.anomalies)
    if options.holes:
        layers.draw_holes(ax, study.drill_plan)
    _label(ax, study, options)
    _scale_bar(ax, plan.bounds)
    _write_key(key, study, options, levels, unsure, unknown)
    _write_texts(figure, study, options)
    return figure


def page(
    bounds: tuple[float, float, float, float], width_mm: float | None = None
) -> tuple[Figure, Axes, Axes]:
    """Return a figure sized to the floor, the map axes and the key axes."""
    across, up = bounds[2] - bounds[0], bounds[3] - bounds[1]
    margin = 0.05 * max(across, up)
    across, up = across + 2 * margin, up + 2 * margin
    if width_mm is None:
        scale = MAP_SIDE / max(across, up)
        width, height = max(SHORTEST, scale * across), max(SHORTEST, scale * up)
        beside = True
    else:
        beside = width_mm / 25.4 >= NARROW
        width = width_mm / 25.4 - AXIS - 2 * EDGE - (KEY_WIDTH + EDGE if beside else 0.0)
        height = min(MAP_SIDE, max(2.2, width * up / across))
    below = 0.0 if beside else KEY_BELOW
    page_width = width + AXIS + 2 * EDGE + (KEY_WIDTH + EDGE if beside else 0.0)
    page_height = height + TITLE + FOOT + below
    figure = Figure(figsize=(page_width, page_height), dpi=150, facecolor="white")
    box = (EDGE + AXIS, FOOT + below, width, height)
    ax = figure.add_axes(_share(box, page_width, page_height))
    ax.set_xlim(bounds[0] - margin, bounds[2] + margin)
    ax.set_ylim(bounds[1] - margin, bounds[3] + margin)
    ax.set_aspect("equal", adjustable="datalim")
    _quiet_axes(ax)
    if beside:
        key_box = (width + AXIS + 2 * EDGE, 0.12, KEY_WIDTH, page_height - TITLE - 0.12)
    else:
        key_box = (EDGE, FOOT - 0.42, page_width - 2 * EDGE, KEY_BELOW)
    return figure, ax, figure.add_axes(_share(key_box, page_width, page_height))


def _share(box: Box, width: float, height: float) -> Box:
    """Inches of a page to shares of it."""
    return (box[0] / width, box[1] / height, box[2] / width, box[3] / height)


def _quiet_axes(ax: Axes) -> None:
    for axis in (ax.xaxis, ax.yaxis):
        axis.set_major_locator(MaxNLocator(7, steps=[1, 2, 5, 10]))
    for side in ax.spines.values():
        side.set_visible(False)
    ax.tick_params(length=2.5, color=MUTED, labelcolor=MUTED, labelsize=7)
    ax.set_xlabel("x [m]", color=MUTED, fontproperties=font(7), labelpad=2)
    ax.set_ylabel("y [m]", color=MUTED, fontproperties=font(7), labelpad=2)


def _dot_size(ax: Axes, figure: Figure, study: Study) -> float:
    """Return the area of a reading's dot [pt2], smaller where readings stand close."""
    per_inch = np.ptp(ax.get_xlim()) / (ax.get_position().width * figure.get_figwidth())
    spacing = np.sqrt(study.survey.plan.outline.area / max(len(study.readings), 1)) / per_inch
    return float(np.clip((8.0 * spacing) ** 2, 1.2, 9.0))


def _label(ax: Axes, study: Study, options: MapOptions) -> None:
    taken = [Point(hole.x, hole.y) for hole in study.drill_plan.itertuples()]
    if options.anomalies:
        layers.label_anomalies(ax, study.anomalies)
        taken += [geometry.centroid for geometry in study.anomalies.geometry]
    layers.label_zones(ax, study.zones, taken)


def _scale_bar(ax: Axes, bounds: tuple[float, float, float, float]) -> None:
    """Draw a bar of a round length below the lower left corner of the floor."""
    wanted = (bounds[2] - bounds[0]) / 5
    power = 10.0 ** np.floor(np.log10(wanted))
    length = max(step * power for step in (1, 2, 5) if step * power <= wanted)
    x, y = bounds[0], bounds[1] - 0.03 * max(bounds[2] - bounds[0], bounds[3] - bounds[1])
    for part, colour in ((0, INK), (1, MUTED)):
        ends = [x + part * length / 2, x + (part + 1) * length / 2]
        ax.plot(ends, [y, y], color=colour, linewidth=3, solid_capstyle="butt")
    ax.text(x + length * 1.06, y, f"{length:g} m", va="center", color=INK, fontproperties=font(8))


def _write_key(
    key: Axes,
    study: Study,
    options: MapOptions,
    levels: np.ndarray,
    unsure: BaseGeometry,
    unknown: BaseGeometry,
) -> None:
    dpi = key.figure.dpi
    panel = KeyPanel(key, key.bbox.width / dpi, key.bbox.height / dpi, COLUMN)
    panel.heading("Relative reading")
    if levels.size:
        panel.ramp(levels, study.moisture.quantity.unit, study.wet.level.value)
    rows = [KeyRow("letter", "wet zone")] if len(study.zones) else []
    if not unsure.is_empty:
        rows.append(KeyRow("hatch////", "map cannot say whether\nwet (10 to 90 % chance)"))
    if not unknown.is_empty:
        rows.append(KeyRow("hatch..", "hardly any reading near"))
    rows += _reading_rows(study) if options.readings else []
    rows += _anomaly_rows(study) if options.anomalies else []
    if options.holes and len(study.drill_plan):
        pins = study.drill_plan["hole"].str.startswith("P").any()
        more = "\n(P: pin test in timber)" if pins else ""
        rows.append(KeyRow("hole", f"proposed drill point{more}"))
    kinds = {line.kind for line in study.survey.plan.lines}
    rows += [KeyRow(kind, name) for kind, name in LINE_NAMES.items() if kind in kinds]
    for row in rows:
        panel.row(row)


def _reading_rows(study: Study) -> list[KeyRow]:
    flags = set(study.readings["flag"])
    names = {
        "clear": "reading",
        "full-scale": "at or above full scale",
        "below-scale": "at or below zero of scale",
    }
    rows = [KeyRow(flag, name) for flag, name in names.items() if flag in flags]
    if flags - set(names):
        rows.append(KeyRow("aside", "reading left out of the map"))
    return rows


def _anomaly_rows(study: Study) -> list[KeyRow]:
    names = {
        "line": ("line", "line: pipe, cable or bar?\nlocate before drilling"),
        "spot": ("spot", "spot: metal or fitting?\nlocate before drilling"),
        "mesh": ("hatch++", "periodic: mesh or loops?\nlocate before drilling"),
        "stray": ("stray", "stray reading"),
    }
    kinds = set(study.anomalies["kind"])
    return [KeyRow(*row) for kind, row in names.items() if kind in kinds]


def _write_texts(figure: Figure, study: Study, options: MapOptions) -> None:
    height, width = figure.get_figheight(), figure.get_figwidth()
    left = EDGE / width
    figure.text(
        left,
        1 - 0.32 / height,
        options.title or study.survey.name,
        color=INK,
        fontproperties=font(13, "bold"),
        parse_math=False,
    )
    beside = KEY_WIDTH + EDGE if width >= NARROW else 0.0
    wide = int((width - 2 * EDGE - beside) * 15.0)
    figure.text(
        left,
        1 - 0.53 / height,
        subtitle(study),
        color=MUTED,
        fontproperties=font(8.5),
        parse_math=False,
    )
    figure.text(
        left,
        0.52 / height,
        fill(caption(study), wide),
        color=INK,
        fontproperties=font(7.5),
        va="top",
        linespacing=1.35,
        parse_math=False,
    )


def subtitle(study: Study) -> str:
    """Return visit, time, instrument and operator in one line."""
    visit = study.visit
    parts = [f"Visit {visit.id}"]
    if visit.started:
        parts.append(f"{visit.started:%Y-%m-%d %H:%M}")
    parts.append(f"instrument {study.clean.instrument.id}")
    if visit.operator:
        parts.append(f"read by {visit.operator}")
    return " · ".join(parts)


def caption(study: Study) -> str:
    """Return the caption: method, what was used and left out, what the numbers are not."""
    usable = study.readings[study.readings["flag"].isin(layers.USED)]
    mapped = usable[usable["domain"].isin(list(study.moisture.fields))]
    aside, unmapped = len(study.readings) - len(usable), len(usable) - len(mapped)
    if mapped.empty:
        words = _count(len(study.readings), "relative reading")
        words += "; no part of the floor could be mapped"
    else:
        words = f"Ordinary kriging of {_count(len(mapped), 'relative reading')}"
        words += f", {aside} left out with a reason" if aside else ""
        words += f", {unmapped} where nothing could be mapped" if unmapped else ""
    places = len(mapped[["x", "y"]].drop_duplicates())
    if 0 < places < FEW_PLACES:
        words += (
            f". Only {_count(places, 'place')} read: the map leans on assumptions more than on "
            "readings"
        )
    return f"{words}. {DISCLAIMER}"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
