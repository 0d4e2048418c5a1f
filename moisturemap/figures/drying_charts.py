"""Charts over the visits: wet area, forecast of each zone, and the room air."""

from __future__ import annotations

import math
from textwrap import fill

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from moisturemap.drying import CourseMixture, DryingProgress, Forecast
from moisturemap.figures.style import INK, MUTED, PAPER, RAMP, WARNING, font
from moisturemap.quantities import DISCLAIMER

LINE_WIDTH = 1.8
MARKS = ("o", "s", "^", "D", "v", "P")
COLOURS = (RAMP[5], "#a85a14", RAMP[3], "#5c6770", RAMP[7], "#c98f4a")
"""By zone, together with a mark of its own."""

Look = tuple[str, str, str | tuple[int, tuple[int, int]]]
AIR: Look = (RAMP[4], "o", "-")
SLAB: Look = (INK, "s", "-")
DEW: Look = (WARNING, "^", (0, (4, 2)))

MOST_ZONES = 6
LONGEST_DAYS = 180.0
Z90 = 1.6448536269514722


def outlook_figure(drying: DryingProgress, name: str) -> Figure:
    """Draw wet area with its interval, and each zone's readings with its forecast."""
    shown = [one for one in drying.forecasts if one.course is not None][:MOST_ZONES]
    figure = Figure(figsize=(8.6, 6.9 if shown else 4.1), dpi=150, facecolor=PAPER)
    rows = 2 if shown else 1
    axes = figure.subplots(rows, 1, squeeze=False)[:, 0]
    figure.subplots_adjust(
        left=0.085, right=0.97, top=0.88, bottom=0.205 if shown else 0.30, hspace=0.42
    )
    _draw_wet_area(axes[0], drying)
    if shown:
        _draw_forecasts(axes[1], shown, drying)
    _write(
        figure,
        name,
        "Wet area by visit" + (", and forecast of each zone" if shown else ""),
        _outlook_caption(drying),
    )
    return figure


def _draw_wet_area(ax: Axes, drying: DryingProgress) -> None:
    _plain_axes(ax, "floor above the wet level [m2]")
    ids = [visit.id for visit in drying.series.visits]
    areas = drying.wet_areas
    if not areas:
        ax.text(
            0.5,
            0.5,
            "no wet level is known",
            transform=ax.transAxes,
            ha="center",
            color=MUTED,
            fontproperties=font(9),
        )
        return
    days = np.array([one.days for one in areas])
    timed = bool(np.isfinite(days).all())
    at = days if timed else np.arange(len(areas), dtype=float)
    value = np.array([one.area_m2 for one in areas])
    low, high = (np.array([getattr(one, key) for one in areas]) for key in ("low_m2", "high_m2"))
    ax.errorbar(
        at,
        value,
        yerr=[np.maximum(value - low, 0), np.maximum(high - value, 0)],
        color=RAMP[5],
        marker="o",
        markersize=5,
        linewidth=LINE_WIDTH,
        capsize=4,
        elinewidth=1.2,
    )
    for x, y, text in zip(at, high, ids, strict=True):
        ax.annotate(
            text,
            (x, y),
            xytext=(0, 4),
            textcoords="offset points",
            ha="center",
            color=MUTED,
            fontproperties=font(7.5),
        )
    ax.set_ylim(0, 1.15 * max(float(high.max()), 1e-9))
    ax.set_xlabel(
        "days since the first visit" if timed else "visit", color=MUTED, fontproperties=font(8)
    )
    if not timed:
        ax.set_xticks(at, ids)


def _draw_forecasts(ax: Axes, shown: list[Forecast], drying: DryingProgress) -> None:
    _plain_axes(ax, "relative reading, wettest tenth")
    today = float(drying.series.days[-1])
    ends = [one.high for one in shown if math.isfinite(one.high)]
    ahead = min(max([0.6 * max(today, 7.0), *[1.15 * end for end in ends]]), LONGEST_DAYS)
    target = shown[0].target
    for one, mark, colour in zip(shown, MARKS, COLOURS, strict=False):
        course = one.course
        if course is None:
            continue
        ax.errorbar(
            course.days,
            course.level,
            yerr=Z90 * course.sd,
            color=colour,
            marker=mark,
            markersize=5,
            linestyle="none",
            capsize=3,
            elinewidth=1.1,
            label=f"zone {one.zone}",
        )
        if one.mixture is not None:
            _draw_courses(ax, one.mixture, (today, ahead), colour)
    levels = np.concatenate([one.course.level for one in shown if one.course is not None])
    spread = max(float(np.ptp([*levels, target])), 1.0)
    ax.set_ylim(
        min(float(levels.min()), target) - 0.35 * spread,
        max(float(levels.max()), target) + 0.35 * spread,
    )
    ax.set_xlim(-0.02 * (today + ahead), today + ahead)
    _mark_target_and_today(ax, target, today)
    ax.set_xlabel("days since the first visit", color=MUTED, fontproperties=font(8))
    ax.legend(
        prop=font(8),
        frameon=False,
        loc="upper left",
        bbox_to_anchor=(0.0, 1.16),
        ncols=6,
        borderaxespad=0.0,
        handletextpad=0.4,
        columnspacing=1.4,
    )


