"""The figure of humidity at depth over the visits: loggers and tests against the limit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from moisturemap.drying import DryingProgress
from moisturemap.figures.chart_page import (
    LABEL_PT,
    ChartPage,
    draw_key,
    key_height,
    plain_axes,
    width_in,
)
from moisturemap.figures.sheet import Format, Texts
from moisturemap.figures.style import INK, MUTED, RAMP, WARNING, font
from moisturemap.survey import TEST_METHODS, Limit, Survey
from moisturemap.units import Units

Array = NDArray[np.float64]

LEFT, RIGHT, CHART, BELOW = 0.6, 0.15, 2.6, 0.42
"""Left and right of the chart, its height, and the space below it [in]."""

COLOURS = (RAMP[7], "#a85a14", RAMP[4], "#5c6770", "#c98f4a", RAMP[5], "#2f3a42", "#8a6d3b")
MARKS = ("s", "^", "D", "v", "o", "P", "X", "<")
"""By place and depth, the shallowest first; a mark of its own besides the colour."""

MOST_COURSES = len(MARKS)
"""Courses drawn; of more the deepest, which dry last."""

LOGGED = (
    "Lines are daily means of loggers, bands the lowest and highest of each day. A logger is no "
    "test by a standard."
)
TESTED = "Single marks are tests as read."
LIMITED = (
    "The limit holds for tests at the depth that their method asks for; acceptance rests on them."
)


@dataclass(frozen=True)
class DepthCourse:
    """Humidity at one place and depth over time.

    Attributes
    ----------
    name : str
        Logger, or hole of the tests.
    depth_mm : float
        [mm]
    day, rh, low, high : ndarray, shape (n,)
        Days since the first visit; mean, lowest and highest humidity [%RH].
    logged : bool
        By a logger, else by tests.
    """

    name: str
    depth_mm: float
    day: Array
    rh: Array
    low: Array
    high: Array
    logged: bool

    def label(self, units: Units) -> str:
        """Name the place with its depth."""
        kind = "" if self.logged else ", tests"
        return f"{self.name}, {units.sentence(f'{self.depth_mm:g} mm')} deep{kind}"


def depth_courses(drying: DryingProgress, survey: Survey) -> list[DepthCourse]:
    """Return what loggers in holes and tests read at depth, the shallowest first.

    Empty where nothing was followed: no logger in a hole over two days, and no tests at two depths
    or on two days.
    """
    start = drying.series.visits[0].started
    if start is None:
        return []
    tested = _tested(survey, start)
    followed = sum(one.day.size for one in tested) > 1
    found = [*_logged(drying.logs.curves), *(tested if followed else [])]
    return sorted(found, key=lambda one: (one.depth_mm, one.name))


def _logged(curves: pd.DataFrame) -> list[DepthCourse]:
    inside = curves[(curves["place"] == "hole") & curves["rh_pct"].notna()]
    found = []
    for name, rows in inside.groupby("logger", sort=False):
        if len(rows) > 1:
            mean, low, high = (
                rows[column].to_numpy(dtype=float)
                for column in ("rh_pct", "rh_low_pct", "rh_high_pct")
            )
            # a day's mean stands at its middle
            day = rows["day"].to_numpy(dtype=float) + 0.5
            depth = float(rows["depth_mm"].iloc[0])
            found.append(DepthCourse(str(name), depth, day, mean, low, high, logged=True))
    return found


def _tested(survey: Survey, start: datetime) -> list[DepthCourse]:
    table = survey.tests
    humid = [key for key, method in TEST_METHODS.items() if method.quantity.unit == "%RH"]
    deep = table["method"].isin(humid) & table["value"].notna() & (table["depth_mm"] > 0.0)
    timed = [isinstance(one, datetime) and not pd.isna(one) for one in table["read"]]
    found = []
    for _, rows in table[deep & np.array(timed, dtype=bool)].groupby(["hole", "depth_mm"]):
        day = np.array([(one - start).total_seconds() / 86_400.0 for one in rows["read"]])
        order = np.argsort(day)
        rh = rows["value"].to_numpy(dtype=float)[order]
        hole, depth = str(rows["hole"].iloc[0]), float(rows["depth_mm"].iloc[0])
        found.append(DepthCourse(hole, depth, day[order], rh, rh, rh, logged=False))
    return found


def depth_figure(drying: DryingProgress, survey: Survey, form: Format = Format()) -> Figure:
    """Draw humidity at depth over the visits against the limit.

    Parameters
    ----------
    drying : DryingProgress
    survey : Survey
        Its tests, and its limits where they are of humidity.
    form : Format
    """
    courses = depth_courses(drying, survey)
    shown = courses[-MOST_COURSES:]
    left_out = len(courses) - len(shown)
    words = _caption(shown, left_out)
    texts = Texts(survey.name, "Humidity at depth over the visits", form.units.sentence(words))
    across = width_in(form) - LEFT - RIGHT
    labels = [one.label(form.units) for one in shown]
    keyed = key_height(labels, across)
    page = ChartPage(texts, CHART + BELOW + keyed + 0.25, form)
    ax = page.axes(LEFT, BELOW, across, CHART)
    plain_axes(ax, "", "relative humidity [%]")
    looks = list(zip(COLOURS, MARKS, strict=True))
    for one, look in zip(shown, looks, strict=False):
        _draw(ax, one, look)
    limits = _limits(survey)
    _set_out(ax, shown, [one.value for _, one in limits])
    _mark_visits(ax, drying)
    for name, limit in limits:
        _mark_limit(ax, name, limit)
    handles = [
        _handle(one, look, label) for one, look, label in zip(shown, looks, labels, strict=False)
    ]
    draw_key(page, handles, LEFT, BELOW + CHART + 0.17 + keyed)
    return page.figure


def _caption(shown: list[DepthCourse], left_out: int) -> str:
    """Say what is drawn, and what the limit stands for."""
    said = [LOGGED] if any(one.logged for one in shown) else []
    said += [TESTED] if any(not one.logged for one in shown) else []
    said.append(LIMITED)
    if left_out:
        said.append(f"{left_out} shallower ones are not drawn.")
    return " ".join(said)


def _draw(ax: Axes, one: DepthCourse, look: tuple[str, str]) -> None:
    colour, mark = look
    if not one.logged:
        ax.plot(one.day, one.rh, color=colour, marker=mark, markersize=6, lw=0.9, ls=":", zorder=4)
        return
    # a line over days without entries would tell what nobody read
    day, rh, low, high = (
        _parted(one.day, values) for values in (one.day, one.rh, one.low, one.high)
    )
    ax.fill_between(day, low, high, color=colour, alpha=0.16, linewidth=0)
    step = max(1, day.size // 8)
    ax.plot(day, rh, color=colour, linewidth=1.7, marker=mark, markersize=4, markevery=step)


def _parted(day: Array, values: Array) -> Array:
    """Put NaN between days that do not follow each other."""
    return np.insert(values, np.flatnonzero(np.diff(day) > 1.5) + 1, np.nan)


def _handle(one: DepthCourse, look: tuple[str, str], label: str) -> Line2D:
    mark = Line2D([], [], color=look[0], marker=look[1], markersize=5, label=label)
    if not one.logged:
        mark.set_linestyle("none")
    return mark


def _limits(survey: Survey) -> list[tuple[str, Limit]]:
    """Limits of humidity, each value once with the rooms it holds for; the floor's first."""
    found = [("", survey.limit)] if survey.limit is not None else []
    found += list(survey.room_limits.items())
    by_value: dict[float, tuple[list[str], Limit]] = {}
    for room, limit in found:
        if limit.unit == "%RH":
            by_value.setdefault(limit.value, ([], limit))[0].append(room)
    return [("" if "" in rooms else ", ".join(rooms), limit) for rooms, limit in by_value.values()]


