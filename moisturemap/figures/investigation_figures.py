"""Figures of an investigation: profile by cause, reach on the plan, dew point, timeline."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, MaxNLocator, MultipleLocator
from shapely.geometry import Point

from moisturemap.figures import floor_layers as layers
from moisturemap.figures.chart_page import (
    KEY_ROW,
    ChartPage,
    dated_axis,
    draw_key,
    key_height,
    plain_axes,
    width_in,
)
from moisturemap.figures.key import Key, Row
from moisturemap.figures.samples import line_names
from moisturemap.figures.save import FORMATS, save_figure
from moisturemap.figures.sheet import EDGE, Format, Sheet, Texts
from moisturemap.figures.style import DRILL, INK, MUTED, PAPER, RAMP, WARNING, font
from moisturemap.figures.typeface import width_of, wrapped
from moisturemap.investigation import (
    CAUSES,
    Explanation,
    Investigation,
    WetPlace,
    diffusion_reach,
)
from moisturemap.language import spoken
from moisturemap.units import INCH_MM, Units

MOST_PANELS = 6
"""Open causes with a panel of their own; the best explained first."""

BAND = (0.05, 0.5, 0.95)
RINGS = ((90.0, "90 days", 150.0), (365.0, "1 year", 90.0), (1095.0, "3 years", 30.0))
"""Days whose reach of diffusion is drawn round the peak, its label, and where that stands [deg]."""


def investigation_figures(
    found: Investigation, survey_name: str, form: Format = Format()
) -> dict[str, Figure]:
    """Return the figures of an investigation by name; those without content are left out.

    Parameters
    ----------
    found : Investigation
    survey_name : str
    form : Format
        Width and units.
    """
    figures: dict[str, Figure] = {}
    if found.explanation is not None and _shown(found):
        figures["cause-profiles"] = cause_profiles(found, form)
    if found.wet is not None and found.wet.zone is not None:
        figures["cause-reach"] = cause_reach(found.wet, survey_name, form)
    if not found.margins.empty:
        figures["cause-dew-point"] = dew_point_figure(found.margins, survey_name, form)
    if len(found.events) > 1:
        figures["cause-timeline"] = timeline(found, survey_name, form)
    return figures


def save_investigation_figures(
    found: Investigation,
    folder: Path,
    survey_name: str,
    formats: Sequence[str] = FORMATS,
    dpi: float = 200,
    form: Format = Format(),
) -> list[Path]:
    """Write the figures of an investigation into a folder.

    Parameters
    ----------
    found : Investigation
    folder : Path
    survey_name : str
    formats : sequence of str
        As in ``FORMATS``.
    dpi : float
        Dots per inch of pictures.
    form : Format
        Width and units.
    """
    return [
        path
        for name, figure in investigation_figures(found, survey_name, form).items()
        for path in save_figure(figure, folder, name, formats, dpi)
    ]


def _shown(found: Investigation) -> list[str]:
    assert found.explanation is not None
    known = found.explanation
    left = [one for one in found.open_causes if one in known.support]
    return sorted(left, key=lambda one: -known.support[one])[:MOST_PANELS]


PANEL, PANEL_GAP, PANEL_HEAD, PANEL_FOOT, LEFT = 2.1, 0.16, 0.32, 0.42, 0.5
"""Height of a panel, between panels, above one for its title, below and left for its axes [in]."""

ALIKE = (
    "Readings of one probe err alike, and so may the simulated slab at all depths: a cause can"
    " explain their course over depth and days best though marks lie to one side of its band."
)
"""Why the cause that explains readings best may have them beside its band."""

NARROWEST = 1.5
"""Of one of several panels side by side [in]."""


def cause_profiles(found: Investigation, form: Format = Format()) -> Figure:
    """Draw the readings of the latest day over the band each open cause simulates."""
    known, place = found.explanation, found.place
    assert known is not None
    assert place is not None
    shown = _shown(found)
    texts = Texts(
        f"{place.name}, {place.room.name}: what each open cause would show at depth",
        "Bands hold 90% of the simulated histories of the slab as stated, weighed by how well they"
        " fit; marks are the readings with their expanded uncertainty. No measurement stands behind"
        " a band.",
        ALIKE,
    )
    inside = width_in(form) - LEFT - EDGE
    columns = max(1, min(3, len(shown), int((inside + PANEL_GAP) / (NARROWEST + PANEL_GAP))))
    rows = -(-len(shown) // columns)
    across = (inside - (columns - 1) * PANEL_GAP) / columns
    titles = [_short(cause, across) for cause in shown]
    head = PANEL_HEAD + 0.13 * (max(title.count("\n") for title in titles))
    keyed = key_height(_days_named(known), inside)
    page = ChartPage(texts, rows * (head + PANEL + PANEL_FOOT) + keyed, form)
    low = 5.0 * np.floor((min(one.rh_pct for one in known.observations) - 8.0) / 5.0)
    for index, cause in enumerate(shown):
        row, column = divmod(index, columns)
        bottom = keyed + (rows - 1 - row) * (head + PANEL + PANEL_FOOT) + PANEL_FOOT
        ax = page.axes(LEFT + column * (across + PANEL_GAP), bottom, across, PANEL)
        _profile(ax, known, cause, low, form.units)
        ax.set_title(titles[index], loc="left", color=INK, fontproperties=font(8, "bold"))
        unit = "in" if form.units.us else "mm"
        below = index + columns >= len(shown)
        plain_axes(
            ax,
            "relative humidity [%]" if below else "",
            f"depth below the top [{unit}]" if column == 0 else "",
        )
        if column:
            ax.tick_params(labelleft=False)
    draw_key(page, _days_key(known), LEFT, keyed)
    return page.figure


def _days_named(known: Explanation) -> list[str]:
    return [str(one.get_label()) for one in _days_key(known)]


def _days_key(known: Explanation) -> list[Line2D]:
    """Return the key of the days read: the latest, and the one before."""
    handles = []
    for day, band in _days(known):
        name = "read on the latest day" if day == 0.0 else f"read {-day:.0f} days before"
        look = {"marker": "o", "color": DRILL} if day == 0.0 else {"marker": "s", "color": MUTED}
        handles.append(Line2D([], [], linestyle="", markersize=5, label=name, **look))  # type: ignore[arg-type]
        told = "simulated, latest day" if day == 0.0 else "simulated, day before"
        handles.append(Line2D([], [], color=band, linewidth=3, label=told))
    return handles


def _days(known: Explanation) -> list[tuple[float, str]]:
    """Return the last two days simulated, and the colour of each."""
    days = known.story.days[-2:]
    return list(zip(days, (RAMP[3], RAMP[6])[-len(days) :], strict=True))


def _profile(ax: Axes, known: Explanation, cause: str, low: float, units: Units) -> None:
    simulated = known.histories(cause)
    depth = simulated.z * known.story.thickness_mm
    for day, colour in _days(known):
        frame = simulated.h_pct[:, simulated.days.index(day)]
        left, middle, right = _quantiles(frame, known.weights[cause])
        ax.fill_betweenx(depth, left, right, color=colour, alpha=0.22, linewidth=0)
        ax.plot(middle, depth, color=colour, linewidth=1.6)
        read = [one for one in known.observations if one.day == day and not one.beside]
        if read:
            ax.errorbar(
                [one.rh_pct for one in read],
                [one.depth_mm for one in read],
                xerr=[2.0 * one.sd_pct for one in read],
                fmt="o" if day == 0.0 else "s",
                color=DRILL if day == 0.0 else MUTED,
                markersize=5,
                capsize=2.5,
                zorder=5,
            )
    ax.set_ylim(known.story.thickness_mm, 0.0)
    ax.set_xlim(max(low, 0.0), 101.0)
    ax.xaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 5, 10]))
    if units.us:
        ax.yaxis.set_major_locator(MultipleLocator(INCH_MM))
        ax.yaxis.set_major_formatter(FuncFormatter(lambda mm, _: f"{mm / INCH_MM:.0f}"))


def _short(cause: str, width: float) -> str:
    words = spoken(CAUSES[cause].words)
    return "\n".join(wrapped(words[0].upper() + words[1:], width, 8.0, "bold"))


def _quantiles(values: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Weighted quantiles of each column, shape (3, n)."""
    order = np.argsort(values, axis=0)
    ranked, total = np.take_along_axis(values, order, 0), np.cumsum(weight[order], axis=0)
    last = len(values) - 1
    rows = [np.minimum((total < share).sum(axis=0), last) for share in BAND]
    return np.array([np.take_along_axis(ranked, row[None, :], 0)[0] for row in rows])


