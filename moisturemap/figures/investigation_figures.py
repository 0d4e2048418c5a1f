"""Figures of an investigation: profile by cause, reach on the plan, dew point, timeline."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import matplotlib.dates as mdates
import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from shapely.geometry import Point

from moisturemap.figures import floor_layers as layers
from moisturemap.figures.save import FORMATS, save_figure
from moisturemap.figures.style import DRILL, INK, MUTED, PAPER, RAMP, WARNING, font
from moisturemap.figures.typeface import wrapped
from moisturemap.investigation import (
    CAUSES,
    Explanation,
    Investigation,
    WetPlace,
    diffusion_reach,
)
from moisturemap.language import spoken

MOST_PANELS = 6
"""Open causes with a panel of their own; the best explained first."""

BAND = (0.05, 0.5, 0.95)
RINGS = ((90.0, "90 days", 150.0), (365.0, "1 year", 90.0), (1095.0, "3 years", 30.0))
"""Days whose reach of diffusion is drawn round the peak, its label, and where that stands [deg]."""


def investigation_figures(found: Investigation, survey_name: str) -> dict[str, Figure]:
    """Return the figures of an investigation by name; those without content are left out."""
    figures: dict[str, Figure] = {}
    if found.explanation is not None and _shown(found):
        figures["cause-profiles"] = cause_profiles(found)
    if found.wet is not None and found.wet.zone is not None:
        figures["cause-reach"] = cause_reach(found.wet, survey_name)
    if not found.margins.empty:
        figures["cause-dew-point"] = dew_point_figure(found.margins, survey_name)
    if len(found.events) > 1:
        figures["cause-timeline"] = timeline(found, survey_name)
    return figures


def save_investigation_figures(
    found: Investigation,
    folder: Path,
    survey_name: str,
    formats: Sequence[str] = FORMATS,
    dpi: float = 200,
) -> list[Path]:
    """Write the figures of an investigation into a folder."""
    return [
        path
        for name, figure in investigation_figures(found, survey_name).items()
        for path in save_figure(figure, folder, name, formats, dpi)
    ]


def _shown(found: Investigation) -> list[str]:
    assert found.explanation is not None
    known = found.explanation
    left = [one for one in found.open_causes if one in known.support]
    return sorted(left, key=lambda one: -known.support[one])[:MOST_PANELS]


def cause_profiles(found: Investigation) -> Figure:
    """Draw the readings of the latest day over the band each open cause simulates."""
    known, place = found.explanation, found.place
    assert known is not None
    assert place is not None
    shown = _shown(found)
    columns = min(3, len(shown))
    rows = -(-len(shown) // columns)
    figure = Figure(figsize=(10.0, 1.6 + 3.6 * rows), dpi=150, facecolor="white")
    _title(
        figure,
        f"{place.name}, {place.room.name}: what each open cause would show at depth",
        "Bands hold 90 % of the simulated histories of the slab as stated, weighed by how well they"
        " fit; marks are the readings with their expanded uncertainty. No measurement stands behind"
        " a band.",
    )
    top, bottom = 1.0 - 1.35 / figure.get_figheight(), 0.6 / figure.get_figheight()
    grid = figure.add_gridspec(
        rows, columns, left=0.08, right=0.97, top=top, bottom=bottom, hspace=0.3, wspace=0.18
    )
    low = 5.0 * np.floor((min(one.rh_pct for one in known.observations) - 8.0) / 5.0)
    for index, cause in enumerate(shown):
        ax = figure.add_subplot(grid[index // columns, index % columns])
        _profile(ax, known, cause, low)
        if index % columns == 0:
            ax.set_ylabel("depth [mm]", fontproperties=font(9), color=MUTED)
        if index + columns >= len(shown):
            ax.set_xlabel("relative humidity [%]", fontproperties=font(9), color=MUTED)
    return figure


def _profile(ax: Axes, known: Explanation, cause: str, low: float) -> None:
    simulated = known.histories(cause)
    depth = simulated.z * known.story.thickness_mm
    days = known.story.days[-2:]
    for day, colour in zip(days, (RAMP[3], RAMP[6])[-len(days) :], strict=True):
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
                label="latest" if day == 0.0 else f"{-day:.0f} days before",
            )
    ax.set_title(_short(cause), loc="left", color=INK, fontproperties=font(9.5, "bold"))
    ax.set_ylim(known.story.thickness_mm, 0.0)
    ax.set_xlim(max(low, 0.0), 101.0)
    ax.legend(prop=font(7.5), frameon=False, loc="lower left")
    _plain(ax)


def _short(cause: str) -> str:
    return "\n".join(wrapped(CAUSES[cause].words.capitalize(), 2.6, 8.0))


def _quantiles(values: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Weighted quantiles of each column, shape (3, n)."""
    order = np.argsort(values, axis=0)
    ranked, total = np.take_along_axis(values, order, 0), np.cumsum(weight[order], axis=0)
    last = len(values) - 1
    rows = [np.minimum((total < share).sum(axis=0), last) for share in BAND]
    return np.array([np.take_along_axis(ranked, row[None, :], 0)[0] for row in rows])