def _mark_target_and_today(ax: Axes, target: float, today: float) -> None:
    """Draw the wet level and the day of the latest visit."""
    ax.axhline(target, color=INK, linewidth=1.4)
    ax.annotate(
        f"wet level {target:.3g}",
        (1.0, target),
        xycoords=("axes fraction", "data"),
        xytext=(-3, 3),
        textcoords="offset points",
        ha="right",
        color=INK,
        fontproperties=font(7.5, "bold"),
    )
    ax.axvline(today, color=MUTED, linewidth=0.8, linestyle=":")
    ax.annotate(
        "latest visit",
        (today, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(3, -9),
        textcoords="offset points",
        color=MUTED,
        fontproperties=font(7.5),
    )


def _draw_courses(ax: Axes, mixture: CourseMixture, span: tuple[float, float], colour: str) -> None:
    """Draw the weighed courses up to the latest visit and beyond, with their band."""
    today, ahead = span
    time = np.linspace(0.0, today, 60)
    ax.plot(time, mixture.level(time)[0], color=colour, linewidth=LINE_WIDTH)
    time = np.linspace(today, today + ahead, 80)
    mean, sd = mixture.level(time)
    ax.plot(time, mean, color=colour, linewidth=LINE_WIDTH, linestyle=(0, (4, 2)))
    ax.fill_between(time, mean - Z90 * sd, mean + Z90 * sd, color=colour, alpha=0.14, linewidth=0)


def _outlook_caption(drying: DryingProgress) -> str:
    said = [one.sentence for one in drying.forecasts if one.zone == "floor"]
    said += [one.sentence for one in drying.forecasts if one.zone != "floor"][:2]
    first = said[0] if said else "No forecast could be made."
    return f"Bars and bands are 90 % intervals. {first} {DISCLAIMER}"


def air_figure(drying: DryingProgress, name: str) -> Figure:
    """Draw temperatures against the dew point, and vapour pressures, by visit."""
    table = drying.air
    figure = Figure(figsize=(8.6, 6.2), dpi=150, facecolor=PAPER)
    top, bottom = figure.subplots(2, 1)
    foot = 1.2 / figure.get_figheight()
    figure.subplots_adjust(left=0.085, right=0.97, top=0.86, bottom=foot, hspace=0.34)
    days = drying.series.days
    timed = bool(np.isfinite(days).all()) and len(set(days)) == len(days)
    at = days if timed else np.arange(len(table), dtype=float)
    _plain_axes(top, "temperature [C]")
    _plain_axes(bottom, "vapour pressure [Pa]")
    _line(top, at, table["air_temperature_c"], "air", AIR)
    _line(top, at, table["slab_temperature_c"], "slab surface", SLAB)
    dew = table["dew_point_c"].to_numpy(dtype=float)
    _line(top, at, table["dew_point_c"], "dew point of the air", DEW)
    top.fill_between(
        at, dew, dew + 3.0, color=WARNING, alpha=0.12, linewidth=0, label="less than 3 K above it"
    )
    air = table["vapour_pressure_pa"].to_numpy(dtype=float)
    _line(bottom, at, table["vapour_pressure_pa"], "room air", AIR)
    _line(bottom, at, table["greatest_drive_pa"] + air, "saturated slab", SLAB)
    for ax in (top, bottom):
        if ax.get_legend_handles_labels()[0]:
            ax.legend(
                prop=font(8),
                frameon=False,
                loc="lower left",
                bbox_to_anchor=(0.0, 1.0),
                ncols=4,
                borderaxespad=0.2,
                columnspacing=1.4,
            )
        ax.set_xticks(at, [str(one) for one in table["visit"]])
    bottom.set_xlabel(
        "visit" + (", at its day" if timed else ""), color=MUTED, fontproperties=font(8)
    )
    caption = (
        "A slab dries while its vapour pressure lies above that of the air: at most by the "
        "gap shown, less the drier it is. Formulas of the ASHRAE Handbook."
    )
    if not np.isfinite(air).any():
        caption = "No air temperature and humidity were recorded."
    _write(figure, name, "Room air by visit", caption)
    return figure


def _line(ax: Axes, at: np.ndarray, values: pd.Series, label: str, look: Look) -> None:
    """Draw a line with colour, mark and dashes, where there is anything to draw."""
    colour, mark, dashes = look
    numbers = values.to_numpy(dtype=float)
    if np.isfinite(numbers).any():
        ax.plot(
            at,
            numbers,
            color=colour,
            marker=mark,
            markersize=5,
            linewidth=LINE_WIDTH,
            linestyle=dashes,
            label=label,
        )


def _plain_axes(ax: Axes, label: str) -> None:
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        ax.spines[side].set_color(MUTED)
    ax.tick_params(length=2.5, color=MUTED, labelcolor=MUTED, labelsize=8)
    ax.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
    ax.grid(axis="y", color="#e3e6e8", linewidth=0.7)
    ax.set_axisbelow(True)
    ax.set_ylabel(label, color=MUTED, fontproperties=font(8))


def _write(figure: Figure, title: str, subtitle: str, caption: str) -> None:
    width, height = figure.get_figwidth(), figure.get_figheight()
    left = 0.3 / width
    figure.text(
        left, 1 - 0.32 / height, title, color=INK, fontproperties=font(13, "bold"), parse_math=False
    )
    figure.text(
        left, 1 - 0.53 / height, subtitle, color=MUTED, fontproperties=font(8.5), parse_math=False
    )
    figure.text(
        left,
        0.74 / height,
        fill(caption, int((width - 0.6) * 15.5)),
        color=INK,
        va="top",
        fontproperties=font(7.5),
        linespacing=1.35,
        parse_math=False,
    )