def cause_reach(wet: WetPlace, survey_name: str, form: Format = Format()) -> Figure:
    """Draw the wet zone with rings of what diffusion from its peak could have reached."""
    assert wet.zone is not None
    sheet = Sheet(wet.zone.buffer(ROUND_M).bounds, form)
    texts = Texts(
        f"{survey_name}: zone {wet.name} and what diffusion could have reached",
        "",
        "Rings: where a wet point at the peak would show 5% after the time beside them, with"
        " the usual diffusivity of 29 mm2/day. What is wider was carried by a joint, an interface,"
        " insulation or the ground.",
    )
    floor = sheet.floor()
    floor.occupy(*wet.peak, *(2 * diffusion_reach(RINGS[-1][0]) * sheet.scale,) * 2)
    layers.keep_off_plan(floor, wet.plan)
    if wet.flagged is not None:
        for shape in wet.flagged.geometry:
            layers.keep_off_line(floor, shape)
    labels = [
        floor.beside(*_on_ring(wet.peak, days, angle), label, 7.0, gap=0.05)
        for days, label, angle in RINGS
    ]
    rows = [Row("zone", "wet zone"), Row("ring", "reach of diffusion from the peak (+)")]
    rows += [Row(*one) for one in line_names(wet.plan).items()]
    figure, (ax,) = sheet.draw(texts, Key(tuple(rows)))
    limits = ax.get_xlim(), ax.get_ylim()
    layers.draw_plan(ax, wet.plan)
    shape = layers.patch(wet.zone)
    shape.set(facecolor=RAMP[3], edgecolor=RAMP[6], alpha=0.45, linewidth=1.5, zorder=4)
    ax.add_patch(shape)
    if wet.flagged is not None:
        layers.draw_anomalies(ax, wet.flagged)
    for (days, _, angle), label in zip(RINGS, labels, strict=True):
        ring = np.asarray(
            Point(wet.peak).buffer(diffusion_reach(days), quad_segs=32).boundary.coords
        )
        ax.plot(*ring.T, color=DRILL, linewidth=1.2, linestyle=(0, (4, 2)), zorder=9)
        at = _on_ring(wet.peak, days, angle)
        ax.plot(*zip(at, (label.x, label.y), strict=True), color=DRILL, linewidth=0.6, zorder=9)
    ax.plot(*wet.peak, marker="+", color=INK, markersize=11, markeredgewidth=1.8, zorder=10)
    layers.write_labels(ax, labels, DRILL)
    ax.set(xlim=limits[0], ylim=limits[1])
    return figure


