"""Charts over the visits: wet area, forecast of each zone, and the room air."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from moisturemap.drying import CourseMixture, DryingProgress, Forecast
from moisturemap.figures.chart_page import (
    LABEL_PT,
    ChartPage,
    chart_height,
    draw_key,
    key_height,
    plain_axes,
    width_in,
)
from moisturemap.figures.sheet import Format, Texts
from moisturemap.figures.style import INK, MUTED, RAMP, WARNING, font
from moisturemap.quantities import DISCLAIMER
from moisturemap.units import FEET2, INHG_PA, Units

LEFT, RIGHT, CHART, BELOW = 0.6, 0.15, 1.75, 0.42
"""Left and right of a chart, its height at most, and the space below it [in]."""

LINE_WIDTH = 1.8
MARKS = ("o", "s", "^", "D", "v", "P")
COLOURS = (RAMP[5], "#a85a14", RAMP[3], "#5c6770", RAMP[7], "#c98f4a")
"""By zone, together with a mark of its own."""

Look = tuple[str, str, str | tuple[int, tuple[int, int]]]
AIR: Look = (RAMP[4], "o", "-")
SLAB: Look = (INK, "s", "-")
DEW: Look = (WARNING, "^", (0, (4, 2)))

MOST_ZONES = 6
WETTED = ("rising", "rewetted")
"""Why a zone has no latest day: water came in, and a drawn course of drying would mislead."""

LONGEST_DAYS = 180.0
Z90 = 1.6448536269514722


def outlook_figure(drying: DryingProgress, name: str, form: Format = Format()) -> Figure:
    """Draw wet area with its interval, and each zone's readings with its forecast."""
    shown = [one for one in drying.forecasts if one.course is not None][:MOST_ZONES]
    texts = Texts(
        name,
        "Area above the wet level by visit" + (", and forecast of each zone" if shown else ""),
        form.units.sentence(_outlook_caption(drying)),
    )
    across = width_in(form) - LEFT - RIGHT
    keyed = key_height([_zone(one) for one in shown], across)
    count = 2 if shown else 1
    beside = BELOW * count + keyed + 0.15
    high = chart_height(texts, beside, count, CHART, form)
    page = ChartPage(texts, high * count + beside, form)
    upper = page.body - high - 0.1
    _draw_wet_area(page.axes(LEFT, upper, across, high), drying, form)
    if shown:
        ax = page.axes(LEFT, BELOW - 0.05, across, high)
        _draw_forecasts(ax, shown, drying)
        handles = ax.get_legend_handles_labels()
        marks = [_named(handle, label) for handle, label in zip(*handles, strict=True)]
        draw_key(page, marks, LEFT, BELOW + high + 0.02 + keyed)
    return page.figure


def _zone(forecast: Forecast) -> str:
    if forecast.why_open in WETTED:
        return f"zone {forecast.zone}: rose, no forecast drawn"
    return f"zone {forecast.zone}"


def _named(handle: Any, label: str) -> Any:
    handle.set_label(label)
    return handle


def _draw_wet_area(ax: Axes, drying: DryingProgress, form: Format) -> None:
    square = FEET2 if form.units.us else 1.0
    plain_axes(ax, "", f"area above the wet level [{'ft2' if form.units.us else 'm2'}]")
    _grid(ax)
    ids = [visit.id for visit in drying.series.visits]
    areas = drying.wet_areas
    days = np.array([one.days for one in areas])
    timed = bool(np.isfinite(days).all())
    at = days if timed else np.arange(len(areas), dtype=float)
    value, low, high = (
        np.array([getattr(one, key) for one in areas]) / square
        for key in ("area_m2", "low_m2", "high_m2")
    )
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
            fontproperties=font(7.0),
        )
    ax.set_ylim(0, 1.15 * max(float(high.max()), 1e-9))
    ax.set_xlabel(
        "days since the first visit" if timed else "visit",
        color=MUTED,
        fontproperties=font(LABEL_PT),
    )
    if not timed:
        ax.set_xticks(at, ids)