def cause_reach(wet: WetPlace, survey_name: str) -> Figure:
    """Draw the wet zone with rings of what diffusion from its peak could have reached."""
    west, south, east, north = wet.zone.buffer(1.5).bounds if wet.zone is not None else (0, 0, 1, 1)
    figure = Figure(figsize=(8.0, 6.6), dpi=150, facecolor="white")
    _title(
        figure,
        f"{survey_name}: zone {wet.name} and what diffusion could have reached",
        "Rings: where a wet point at the peak would show 5 % after the time beside them, with"
        " the usual diffusivity of 29 mm2/day. What is wider was carried by a joint, an interface,"
        " insulation or the ground.",
    )
    ax = figure.add_axes((0.08, 0.08, 0.88, 0.76))
    ax.set_aspect("equal")
    ax.set_xlim(west, east)
    ax.set_ylim(south, north)
    layers.draw_plan(ax, wet.plan)
    if wet.zone is not None:
        shape = layers.patch(wet.zone)
        shape.set(facecolor=RAMP[3], edgecolor=RAMP[6], alpha=0.45, linewidth=1.5, zorder=4)
        ax.add_patch(shape)
    if wet.flagged is not None:
        layers.draw_anomalies(ax, wet.flagged)
    for days, label, angle in RINGS:
        radius, turn = diffusion_reach(days), np.radians(angle)
        ring = np.asarray(Point(wet.peak).buffer(radius, quad_segs=32).exterior.coords)
        ax.plot(*ring.T, color=DRILL, linewidth=1.2, linestyle=(0, (4, 2)), zorder=9)
        ax.annotate(
            label,
            (wet.peak[0] + radius * np.cos(turn), wet.peak[1] + radius * np.sin(turn)),
            xytext=(46 * np.cos(turn), 26 * np.sin(turn) + 6),
            textcoords="offset points",
            color=DRILL,
            ha="center",
            va="center",
            fontproperties=font(8, "bold"),
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.0, "alpha": 0.9},
            arrowprops={"arrowstyle": "-", "color": DRILL, "linewidth": 0.8},
            zorder=10,
        )
    ax.plot(*wet.peak, marker="+", color=INK, markersize=11, markeredgewidth=1.8, zorder=10)
    ax.set_xlabel("x [m]", fontproperties=font(9), color=MUTED)
    ax.set_ylabel("y [m]", fontproperties=font(9), color=MUTED)
    _plain(ax)
    return figure


def dew_point_figure(margins: pd.DataFrame, survey_name: str) -> Figure:
    """Draw surface temperature and dew point over time."""
    figure = Figure(figsize=(8.0, 4.2), dpi=150, facecolor="white")
    _title(
        figure,
        f"{survey_name}: surface of the floor and dew point of the air",
        "Where a surface lies below the dew point, water condenses on it; within 3 K it is near,"
        " and a dew point errs by about 1 K.",
    )
    ax = figure.add_axes((0.09, 0.14, 0.87, 0.62))
    times = pd.to_datetime(margins["started"], utc=True, errors="coerce").dt.floor("D")
    kept = margins[times.notna()]
    when = (
        times[times.notna()].dt.tz_localize(None).to_numpy().astype("datetime64[m]").astype(float)
    )
    when = when / 1440.0
    surface, dew = kept["surface_c"].to_numpy(float), kept["dew_point_c"].to_numpy(float)
    near = surface - dew <= 1.0
    for mask, colour in ((near, WARNING), (~near, MUTED)):
        ax.vlines(when[mask], dew[mask], surface[mask], color=colour, linewidth=1.2)
    ax.plot(when, surface, "o", color=DRILL, markersize=5, label="surface")
    ax.plot(when, dew, "v", color=RAMP[5], markersize=6, label="dew point")
    _dated(ax, 7)
    ax.margins(x=0.08, y=0.2)
    ax.set_ylabel("temperature [C]", fontproperties=font(9), color=MUTED)
    ax.legend(prop=font(8.5), frameon=False, loc="upper left", ncols=2)
    _plain(ax)
    return figure


