"""The figure of one spot: humidity through the slab now, and at its top once it is covered."""

from __future__ import annotations

from textwrap import fill

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from moisturemap.acceptance import SpotVerdict
from moisturemap.figures.style import DRILL, INK, MUTED, RAMP, WARNING, font
from moisturemap.slab import SpotEstimate, equivalent_depth, surface_after_covering

SIZE = (10.0, 5.4)


def depth_profile(spot: SpotVerdict) -> Figure:
    """Draw the profile now with its readings, and the surface in the months after covering.

    Parameters
    ----------
    spot : SpotVerdict
        Without an estimate the figure says why there is none.
    """
    figure = Figure(figsize=SIZE, dpi=150, facecolor="white")
    figure.text(
        0.045,
        0.945,
        f"Spot {spot.spot}, {spot.room}: what a covering would face",
        color=INK,
        fontproperties=font(13, "bold"),
        parse_math=False,
    )
    if spot.estimate is None:
        figure.text(
            0.045,
            0.86,
            fill(f"No sealed humidity is worked out: {spot.refusal}.", 110),
            color=INK,
            va="top",
            fontproperties=font(10),
            parse_math=False,
        )
        return figure
    why = spot.why[0].upper() + spot.why[1:]
    figure.text(
        0.045,
        0.905,
        fill(f"{why}.", 125),
        color=MUTED,
        va="top",
        fontproperties=font(9),
        parse_math=False,
    )
    left = figure.add_axes((0.075, 0.2, 0.4, 0.59))
    right = figure.add_axes((0.565, 0.2, 0.395, 0.59))
    _profile(left, spot.estimate, spot.limit_pct)
    _after(right, spot.estimate, spot.limit_pct)
    odd = "".join(f"{one[0].upper()}{one[1:]}. " for one in spot.estimate.remarks)
    note = f"{odd}{equivalent_depth(spot.estimate).sentence} {_assumed(spot.estimate)}"
    figure.text(
        0.045,
        0.085,
        fill(note, 155),
        color=MUTED,
        va="top",
        fontproperties=font(7.5),
        parse_math=False,
    )
    return figure


def _assumed(estimate: SpotEstimate) -> str:
    sealed = estimate.sealed
    return (
        f"Bands are {sealed.level:.0%} intervals by a drying model, holding the errors of probe and"
        " depth, the isotherm and hysteresis; not a measurement."
    )


def _profile(ax: Axes, estimate: SpotEstimate, limit: float | None) -> None:
    title = "Now, through the slab"
    ax.set_title(title, loc="left", color=INK, fontproperties=font(10, "bold"))
    depth, sealed = estimate.depth_mm, estimate.sealed
    ax.axvspan(sealed.low, sealed.high, color=RAMP[1], alpha=0.55, linewidth=0, zorder=0)
    ax.axvline(
        sealed.value,
        color=RAMP[5],
        linewidth=1.4,
        linestyle=(0, (5, 2)),
        zorder=2,
        label="sealed, evened out",
    )
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
    ax.errorbar(
        [r.rh_pct for r in estimate.readings],
        [r.depth_mm for r in estimate.readings],
        xerr=[2 * r.sd_pct for r in estimate.readings],
        fmt="o",
        color=DRILL,
        markersize=6,
        capsize=3,
        zorder=5,
        label="read, with uncertainty",
    )
    _limit_line(ax, limit, vertical=True, right=limit is not None and limit > sealed.value)
    ax.set_ylim(estimate.spec.thickness_mm, 0)
    low = min([estimate.profile_low.min(), *(r.rh_pct for r in estimate.readings)])
    ax.set_xlim(max(0.0, 5 * np.floor((low - 2) / 5)), 100)
    ax.set_xlabel("relative humidity [%]", fontproperties=font(9), color=MUTED)
    ax.set_ylabel("depth below the top [mm]", fontproperties=font(9), color=MUTED)
    _plain(ax)
    ax.legend(prop=font(8), frameon=False, loc="center left")


def _after(ax: Axes, estimate: SpotEstimate, limit: float | None) -> None:
    title = "Top of the slab once covered"
    ax.set_title(title, loc="left", color=INK, fontproperties=font(10, "bold"))
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
    ax.set_xlabel("days since covering", fontproperties=font(9), color=MUTED)
    ax.set_ylabel("relative humidity [%]", fontproperties=font(9), color=MUTED)
    _plain(ax)


def _limit_line(ax: Axes, limit: float | None, *, vertical: bool, right: bool = False) -> None:
    if limit is None:
        return
    text = f"limit {limit:g}"
    if vertical:
        ax.axvline(limit, color=WARNING, linewidth=1.4, zorder=4)
        ax.annotate(
            text,
            (limit, 1.0),
            xycoords=("data", "axes fraction"),
            xytext=(4 if right else -4, -4),
            textcoords="offset points",
            ha="left" if right else "right",
            va="top",
            color=WARNING,
            fontproperties=font(8, "bold"),
        )
        return
    ax.axhline(limit, color=WARNING, linewidth=1.4, zorder=4)
    ax.annotate(
        text,
        (0.0, limit),
        xycoords=("axes fraction", "data"),
        xytext=(5, -4),
        textcoords="offset points",
        ha="left",
        va="top",
        color=WARNING,
        fontproperties=font(8, "bold"),
    )


def _plain(ax: Axes) -> None:
    ax.tick_params(labelsize=8, color=MUTED, labelcolor=MUTED)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        ax.spines[side].set_color(MUTED)
