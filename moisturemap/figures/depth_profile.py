"""The figure of one spot: humidity through the slab now, and at its top once it is covered."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import FuncFormatter, MaxNLocator, MultipleLocator

from moisturemap.acceptance import Decision, ProfileVerdict
from moisturemap.figures.chart_page import SIDE_BY_SIDE, ChartPage, labels_of, plain_axes, width_in
from moisturemap.figures.sheet import Format, Texts
from moisturemap.figures.signs_of_tests import UNCOUNTED, draw_sign, not_valid, sign_handle
from moisturemap.figures.style import DRILL, INK, MUTED, RAMP, WARNING, font
from moisturemap.figures.typeface import width_of
from moisturemap.slab import ProfileEstimate, equivalent_depth, surface_after_covering
from moisturemap.units import INCH_MM, Units

LEFT, RIGHT, CHART, BELOW = 0.5, 0.52, 2.5, 0.42
"""Left and right of a chart, its height, and the space below it [in]."""


NAME_PT = 7.0
"""Of the name of the limit [pt]."""

HEAD = 0.42
"""Above a chart for its title and the name of the limit [in]."""

KEY = 0.25
"""Height of a key below a chart that stands alone [in]."""

KEY_SHARE = 0.2
"""Height kept free below the curves for the key, as a share of theirs."""


Mark = Line2D | tuple[Line2D, ...]
Uncounted = frozenset[tuple[float, float]]


def uncounted_readings(decision: Decision, spot: ProfileVerdict) -> Uncounted:
    """Return depth [mm] and humidity [%RH] of the readings of a spot whose test is not valid."""
    tests, invalid = decision.tests, not_valid(decision).intersection(spot.tests)
    rows = tests.loc[tests["test"].astype(str).isin(invalid), ["depth_mm", "value"]]
    return frozenset(
        (float(depth), min(float(value), 100.0)) for depth, value in rows.itertuples(index=False)
    )


def depth_profile(
    spot: ProfileVerdict,
    form: Format = Format(),
    *,
    uncounted: Uncounted = frozenset(),
    covered: bool = False,
) -> Figure:
    """Draw the profile now with its readings, and the surface in the months after covering.

    Parameters
    ----------
    spot : ProfileVerdict
        Without an estimate the figure says why there is none.
    form : Format
    uncounted : frozenset of (float, float)
        Depth [mm] and humidity [%RH] of the readings whose test is not valid, see
        ``uncounted_readings``.
    covered : bool
        Whether a covering lies on the slab: the model's profile, of a slab open to the air, and
        the months after covering are not drawn then.
    """
    title = f"{spot.spot}, {spot.room}: what a covering would face"
    if spot.estimate is None:
        words = f"No sealed humidity is worked out: {spot.refusal}."
        return ChartPage(Texts(title, words, ""), 0.1, form).figure
    why = f"{spot.why[0].upper()}{spot.why[1:]}."
    odd = "".join(f"{one[0].upper()}{one[1:]}. " for one in spot.estimate.remarks)
    note = f"{odd}{equivalent_depth(spot.estimate).sentence} {_assumed(spot.estimate)}"
    if covered:
        title = f"{spot.spot}, {spot.room}: humidity below the covering"
        # how it departs from that model tells nothing
        note = f"{COVERED} {_assumed(spot.estimate)}" if spot.estimate.fits else COVERED
    say = form.units.sentence
    beside = width_in(form) >= SIDE_BY_SIDE
    settles = spot.estimate.fits and not covered
    rows = 1 if beside or not settles else 2
    key = 0.0 if settles else KEY
    page = ChartPage(Texts(title, say(why), say(note)), rows * (CHART + BELOW + HEAD) + key, form)
    named = 0.0 if spot.limit_pct is None else width_of(_named(spot.limit_pct), NAME_PT, "bold")
    across = page.width / (2 if beside else 1) - LEFT - max(RIGHT, named + 0.1)
    upper = page.body - CHART - HEAD
    left = page.axes(LEFT, upper, across, CHART)
    _profile(left, spot.estimate, spot.limit_pct, form.units, drying=not covered)
    _readings(left, spot.estimate, uncounted)
    right = left
    if settles:
        right = page.axes(page.width / 2 + LEFT if beside else LEFT, BELOW, across, CHART)
        _after(right, spot.estimate, spot.limit_pct)
    _name_marks(left, right, _marks(spot.estimate, uncounted))
    return page.figure


COVERED = (
    "A covering lies on this floor. The model is of a slab that dries open to the air, so its"
    " profile is not drawn."
)
"""Said instead of a profile that no covered slab has."""


def _assumed(estimate: ProfileEstimate) -> str:
    sealed = estimate.sealed
    return (
        f"Bands are {sealed.level:.0%} intervals by a drying model, holding the errors of probe and"
        " depth, the isotherm and hysteresis; not a measurement."
    )


def _profile(
    ax: Axes, estimate: ProfileEstimate, limit: float | None, units: Units, *, drying: bool
) -> None:
    title = "Now, through the slab"
    ax.set_title(title, loc="left", pad=16, color=INK, fontproperties=font(8, "bold"))
    sealed = estimate.sealed
    if estimate.fits:
        ax.axvspan(sealed.low, sealed.high, color=RAMP[1], alpha=0.55, linewidth=0, zorder=0)
        ax.axvline(
            sealed.value,
            color=RAMP[5],
            linewidth=1.4,
            linestyle=(0, (5, 2)),
            zorder=2,
            label="sealed, evened out",
        )
    if drying:
        _draw_drying(ax, estimate)
    _limit_line(ax, limit, vertical=True)
    ax.set_ylim(estimate.spec.thickness_mm, 0)
    drawn = [float(estimate.profile_low.min())] if drying else [limit or 100.0]
    if estimate.fits and not drying:
        drawn.append(sealed.low)
    low = min([*drawn, *(r.rh_pct - 2 * r.sd_pct for r in estimate.readings)])
    ax.set_xlim(max(0.0, 5 * np.floor((low - 2) / 5)), 100)
    ax.xaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 5, 10], integer=True))
    plain_axes(ax, "relative humidity [%]", f"depth below the top [{'in' if units.us else 'mm'}]")
    if units.us:
        ax.yaxis.set_major_locator(MultipleLocator(INCH_MM))
        ax.yaxis.set_major_formatter(FuncFormatter(lambda mm, _: f"{mm / INCH_MM:.0f}"))


def _draw_drying(ax: Axes, estimate: ProfileEstimate) -> None:
    """Draw the profile of a slab that dries open to the air, with its band."""
    depth = estimate.depth_mm
    ax.fill_betweenx(
        depth,
        estimate.profile_low,
        estimate.profile_high,
        color=RAMP[3],
        alpha=0.35,
        linewidth=0,
        zorder=1,
    )
    ax.plot(estimate.profile, depth, color=RAMP[6], linewidth=1.8, zorder=3, label="profile now")


def _readings(ax: Axes, estimate: ProfileEstimate, uncounted: Uncounted) -> None:
    """Draw what was read with its uncertainty, open and struck through where it is not counted."""
    for one in estimate.readings:
        struck = (one.depth_mm, one.rh_pct) in uncounted
        ax.errorbar(
            [one.rh_pct],
            [one.depth_mm],
            xerr=[2 * one.sd_pct],
            fmt="none" if struck else "o",
            color=MUTED if struck else DRILL,
            markersize=6,
            capsize=3,
            zorder=5,
        )
        if struck:
            draw_sign(ax, UNCOUNTED, one.rh_pct, one.depth_mm, size=6.0, zorder=5.5)


def _name_marks(drawn: Axes, ax: Axes, marks: Sequence[Mark]) -> None:
    """Name what one chart draws at the foot of another, below whose curves room is kept free."""
    if ax is not drawn:
        low, high = ax.get_ylim()
        ax.set_ylim(low - KEY_SHARE * (high - low), high)
    handles = [*drawn.get_legend_handles_labels()[0], *marks]
    figure = ax.get_figure(root=True)
    assert figure is not None
    width = ax.get_position().width * figure.get_figwidth()
    ax.legend(
        handles,
        labels_of(handles),
        prop=font(7),
        frameon=False,
        loc="lower right" if ax is not drawn else "upper left",
        bbox_to_anchor=None if ax is not drawn else (-LEFT / width, -BELOW / CHART),
        ncols=1 if ax is not drawn else 2,
        columnspacing=0.8,
        handlelength=1.2,
        handletextpad=0.5,
        borderaxespad=0.2,
    )


def _marks(estimate: ProfileEstimate, uncounted: Uncounted) -> list[Mark]:
    """Return how the readings are drawn, for the key."""
    struck = {(one.depth_mm, one.rh_pct) in uncounted for one in estimate.readings}
    marks: list[Mark] = []
    if False in struck:
        bar = Line2D([], [], marker="o", markersize=6, color=DRILL, label="read, with uncertainty")
        marks.append(bar)
    if True in struck:
        marks.append(sign_handle(UNCOUNTED, "read, not counted"))
    return marks


def _after(ax: Axes, estimate: ProfileEstimate, limit: float | None) -> None:
    title = "Top of the slab once covered"
    ax.set_title(title, loc="left", pad=16, color=INK, fontproperties=font(8, "bold"))
    curve, sealed = surface_after_covering(estimate), estimate.sealed
    when = np.sqrt(curve.days)
    ax.fill_between(when, curve.low, curve.high, color=RAMP[3], alpha=0.35, linewidth=0)
    ax.plot(when, curve.value, color=RAMP[6], linewidth=1.8, marker="o", markersize=3)
    ax.axhspan(sealed.low, sealed.high, color=RAMP[1], alpha=0.55, linewidth=0, zorder=0)
    ax.axhline(sealed.value, color=RAMP[5], linewidth=1.4, linestyle=(0, (5, 2)))
    _limit_line(ax, limit, vertical=False)
    ticks = [day for day in (0, 7, 30, 90, 180, 365) if day <= curve.days[-1]]
    ax.set_xticks(np.sqrt(ticks), [str(day) for day in ticks])
    ax.set_xlim(0, when[-1])
    ax.set_ylim(5 * np.floor((curve.low.min() - 2) / 5), 100)
    plain_axes(ax, "days since covering", "relative humidity [%]")


def _named(limit: float) -> str:
    return f"limit {limit:g}"


def _limit_line(ax: Axes, limit: float | None, *, vertical: bool) -> None:
    """Draw the limit across a chart; its name stands outside, where no curve can run through it."""
    if limit is None:
        return
    if vertical:
        ax.axvline(limit, color=WARNING, linewidth=1.4, zorder=4)
        at, coordinates, off = (limit, 1.0), ("data", "axes fraction"), (0, 3)
    else:
        ax.axhline(limit, color=WARNING, linewidth=1.4, zorder=4)
        at, coordinates, off = (1.0, limit), ("axes fraction", "data"), (3, 0)
    ax.annotate(
        _named(limit),
        at,
        xycoords=coordinates,
        xytext=off,
        textcoords="offset points",
        ha="center" if vertical else "left",
        va="bottom" if vertical else "center",
        color=WARNING,
        fontproperties=font(NAME_PT, "bold"),
        annotation_clip=False,
    )