def _draw_forecasts(ax: Axes, shown: list[Forecast], drying: DryingProgress) -> None:
    plain_axes(ax, "", "relative reading, highest tenth")
    _grid(ax)
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
            linestyle=":" if one.why_open in WETTED else "none",
            capsize=3,
            elinewidth=1.1,
            label=_zone(one),
        )
        if one.mixture is not None and one.why_open not in WETTED:
            _draw_courses(ax, one.mixture, (today, ahead), colour)
    levels = np.concatenate([one.course.level for one in shown if one.course is not None])
    spread = max(float(np.ptp([*levels, target])), 1.0)
    ax.set_ylim(
        min(float(levels.min()), target) - 0.35 * spread,
        max(float(levels.max()), target) + 0.35 * spread,
    )
    ax.set_xlim(-0.02 * (today + ahead), today + ahead)
    _mark_target_and_today(ax, target, today)
    ax.set_xlabel("days since the first visit", color=MUTED, fontproperties=font(LABEL_PT))


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
        fontproperties=font(7.0, "bold"),
    )
    ax.axvline(today, color=MUTED, linewidth=0.8, linestyle=":")
    ax.annotate(
        "latest visit",
        (today, 1.0),
        xycoords=("data", "axes fraction"),
        xytext=(3, -9),
        textcoords="offset points",
        color=MUTED,
        fontproperties=font(7.0),
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
    return f"Bars and bands are 90% intervals. {first} {DISCLAIMER}"


def air_figure(drying: DryingProgress, name: str, form: Format = Format()) -> Figure:
    """Draw temperatures against the dew point, and vapour pressures, by visit."""
    table = drying.air
    known = bool(np.isfinite(table["vapour_pressure_pa"].to_numpy(dtype=float)).any())
    caption = (
        "A slab dries while its vapour pressure lies above that of the air: at most by the "
        "gap shown, less the drier it is. Formulas of the ASHRAE Handbook."
    )
    texts = Texts(
        name,
        "Room air by visit",
        caption if known else "No air temperature and humidity were recorded.",
    )
    across = width_in(form) - LEFT - RIGHT
    keyed = 0.05 + key_height(AIR_LABELS, across)
    high = chart_height(texts, 2 * (BELOW + keyed), 2, CHART, form)
    page = ChartPage(texts, 2 * (high + BELOW + keyed), form)
    days = drying.series.days
    timed = bool(np.isfinite(days).all()) and len(set(days)) == len(days)
    at = days if timed else np.arange(len(table), dtype=float)
    below = "visit, at its day" if timed else "visit"
    for place, draw in ((1, _draw_temperatures), (0, _draw_pressures)):
        bottom = BELOW + place * (high + BELOW + keyed)
        ax = page.axes(LEFT, bottom, across, high)
        draw(ax, table, at, form.units)
        _grid(ax)
        ax.set_xlabel("" if place else below, color=MUTED, fontproperties=font(LABEL_PT))
        ax.set_xticks(at, [str(one) for one in table["visit"]])
        handles = ax.get_legend_handles_labels()
        marks = [_named(handle, label) for handle, label in zip(*handles, strict=True)]
        draw_key(page, marks, LEFT, bottom + high + 0.03 + key_height(handles[1], across))
    return page.figure


def _draw_temperatures(ax: Axes, table: pd.DataFrame, at: np.ndarray, units: Units) -> None:
    plain_axes(ax, "", f"temperature [{'°F' if units.us else '°C'}]")
    factor, zero = (1.8, 32.0) if units.us else (1.0, 0.0)
    for column, label, look in (
        ("air_temperature_c", "air", AIR),
        ("slab_temperature_c", "slab surface", SLAB),
        ("dew_point_c", "dew point of the air", DEW),
    ):
        _line(ax, at, table[column] * factor + zero, label, look)
    dew = table["dew_point_c"].to_numpy(dtype=float) * factor + zero
    words = f"less than {'5 °F' if units.us else '3 K'} above it"
    ax.fill_between(at, dew, dew + 3.0 * factor, color=WARNING, alpha=0.12, lw=0, label=words)


def _draw_pressures(ax: Axes, table: pd.DataFrame, at: np.ndarray, units: Units) -> None:
    plain_axes(ax, "", f"vapour pressure [{'inHg' if units.us else 'Pa'}]")
    factor = 1 / INHG_PA if units.us else 1.0
    _line(ax, at, table["vapour_pressure_pa"] * factor, "room air", AIR)
    saturated = table["greatest_drive_pa"] + table["vapour_pressure_pa"]
    _line(ax, at, saturated * factor, "saturated slab", SLAB)


AIR_LABELS = ("air", "slab surface", "dew point of the air", "less than 5 °F above it")


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


def _grid(ax: Axes) -> None:
    ax.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
    ax.grid(axis="y", color="#e3e6e8", linewidth=0.7)
    ax.set_axisbelow(True)