def timeline(found: Investigation, survey_name: str) -> Figure:
    """Draw what happened when, and when depth was read."""
    figure = Figure(figsize=(10.0, 3.4), dpi=150, facecolor="white")
    _title(figure, f"{survey_name}: what happened when", "")
    ax = figure.add_axes((0.04, 0.14, 0.92, 0.66))
    events = sorted(found.events.items(), key=lambda one: one[1])
    days = np.array([_number(day) for _, day in events])
    span = max(float(np.ptp(days)), 1.0)
    ax.axhline(0.0, color=INK, linewidth=1.4)
    for level, (name, day) in zip(_levels(days, span), events, strict=True):
        _event(ax, f"{spoken(name)}\n{day.isoformat()}", _number(day), level)
    if found.place is not None:
        read = sorted({_number(one.day) for one in found.place.readings})
        ax.plot(read, [0.0] * len(read), "o", color=DRILL, markersize=7, zorder=5)
        ax.annotate(
            "dots: read at depth",
            (0.0, 0.0),
            xycoords="axes fraction",
            color=DRILL,
            va="bottom",
            fontproperties=font(8),
        )
    ax.set_ylim(-3.6, 3.6)
    ax.margins(x=0.08)
    ax.yaxis.set_visible(False)
    _dated(ax, 8)
    _plain(ax)
    ax.spines["left"].set_visible(False)
    return figure


def _levels(days: np.ndarray, span: float) -> list[float]:
    """Height of each event's label, so that near ones stand apart."""
    heights = (1.1, -1.1, 2.1, -2.1, 3.0, -3.0)
    found: list[float] = []
    for index, day in enumerate(days):
        near = [found[k] for k in range(index) if day - days[k] < 0.16 * span]
        found.append(next((one for one in heights if one not in near), heights[index % 6]))
    return found


def _number(day: date) -> float:
    """Days since 1970, the axis of dates."""
    return float((day - date(1970, 1, 1)).days)


def _dated(ax: Axes, most: int) -> None:
    """Label an axis of days since 1970 with dates."""
    ax.xaxis_date()
    locator = mdates.AutoDateLocator(maxticks=most)  # type: ignore[no-untyped-call]
    ax.xaxis.set_major_locator(locator)
    ax.xaxis.set_major_formatter(mdates.ConciseDateFormatter(locator))  # type: ignore[no-untyped-call]


def _event(ax: Axes, words: str, day: float, level: float) -> None:
    ax.plot([day, day], [0.0, level], color=MUTED, linewidth=0.9)
    ax.annotate(
        words,
        (day, level),
        ha="center",
        va="bottom" if level > 0 else "top",
        color=INK,
        fontproperties=font(8),
        bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.0},
    )


def _title(figure: Figure, title: str, text: str) -> None:
    """Write title and explanation at the top left, the second below the first."""
    height, width = figure.get_figheight(), figure.get_figwidth()
    room = 0.94 * width
    heading = wrapped(title, room, 12.0, "bold")
    figure.text(
        0.04,
        1.0 - 0.2 / height,
        "\n".join(heading),
        color=INK,
        va="top",
        fontproperties=font(12, "bold"),
        parse_math=False,
    )
    figure.text(
        0.04,
        1.0 - (0.28 + 0.2 * len(heading)) / height,
        "\n".join(wrapped(text, room, 8.5)),
        color=MUTED,
        va="top",
        fontproperties=font(8.5),
        parse_math=False,
    )


def _plain(ax: Axes) -> None:
    ax.tick_params(labelsize=8, color=MUTED, labelcolor=MUTED)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        ax.spines[side].set_color(MUTED)