ROUND_M = 1.5
"""Floor drawn round a zone [m]."""


def _on_ring(peak: tuple[float, float], days: float, angle: float) -> tuple[float, float]:
    radius, turn = diffusion_reach(days), np.radians(angle)
    return peak[0] + radius * float(np.cos(turn)), peak[1] + radius * float(np.sin(turn))


def dew_point_figure(margins: pd.DataFrame, survey_name: str, form: Format = Format()) -> Figure:
    """Draw surface temperature and dew point over time."""
    units = form.units
    texts = Texts(
        f"{survey_name}: surface of the floor and dew point of the air",
        units.sentence(
            "Where a surface lies below the dew point, water condenses on it; within 3 K it is"
            " near, and a dew point errs by about 1 K."
        ),
        "",
    )
    page = ChartPage(texts, 2.6 + KEY_ROW, form)
    ax = page.axes(LEFT, 0.3 + KEY_ROW, page.width - LEFT - EDGE - 0.1, 2.2)
    times = pd.to_datetime(margins["started"], utc=True, errors="coerce").dt.floor("D")
    kept = margins[times.notna()]
    when = (
        times[times.notna()].dt.tz_localize(None).to_numpy().astype("datetime64[m]").astype(float)
    )
    when = when / 1440.0
    surface, dew = kept["surface_c"].to_numpy(float), kept["dew_point_c"].to_numpy(float)
    near = surface - dew <= 1.0
    if units.us:
        surface, dew = surface * 1.8 + 32.0, dew * 1.8 + 32.0
    for mask, colour in ((near, WARNING), (~near, MUTED)):
        ax.vlines(when[mask], dew[mask], surface[mask], color=colour, linewidth=1.2)
    marks = [
        *ax.plot(when, surface, "o", color=DRILL, markersize=5, label="surface"),
        *ax.plot(when, dew, "v", color=RAMP[5], markersize=6, label="dew point"),
    ]
    _dated(ax, max(5, int(page.width / DATE_ROOM)), form.units)
    ax.margins(x=0.08, y=0.2)
    plain_axes(ax, "", f"temperature [{'°F' if units.us else '°C'}]")
    draw_key(page, marks, LEFT, KEY_ROW)
    return page.figure