def _set_out(ax: Axes, shown: list[DepthCourse], limits: list[float]) -> None:
    ends = [end for one in shown for end in (one.low.min(), one.high.max())]
    low, high = min([*ends, *limits]), max([*ends, *limits])
    room = max(0.12 * (high - low), 2.0)
    ax.set_ylim(max(low - room, 0.0), min(high + room, 102.0))
    ax.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10]))
    ax.grid(axis="y", color="#e3e6e8", linewidth=0.7)
    ax.set_axisbelow(True)
    ax.set_xlabel("days since the first visit", color=MUTED, fontproperties=font(LABEL_PT))


def _mark_visits(ax: Axes, drying: DryingProgress) -> None:
    for visit, day in zip(drying.series.visits, drying.series.days, strict=True):
        ax.axvline(day, color=MUTED, linewidth=0.8, linestyle=":", zorder=0)
        ax.annotate(
            visit.id,
            (day, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(0, 3),
            textcoords="offset points",
            ha="center",
            color=MUTED,
            fontproperties=font(7.0),
        )


def _mark_limit(ax: Axes, room: str, limit: Limit) -> None:
    ax.axhline(limit.value, color=WARNING, linewidth=1.4, zorder=3)
    where = f" in {room}" if room else ""
    ax.annotate(
        f"limit{where} {limit.value:.3g} %RH",
        (0.0, limit.value),
        xycoords=("axes fraction", "data"),
        xytext=(4, 3),
        textcoords="offset points",
        color=INK,
        fontproperties=font(7.0, "bold"),
    )
