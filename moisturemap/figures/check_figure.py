"""The figure that checks a map: variogram with the fitted model, and leave-one-out."""

from __future__ import annotations

from textwrap import fill

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from moisturemap.bundles import Study
from moisturemap.figures.style import DRILL, INK, MUTED, RAMP, font
from moisturemap.geostat import EmpiricalVariogram, empirical_variogram
from moisturemap.mapping import KrigedField

ROW_HEIGHT = 3.9
NINETY = 1.6448536269514722
"""Half width of a 90 % interval of a normal error [sd]."""


def check_figure(study: Study) -> Figure:
    """Draw, for each mapped domain, its variogram and its leave-one-out predictions.

    On the left, semivariance by distance with the fitted model; on the right, each reading against
    its prediction from all others with the 90 % interval of a reading.
    """
    fields = {key: f for key, f in study.moisture.fields.items() if isinstance(f, KrigedField)}
    keys = [domain.key for domain in study.domains if domain.key in fields]
    height = ROW_HEIGHT * max(len(keys), 1) + 1.25
    figure = Figure(figsize=(10.5, height), dpi=150, facecolor="white")
    figure.text(
        0.045,
        1 - 0.32 / height,
        f"{study.survey.name}: can the map be trusted?",
        color=INK,
        fontproperties=font(13, "bold"),
        parse_math=False,
    )
    figure.text(
        0.045,
        1 - 0.42 / height,
        fill(study.quality, 130),
        color=MUTED,
        va="top",
        fontproperties=font(8.5),
        parse_math=False,
    )
    names = {domain.key: domain.label for domain in study.domains}
    for row, key in enumerate(keys):
        bottom = (height - 1.0 - ROW_HEIGHT * (row + 1) + 0.62) / height
        high = (ROW_HEIGHT - 1.0) / height
        left = figure.add_axes((0.07, bottom, 0.4, high))
        right = figure.add_axes((0.57, bottom, 0.4, high))
        _variogram(left, fields[key], names[key])
        _leave_one_out(right, fields[key])
    return figure


def _variogram(ax: Axes, field: KrigedField, name: str) -> None:
    seen = field.kriging.observations
    label = name if len(name) <= 48 else f"{name[:47]}…"
    ax.set_title(
        f"Variogram, {label}",
        fontproperties=font(9, "bold"),
        color=INK,
        loc="left",
        parse_math=False,
    )
    found = empirical_variogram(seen.points, seen.values)
    if not found.pairs.size:
        ax.text(
            0.5,
            0.5,
            "too few readings for a variogram",
            ha="center",
            transform=ax.transAxes,
            fontproperties=font(8),
            color=MUTED,
        )
        _axes(ax, "distance between readings [m]", f"semivariance [{_unit(field)} squared]")
        return
    _scatter(ax, found, empirical_variogram(seen.points, seen.values, estimator="dowd"))
    model = field.covariance
    h = np.linspace(0, found.distance.max() * 1.04, 300)
    curve = model.nugget + model.variance * (1 - model.correlation(h))
    ax.plot(h, curve, color=INK, linewidth=1.6, label=f"fitted: {model.kind}", zorder=4)
    ax.axhline(
        model.nugget,
        color=DRILL,
        linewidth=1,
        linestyle=(0, (4, 2)),
        label="noise of one reading (nugget)",
    )
    _axes(ax, "distance between readings [m]", f"semivariance [{_unit(field)} squared]")
    ax.set_ylim(bottom=0)
    ax.set_xlim(left=0)
    ax.legend(prop=font(7.5), frameon=False, loc="best")


def _scatter(ax: Axes, found: EmpiricalVariogram, robust: EmpiricalVariogram) -> None:
    weight = 12 + 70 * found.pairs / found.pairs.max()
    ax.scatter(
        found.distance,
        found.gamma,
        s=weight,
        color=RAMP[4],
        zorder=3,
        label="readings (larger: more pairs)",
    )
    ax.scatter(
        robust.distance,
        robust.gamma,
        s=16,
        marker="s",
        facecolor="none",
        edgecolor=MUTED,
        zorder=3,
        label="readings, robust (median)",
    )


def _leave_one_out(ax: Axes, field: KrigedField) -> None:
    ax.set_title(
        "Each reading predicted from all others",
        fontproperties=font(9, "bold"),
        color=INK,
        loc="left",
    )
    _axes(ax, f"predicted [{_unit(field)}]", f"read [{_unit(field)}]")
    seen = field.kriging.observations
    known = np.isfinite(field.check.sd) & np.isfinite(field.check.residual)
    values = seen.values[seen.member][known]
    residual, sd = field.check.residual[known], field.check.sd[known]
    if not known.any():
        ax.text(
            0.5,
            0.5,
            "too few readings to check one by the others",
            ha="center",
            transform=ax.transAxes,
            fontproperties=font(8),
            color=MUTED,
        )
        return
    predicted = values - residual
    inside = np.abs(residual) <= NINETY * sd
    ends = [min(predicted.min(), values.min()), max(predicted.max(), values.max())]
    ax.plot(ends, ends, color=MUTED, linewidth=1)
    ax.errorbar(
        predicted, values, yerr=NINETY * sd, fmt="none", ecolor=RAMP[2], elinewidth=0.5, alpha=0.5
    )
    ax.scatter(predicted[inside], values[inside], s=7, color=RAMP[5], zorder=3)
    ax.scatter(predicted[~inside], values[~inside], s=12, color=DRILL, marker="D", zorder=4)
    ax.text(
        0.03,
        0.97,
        f"{inside.mean():.0%} of {len(values)} inside their 90 % interval\n"
        f"typical error {np.sqrt(np.mean(residual**2)):.3g} {_unit(field)}",
        transform=ax.transAxes,
        va="top",
        fontproperties=font(8),
        color=INK,
    )


def _unit(field: KrigedField) -> str:
    return "reading units" if field.scale.is_identity else "stretched scale"


def _axes(ax: Axes, x: str, y: str) -> None:
    ax.set_xlabel(x, fontproperties=font(8), color=MUTED)
    ax.set_ylabel(y, fontproperties=font(8), color=MUTED)
    ax.tick_params(labelsize=7.5, color=MUTED, labelcolor=MUTED)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        ax.spines[side].set_color(MUTED)