DATE_ROOM = 0.9
"""Along an axis of dates, for each [in]."""

LANE = 0.34
"""Height of one row of events [in]."""


def timeline(found: Investigation, survey_name: str, form: Format = Format()) -> Figure:
    """Draw what happened when, and when depth was read."""
    events = sorted(found.events.items(), key=lambda one: one[1])
    labels = [f"{spoken(name)}\n{form.units.day(day)}" for name, day in events]
    days = np.array([_number(day) for _, day in events])
    across = width_in(form) - 2 * EDGE
    lanes = _lanes(days, [_wide(label) for label in labels], across)
    deep = max(lanes) // 2 + 1
    read = [] if found.place is None else sorted({_number(one.day) for one in found.place.readings})
    body = 2 * LANE * deep + 0.2 + 0.35 + (KEY_ROW if read else 0.0)
    page = ChartPage(Texts(f"{survey_name}: what happened when", "", ""), body, form)
    foot = 0.35 + (KEY_ROW if read else 0.0)
    ax = page.axes(EDGE, foot, across, body - foot)
    ax.axhline(0.0, color=INK, linewidth=1.4)
    for lane, label, day in zip(lanes, labels, days, strict=True):
        _event(ax, label, float(day), lane)
    span = _shown_days(days)
    ax.set_xlim(*span)
    ax.set_ylim(-deep - 0.3, deep + 0.3)
    ax.yaxis.set_visible(False)
    _dated(ax, max(5, int(page.width / DATE_ROOM)), form.units)
    plain_axes(ax, "", "")
    ax.spines["left"].set_visible(False)
    if read:
        dots = ax.plot(
            read, [0.0] * len(read), "o", color=DRILL, markersize=6, zorder=5, label="read at depth"
        )
        draw_key(page, dots, EDGE, KEY_ROW)
    return page.figure


def _shown_days(days: np.ndarray) -> tuple[float, float]:
    """Return the ends of a timeline, with room for half a label beyond its events."""
    span = max(float(np.ptp(days)), 1.0)
    return float(days.min()) - 0.12 * span, float(days.max()) + 0.12 * span


def _wide(label: str) -> float:
    return max(width_of(line, EVENT_PT) for line in label.split("\n")) + 0.1


def _lanes(days: np.ndarray, widths: list[float], across: float) -> list[int]:
    """Return the row of each event's label, so that none covers another; even rows stand above."""
    first, last = _shown_days(days)
    at = (days - first) / (last - first) * across
    ends: list[list[tuple[float, float]]] = []
    found = []
    for middle, wide in zip(at, widths, strict=True):
        box = (middle - wide / 2, middle + wide / 2)
        lane = next(
            (
                k
                for k, taken in enumerate(ends)
                if all(box[0] >= b or box[1] <= a for a, b in taken)
            ),
            len(ends),
        )
        if lane == len(ends):
            ends.append([])
        ends[lane].append(box)
        found.append(lane)
    return found


def _number(day: date) -> float:
    """Days since 1970, the axis of dates."""
    return float((day - date(1970, 1, 1)).days)


def _dated(ax: Axes, most: int, units: Units) -> None:
    """Label an axis of days since 1970 with dates."""
    ax.xaxis_date()
    dated_axis(ax, most, units)


EVENT_PT = 7.0


def _event(ax: Axes, words: str, day: float, lane: int) -> None:
    """Write an event above or below the line, lane by lane outwards."""
    level = (lane // 2 + 0.4) * (1 if lane % 2 == 0 else -1)
    ax.plot([day, day], [0.0, level], color=MUTED, linewidth=0.9, zorder=1)
    ax.annotate(
        words,
        (day, level),
        ha="center",
        va="bottom" if level > 0 else "top",
        color=INK,
        fontproperties=font(EVENT_PT),
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.0},
        zorder=2,
    )
