"""The figure of humidity at depth over the visits: loggers and tests against the limit."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from moisturemap.drying import DepthCourse, DryingProgress, depth_courses, humidity_limits
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
from moisturemap.figures.signs_of_tests import UNCOUNTED, Sign, sign_handle, sign_lines
from moisturemap.figures.style import INK, MUTED, PAPER, RAMP, WARNING, font
from moisturemap.survey import Limit, Survey
from moisturemap.units import Units

Array = NDArray[np.float64]

LEFT, RIGHT, CHART, BELOW = 0.6, 0.15, 1.2, 0.42
"""Left and right of the chart, its height, and the space below it [in]; the words along its axis
are short, so that it may be lower than others."""

COLOURS = (RAMP[7], "#a85a14", RAMP[4], "#5c6770", "#c98f4a", RAMP[5], "#2f3a42", "#8a6d3b")
MARKS = ("s", "^", "D", "v", "o", "P", "X", "<")
"""By place and depth, the shallowest first; a mark of its own besides the colour."""

MOST_COURSES = len(MARKS)
"""Courses drawn; of more those of the most humid places, each at all its depths."""

LOGGED = (
    "Lines are daily means of loggers, bands the lowest and highest of each day. A logger is no "
    "test by a standard."
)
TESTED = "Single marks are tests as read."
UNJUDGED = "Whether a test is valid is not judged here."
NOT_COUNTED = "test not counted"
LIMITED = (
    "The limit holds for tests at the depth that their method asks for; acceptance rests on them."
)


def _label(one: DepthCourse, units: Units) -> str:
    """Name the place with its depth."""
    kind = "" if one.logged else ", tests"
    return f"{one.name}, {units.sentence(f'{one.depth_mm:g} mm')} deep{kind}"


def depth_figure(
    drying: DryingProgress,
    survey: Survey,
    form: Format = Format(),
    *,
    uncounted: Collection[str] | None = None,
) -> Figure:
    """Draw humidity at depth over the visits against the limit.

    Parameters
    ----------
    drying : DryingProgress
    survey : Survey
        Its tests, and its limits where they are of humidity.
    form : Format
    uncounted : collection of str, optional
        Keys of the tests that are not valid; None where they were not judged.
    """
    courses = depth_courses(drying, survey)
    shown = _shown(courses)
    left_out = len(courses) - len(shown)
    words = _caption(shown, left_out, judged=uncounted is not None)
    struck = any(key in (uncounted or ()) for one in shown for key in one.tests)
    texts = Texts(survey.name, "Humidity at depth over the visits", form.units.sentence(words))
    across = width_in(form) - LEFT - RIGHT
    labels = [_label(one, form.units) for one in shown]
    keyed = key_height([*labels, *([NOT_COUNTED] if struck else [])], across)
    beside = BELOW + keyed + 0.25
    high = chart_height(texts, beside, 1, CHART, form)
    page = ChartPage(texts, high + beside, form)
    ax = page.axes(LEFT, BELOW, across, high)
    plain_axes(ax, "", "relative humidity [%]")
    looks = list(zip(COLOURS, MARKS, strict=True))
    for one, look in zip(shown, looks, strict=False):
        _draw(ax, one, look, uncounted or ())
    limits = humidity_limits(survey)
    _set_out(ax, shown, [one.value for _, one in limits])
    _mark_visits(ax, drying)
    for name, limit in limits:
        _mark_limit(ax, name, limit)
    handles: list[Line2D | tuple[Line2D, ...]] = [
        _handle(one, look, label) for one, look, label in zip(shown, looks, labels, strict=False)
    ]
    if struck:
        handles.append(sign_handle(UNCOUNTED, NOT_COUNTED))
    draw_key(page, handles, LEFT, BELOW + high + 0.17 + keyed)
    return page.figure


def _shown(courses: list[DepthCourse]) -> list[DepthCourse]:
    """Return the courses of the places that read most humid last, as many as there are marks."""
    last: dict[str, float] = {}
    for one in courses:
        last[one.name] = max(float(one.rh[-1]), last.get(one.name, 0.0))
    kept: set[str] = set()
    for name in sorted(last, key=lambda one: -last[one]):
        if kept and sum(one.name in {*kept, name} for one in courses) > MOST_COURSES:
            break
        kept.add(name)
    return [one for one in courses if one.name in kept][-MOST_COURSES:]


def _caption(shown: list[DepthCourse], left_out: int, *, judged: bool) -> str:
    """Say what is drawn, and what the limit stands for."""
    said = [LOGGED] if any(one.logged for one in shown) else []
    if any(not one.logged for one in shown):
        said += [TESTED] if judged else [TESTED, UNJUDGED]
    said.append(LIMITED)
    if left_out:
        few = "1 less humid one is" if left_out == 1 else f"{left_out} less humid ones are"
        said.append(f"{few} not drawn.")
    return " ".join(said)


def _draw(ax: Axes, one: DepthCourse, look: tuple[str, str], uncounted: Collection[str]) -> None:
    colour, mark = look
    if not one.logged:
        _draw_tests(ax, one, look, uncounted)
        return
    # a line over days without entries would tell what nobody read
    day, rh, low, high = (
        _parted(one.day, values) for values in (one.day, one.rh, one.low, one.high)
    )
    ax.fill_between(day, low, high, color=colour, alpha=0.16, linewidth=0)
    step = max(1, day.size // 8)
    ax.plot(day, rh, color=colour, linewidth=1.7, marker=mark, markersize=4, markevery=step)


def _draw_tests(
    ax: Axes, one: DepthCourse, look: tuple[str, str], uncounted: Collection[str]
) -> None:
    """Draw tests of one hole; one that is not counted is open and struck through."""
    colour, mark = look
    ax.plot(one.day, one.rh, color=colour, lw=0.9, ls=":", zorder=4)
    for day, rh, key in zip(one.day, one.rh, one.tests, strict=True):
        struck = key in uncounted
        sign = Sign(mark, PAPER if struck else colour, colour, struck=struck)
        for line in sign_lines(sign, float(day), float(rh), 6.0):
            ax.add_line(line).set_zorder(4.1)


def _parted(day: Array, values: Array) -> Array:
    """Put NaN between days that do not follow each other."""
    return np.insert(values, np.flatnonzero(np.diff(day) > 1.5) + 1, np.nan)


def _handle(one: DepthCourse, look: tuple[str, str], label: str) -> Line2D:
    mark = Line2D([], [], color=look[0], marker=look[1], markersize=5, label=label)
    if not one.logged:
        mark.set_linestyle("none")
    return mark


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
        f"limit{where} {limit.value:g} %RH",
        (0.0, limit.value),
        xycoords=("axes fraction", "data"),
        xytext=(4, 3),
        textcoords="offset points",
        color=INK,
        fontproperties=font(7.0, "bold"),
    )
