"""A page of charts: texts above and below, axes placed in inches between them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import matplotlib.dates as mdates
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from moisturemap.figures.sheet import EDGE, MM, UPRIGHT_MM, Format, Texts, Wrapped
from moisturemap.figures.style import INK, MUTED, PAPER, font
from moisturemap.figures.typeface import width_of
from moisturemap.units import Units, with_days

SIDE_BY_SIDE = 5.2
"""From this width on two charts stand beside each other [in]."""

LABEL_PT, TICK_PT = 7.5, 7.0
KEY_PT, KEY_ROW = 7.0, 0.16
HANDLE = 0.42
"""Of the sample of a key with the space round it [in]."""


class ChartPage:
    """A figure as wide as it prints, with a body of a given height between its texts.

    Parameters
    ----------
    texts : Texts
    body : float
        Height between the texts [in].
    form : Format
    """

    def __init__(self, texts: Texts, body: float, form: Format) -> None:
        self.width = width_in(form)
        words = Wrapped.of(texts, self.width)
        self.foot, self.body = words.foot, body
        self.height = words.head + body + words.foot
        self.figure = Figure(figsize=(self.width, self.height), dpi=150, facecolor=PAPER)
        words.draw(self.figure)

    def axes(self, left: float, bottom: float, width: float, height: float) -> Axes:
        """Add axes; left from the page's edge, bottom from the foot of the body [in]."""
        return self.figure.add_axes(
            (
                left / self.width,
                (self.foot + bottom) / self.height,
                width / self.width,
                height / self.height,
            )
        )

    def text(self, left: float, bottom: float, words: str, size: float, colour: str = INK) -> None:
        """Write a line of text at a place of the body [in]."""
        self.figure.text(
            left / self.width,
            (self.foot + bottom) / self.height,
            words,
            color=colour,
            fontproperties=font(size),
            parse_math=False,
        )


LEAST_CHART = 1.5
"""Charts are not drawn lower than this [in]: words along their axes would run into one another."""


def chart_height(texts: Texts, beside: float, count: int, most: float, form: Format) -> float:
    """Return how high charts below each other are in the height of a form [in].

    Parameters
    ----------
    texts : Texts
    beside : float
        Height of the body beside the charts themselves [in].
    count : int
    most : float
        Height where the form leaves it open [in].
    form : Format
    """
    if form.height_mm is None:
        return most
    words = Wrapped.of(texts, width_in(form))
    left = form.height_mm / MM - words.head - words.foot - beside
    return min(most, max(LEAST_CHART, left / count))


def width_in(form: Format) -> float:
    """Return the width of a page of charts [in]."""
    return (form.width_mm or UPRIGHT_MM) / MM


def key_rows(labels: Sequence[str], width: float) -> list[int]:
    """Return how many entries of a key stand in each of its rows in a width [in]."""
    rows, used = [0], 0.0
    for label in labels:
        wide = HANDLE + width_of(label, KEY_PT)
        if rows[-1] and used + wide > width:
            rows, used = [*rows, 0], 0.0
        rows[-1] += 1
        used += wide
    return rows


def key_height(labels: Sequence[str], width: float) -> float:
    """Return the height of a key [in]."""
    return KEY_ROW * len(key_rows(labels, width)) if labels else 0.0


def labels_of(handles: Sequence[Any]) -> list[str]:
    """Return the words of the entries of a key."""
    # bars of error are tuples, too, and have a name of their own
    first = [one[0] if type(one) is tuple else one for one in handles]
    return [str(one.get_label()) for one in first]


def draw_key(page: ChartPage, handles: Sequence[Any], left: float, top: float) -> None:
    """Write a key in rows that fit the page, its top at a height of the body [in].

    A handle of several lines, drawn over each other, is a tuple named by its first.
    """
    labels = labels_of(handles)
    start = 0
    for row, count in enumerate(key_rows(labels, page.width - left - EDGE)):
        page.figure.legend(
            handles=handles[start : start + count],
            labels=labels[start : start + count],
            prop=font(KEY_PT),
            frameon=False,
            ncols=count,
            loc="upper left",
            bbox_to_anchor=(left / page.width, (page.foot + top - row * KEY_ROW) / page.height),
            borderpad=0,
            borderaxespad=0,
            handlelength=1.6,
            handletextpad=0.4,
            columnspacing=0.9,
        )
        start += count


def plain_axes(ax: Axes, x: str, y: str) -> None:
    """Leave two sides of the frame, and name the axes."""
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        ax.spines[side].set_color(MUTED)
    ax.tick_params(length=2.5, color=MUTED, labelcolor=MUTED, labelsize=TICK_PT)
    if x:
        ax.set_xlabel(x, color=MUTED, fontproperties=font(LABEL_PT), labelpad=2)
    if y:
        ax.set_ylabel(y, color=MUTED, fontproperties=font(LABEL_PT), labelpad=2)


DAY_IN = 0.75
"""Room a day takes below an axis [in]."""

LONG_DAY_IN = 1.1
"""The same with the name of its month [in]."""


class _Days(mdates.ConciseDateFormatter):
    """Days as a report writes them."""

    def __init__(self, locator: Any, units: Units, **formats: Any) -> None:
        super().__init__(locator, **formats)  # type: ignore[no-untyped-call]
        self._units = units

    def format_ticks(self, values: Any) -> list[str]:
        told = super().format_ticks(values)  # type: ignore[no-untyped-call]
        return [with_days(one, self._units.dates) for one in told]


class _FewDays(mdates.AutoDateLocator):
    """Days that are easily read, every second or third where not all fit."""

    def __init__(self, most: int, fits: int) -> None:
        super().__init__(minticks=2, maxticks=most)  # type: ignore[no-untyped-call]
        self._fits = fits

    def __call__(self) -> Any:
        return self.tick_values(*self.viewlim_to_dt())  # type: ignore[no-untyped-call]

    def tick_values(self, vmin: Any, vmax: Any) -> Any:
        ticks = np.asarray(super().tick_values(vmin, vmax))  # type: ignore[no-untyped-call]
        low, high = sorted(mdates.date2num([vmin, vmax]))  # type: ignore[no-untyped-call]
        shown = ticks[(ticks >= low) & (ticks <= high)]
        return shown[:: max(1, -(-len(shown) // self._fits))]


def dated_axis(ax: Axes, most: int, units: Units = Units()) -> None:
    """Label the lower axis with days as the tables write them, the same in every language.

    Parameters
    ----------
    ax : Axes
    most : int
        Ticks at most; fewer where the axis is too narrow for so many days side by side.
    units : Units
        How days are written.
    """
    figure = ax.get_figure(root=True)
    assert figure is not None
    fits = int(
        ax.get_position().width
        * figure.get_figwidth()
        / (DAY_IN if units.dates == "iso" else LONG_DAY_IN)
    )
    locator = _FewDays(most, max(2, fits))
    day = "%Y-%m-%d"
    ax.xaxis.set_major_locator(locator)
    ax.xaxis.set_major_formatter(
        _Days(
            locator,
            units,
            formats=["%Y", "%Y-%m", day, "%H:%M", "%H:%M", "%H:%M:%S"],
            zero_formats=["%Y", "%Y-%m", day, day, "%H:%M", "%H:%M"],
            show_offset=False,
        )
    )
