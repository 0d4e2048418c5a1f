"""Maps over several visits: each visit on one colour scale, and what changed."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap, ListedColormap
from matplotlib.figure import Figure
from shapely.geometry.base import BaseGeometry

from moisturemap.drying import ChangeMap, DryingProgress
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.key import Entry, Heading, Key, Row, Scale, moisture_scale
from moisturemap.figures.labels import LEADING, Floor, Label
from moisturemap.figures.samples import MARKERS, OUTLINES, line_names
from moisturemap.figures.sheet import PANEL_HEAD, Format, Sheet, Texts
from moisturemap.figures.style import INK, MUTED, PAPER, WARNING, font
from moisturemap.figures.typeface import POINTS_PER_INCH, wrapped
from moisturemap.floorplan import FloorPlan
from moisturemap.language import spoken
from moisturemap.mapping import MoistureSurface
from moisturemap.mapping.bands import area_above, band_levels, bands, contour
from moisturemap.mapping.cell_values import CellValues
from moisturemap.quantities import DISCLAIMER
from moisturemap.survey import Survey

CHANGE_RAMP = ("#7a4a12", "#c98f4a", "#ecd9bd", "#f6f5f2", "#b9cde0", "#4d86b3", "#173a6b")
"""Brown = fell, pale = unchanged, blue = rose; told apart with any colour vision; no green."""

LEVEL_BANDS = 12
STEPS = (0.5, 1.0, 2.0, 2.5, 5.0, 10.0, 20.0)

TITLE_PT, TITLE_LINES, MOST_LINES = 7.0, 2, 6
"""Size of the titles of small maps [pt], their lines where they are wide enough, and at most."""

FELL, ROSE = "--", "||"
"""Hatches of falling and rising floor: shades alone look alike in grey."""


def visits_figure(
    drying: DryingProgress, plan: FloorPlan, name: str, form: Format = Format()
) -> Figure:
    """Draw the map of each visit on one colour scale, the wet level as a thick line."""
    sheet, titles = _titled(drying, plan, form)
    levels = shared_levels(drying.levels)
    wet_level = drying.wet.level.value
    entries: list[Entry] = [Heading("Relative reading")]
    entries += [moisture_scale(levels, wet_level)] if levels.size else []
    entries += [Row(*one) for one in line_names(plan).items()]
    offset = (
        " Readings are on the scale of the latest visit."
        if any(one.value for one in drying.series.offsets)
        else ""
    )
    texts = Texts(
        name,
        "Map of each visit, one colour scale",
        f"Kriged relative readings.{offset} {DISCLAIMER}",
    )
    figure, panels = sheet.draw(texts, Key(tuple(entries)))
    for index, (ax, surface) in enumerate(zip(panels, drying.levels, strict=True)):
        if levels.size:
            layers.draw_bands(ax, bands(surface.cells(), plan, levels), levels)
        layers.draw_plan(ax, plan)
        if wet_level is not None:
            cells = surface.cells()
            wet = area_above(cells, plan, wet_level)
            layers.draw_outline(ax, contour(cells, plan, wet_level), wet)
        ax.set_title(titles[index], color=INK, fontproperties=font(TITLE_PT), loc="left", pad=2)
    return figure


def _titled(drying: DryingProgress, plan: FloorPlan, form: Format) -> tuple[Sheet, list[str]]:
    """Return a sheet with room above each map for its title, and the titles in lines."""
    told = [_visit_title(drying, index, form) for index in range(len(drying.levels))]
    for more in range(MOST_LINES - TITLE_LINES + 1):
        head = PANEL_HEAD + more * TITLE_PT * LEADING / POINTS_PER_INCH
        sheet = Sheet(plan.bounds, form, panels=len(told), ruled=False, head=head)
        lines = [wrapped(one, sheet.name_width, TITLE_PT) for one in told]
        if max(map(len, lines)) <= TITLE_LINES + more:
            break
    return sheet, ["\n".join(one) for one in lines]


def _visit_title(drying: DryingProgress, index: int, form: Format) -> str:
    visit = drying.series.visits[index]
    parts = [visit.id]
    if visit.started is not None:
        parts.append(form.units.day(visit.started))
    if drying.wet_areas:
        area_m2 = drying.wet_areas[index].area_m2
        area = form.units.area(max(area_m2, 0.1))
        parts.append(_above(area, area_m2))
    return "\n".join((" · ".join(parts[:2]), *parts[2:]))  # beside each other they would touch


def _above(area: str, area_m2: float) -> str:
    words = f"about {area} above wet level"
    return spoken(words if area_m2 >= 0.05 else f"less than {area} above wet level")


def shared_levels(surfaces: tuple[MoistureSurface, ...]) -> np.ndarray:
    """Return round band limits that span the maps of all visits."""
    values = np.concatenate([one.dataset["mean"].to_numpy().ravel() for one in surfaces])
    return band_levels(values, LEVEL_BANDS)


def _step(span: float, most: int) -> float:
    power = 10.0 ** np.floor(np.log10(span / most))
    return float(next(s * power for s in STEPS if s * power * most >= span))


def change_figure(
    change: ChangeMap, drying: DryingProgress, survey: Survey, form: Format = Format()
) -> Figure:
    """Draw the change, risen and fallen floor told apart by hatch; areas outlined and named."""
    plan, latest = survey.plan, drying.levels[-1]
    sheet = Sheet(plan.bounds, form, ruled=False)
    floor = sheet.floor()
    floor.shun(*layers.wall_lines(plan), off=OFF_WALLS)
    labels = place_areas(floor, drying)
    levels = change_levels(change)
    unshown = unshown_area(change, latest, plan).difference(change.single.floor_of())
    entries: list[Entry] = [
        Heading("Change of the reading" + (" a week" if change.name == "rate" else ""))
    ]
    if levels.size:
        entries.append(_change_scale(levels))
        entries += [Row(f"hatch{FELL}", "fell"), Row(f"hatch{ROSE}", "rose")]
    if not unshown.is_empty:
        entries.append(Row("hatch..", "no change shown (does not mean dry)"))
    entries += [Row(*one) for one in _single(change)]
    entries += area_rows(drying)
    entries += [Row(*one) for one in line_names(plan).items()]
    rate = " a week" if change.name == "rate" else ""
    told = f"Change of the reading{rate} from visit {change.visits[0]} to {change.visits[-1]}"
    words = f"{form.units.sentence(change.sentence)} {DISCLAIMER}"
    figure, (ax,) = sheet.draw(Texts(survey.name, told, words), Key(tuple(entries)))
    _draw_change(ax, latest.on_cells(change.dataset["mean"].to_numpy()), levels, plan, unshown)
    layers.draw_hatch(ax, unshown, "..", MUTED)
    layers.draw_plan(ax, plan)
    for kind, _ in _single(change):
        points = change.single.points[np.sign(change.single.values) == SIGNS[kind]]
        ax.plot(*points.T, linestyle="none", zorder=7.5, **MARKERS[kind])  # type: ignore[arg-type]
    draw_areas(ax, drying, labels)
    return figure


SIGNS = {"fell": -1.0, "rose": 1.0}


def _single(change: ChangeMap) -> list[tuple[str, str]]:
    """Return the signs of single places that changed, and what a key says of each."""
    signs = np.sign(change.single.values)
    words = {
        "fell": "fell at this place by more than noise explains",
        "rose": "rose at this place by more than noise explains",
    }
    return [(kind, words[kind]) for kind, sign in SIGNS.items() if (signs == sign).any()]


def _draw_change(
    ax: Axes, changed: CellValues, levels: np.ndarray, plan: FloorPlan, unshown: BaseGeometry
) -> None:
    """Fill the bands of change; hatch what is shown to have fallen or risen."""
    if not levels.size:
        return
    colours = change_colours(len(levels) - 1)
    for band in bands(changed, plan, levels).itertuples():
        index = int(np.argmin(np.abs(levels[:-1] - band.low)))
        shape = layers.patch(band.geometry)
        shape.set(facecolor=colours(index), edgecolor=colours(index), linewidth=0.3, zorder=2)
        ax.add_patch(shape)
        middle = len(colours.colors) // 2  # type: ignore[arg-type]
        if index != middle:
            shown = band.geometry.difference(unshown)
            layers.draw_hatch(ax, shown, FELL if index < middle else ROSE)


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


def place_areas(floor: Floor, drying: DryingProgress) -> list[Label]:
    """Return the name of each area, inside it where there is room, else beside it."""
    labels = []
    for area in drying.areas.itertuples():
        name = str(area.area)
        label = floor.inside(area.geometry, [([name], 8.0, "bold")])
        if label is None:
            at = area.geometry.representative_point()
            label = floor.beside(at.x, at.y, name, 8.0, gap=0.05)
        labels.append(label)
    return labels


OFF_WALLS = 0.45
"""So far off its area a name is led before it may stand on a wall [in]."""

UNDER_WALLS = 5.9
"""Where the light edge of an outline lies: over the bands, and wiping out no wall beside it."""


def draw_areas(ax: Axes, drying: DryingProgress, labels: list[Label]) -> None:
    """Outline stagnant areas (dashed) and rising areas (solid), with their names."""
    for area in drying.areas.itertuples():
        dashes = OUTLINES[str(area.kind)]
        for width, colour, zorder in ((4.0, PAPER, UNDER_WALLS), (2.0, WARNING, 8.1)):
            shape = layers.patch(area.geometry)
            shape.set(
                facecolor="none",
                edgecolor=colour,
                linewidth=width,
                zorder=zorder,
                linestyle=dashes if colour == WARNING else "-",
            )
            ax.add_patch(shape)
    for label in labels:
        if label.mark is not None:
            layers.draw_leader(ax, label, *label.mark, WARNING)
    layers.write_labels(ax, labels, WARNING)


def area_rows(drying: DryingProgress) -> list[Row]:
    """Return the rows of the key for areas."""
    kinds = set(drying.areas["kind"])
    rows = (
        Row("rising", "R: readings rise, possible active leak"),
        Row("stagnant", "N: above the wet level, not falling"),
    )
    return [row for row in rows if row.kind in kinds]


def _change_scale(levels: np.ndarray) -> Scale:
    labels = [f"{level:+.4g}".replace("-", "\u2212") for level in levels]
    labels[0] += " fell"
    labels[-1] += " rose"
    return Scale(tuple(levels), tuple(labels), change_colours(len(levels) - 1))
