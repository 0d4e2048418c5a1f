"""The figure that checks a map: variogram with the fitted model, and leave-one-out."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from moisturemap.bundles import Study
from moisturemap.figures.chart_page import (
    SIDE_BY_SIDE,
    ChartPage,
    draw_key,
    key_height,
    plain_axes,
    width_in,
)
from moisturemap.figures.sheet import EDGE, Format, Texts
from moisturemap.figures.style import DRILL, INK, MUTED, RAMP, font
from moisturemap.figures.typeface import wrapped
from moisturemap.geostat import SPELT, EmpiricalVariogram, empirical_variogram
from moisturemap.mapping import KrigedField
from moisturemap.units import Units

LEFT, CHART, ABOVE, BELOW = 0.55, 2.3, 0.42, 0.42
"""Left of a chart, its height, and the space above and below it [in]."""

NOISE = (0, (4, 2))
NINETY = 1.6448536269514722
"""Half width of a 90% interval of a normal error [sd]."""

WORDS_SHARE = 0.2
"""Height kept free above the points for two lines of words, as a share of the points'."""


def check_figure(study: Study, form: Format = Format(), *, told: bool = True) -> Figure:
    """Draw, for each mapped domain, its variogram and its leave-one-out predictions.

    Semivariance by distance with the fitted model; and each reading against its prediction from all
    others with the 90% interval of a reading. Without ``told`` the text beside the figure says how
    well the map agrees with its readings.
    """
    fields = {key: f for key, f in study.moisture.fields.items() if isinstance(f, KrigedField)}
    keys = [domain.key for domain in study.domains if domain.key in fields]
    names = {domain.key: domain.label for domain in study.domains}
    beside = width_in(form) >= SIDE_BY_SIDE
    row = (CHART + ABOVE + BELOW) * (1 if beside else 2)
    title = f"{study.survey.name}: can the map be trusted?"
    marks = _handles() if keys else []
    keyed = key_height([str(one.get_label()) for one in marks], width_in(form) - LEFT - EDGE)
    words = Texts(title, study.quality if told else "", "")
    page = ChartPage(words, max(row * len(keys), 0.1) + keyed, form)
    across = page.width / (2 if beside else 1) - LEFT - 0.15
    for at, key in enumerate(keys):
        bottom = page.body - row * (at + 1) + BELOW
        upper = bottom if beside else bottom + row / 2
        left = page.axes(LEFT, upper, across, CHART)
        right = page.axes(page.width / 2 + LEFT if beside else LEFT, bottom, across, CHART)
        _variogram(left, fields[key], names[key], form.units)
        _leave_one_out(right, fields[key])
    draw_key(page, marks, LEFT, keyed)
    return page.figure


def _handles() -> list[Line2D]:
    """Return the key of the variograms; below them it covers no point."""
    return [
        Line2D(
            [],
            [],
            linestyle="",
            marker="o",
            markersize=6,
            color=RAMP[4],
            label="readings (larger: more pairs)",
        ),
        Line2D(
            [],
            [],
            linestyle="",
            marker="s",
            markersize=4,
            markerfacecolor="none",
            color=MUTED,
            label="readings, robust (median)",
        ),
        Line2D([], [], color=INK, linewidth=1.6, label="fitted model"),
        Line2D([], [], color=DRILL, linewidth=1, linestyle=NOISE, label="noise of one reading"),
    ]


MOST_TITLE_LINES = 2
"""Lines there is room for above a chart; longer names of rooms end in an ellipsis."""


def _variogram(ax: Axes, field: KrigedField, name: str, units: Units) -> None:
    seen = field.kriging.observations
    across = ax.get_position().width * ax.figure.get_figwidth()  # type: ignore[union-attr]
    kind = SPELT.get(field.covariance.kind, field.covariance.kind)
    title = wrapped(f"Variogram ({kind}), {name}", across, 7.5, "bold")
    if len(title) > MOST_TITLE_LINES:
        title = [*title[: MOST_TITLE_LINES - 1], f"{title[MOST_TITLE_LINES - 1]} …"]
    unit, metres = units.axis
    apart = f"distance between readings [{unit}]"
    ax.set_title(
        "\n".join(title), fontproperties=font(7.5, "bold"), color=INK, loc="left", parse_math=False
    )
    found = empirical_variogram(seen.points, seen.values)
    if not found.pairs.size:
        _say_instead(ax, "too few readings for a variogram")
        plain_axes(ax, apart, f"semivariance [{_unit(field)} squared]")
        return
    _scatter(ax, found, empirical_variogram(seen.points, seen.values, estimator="dowd"), metres)
    model = field.covariance
    noise = model.nugget + float(np.median(seen.noise))
    h = np.linspace(0, found.distance.max() * 1.04, 300)
    curve = noise + model.variance * (1 - model.correlation(h))
    ax.plot(h / metres, curve, color=INK, linewidth=1.6, zorder=4)
    ax.axhline(noise, color=DRILL, linewidth=1, linestyle=NOISE)
    plain_axes(ax, apart, f"semivariance [{_unit(field)} squared]")
    ax.set_ylim(bottom=0)
    ax.set_xlim(left=0)


def _say_instead(ax: Axes, words: str) -> None:
    """Write why nothing is drawn."""
    ax.text(
        0.5, 0.5, words, ha="center", transform=ax.transAxes, fontproperties=font(7), color=MUTED
    )


def _scatter(
    ax: Axes, found: EmpiricalVariogram, robust: EmpiricalVariogram, metres: float
) -> None:
    weight = 12 + 70 * found.pairs / found.pairs.max()
    ax.scatter(
        found.distance / metres,
        found.gamma,
        s=weight,
        color=RAMP[4],
        zorder=3,
    )
    ax.scatter(
        robust.distance / metres,
        robust.gamma,
        s=16,
        marker="s",
        facecolor="none",
        edgecolor=MUTED,
        zorder=3,
    )


def _leave_one_out(ax: Axes, field: KrigedField) -> None:
    ax.set_title(
        "Each place predicted from all others",
        fontproperties=font(7.5, "bold"),
        color=INK,
        loc="left",
    )
    plain_axes(ax, f"predicted [{_unit(field)}]", f"read [{_unit(field)}]")
    seen = field.kriging.observations
    known = np.isfinite(field.check.sd) & np.isfinite(field.check.residual)
    values = seen.values[seen.member][known]
    residual, sd = field.check.residual[known], field.check.sd[known]
    if not known.any():
        _say_instead(ax, "too few readings to check one by the others")
        return
    predicted = values - residual
    inside = np.abs(residual) <= NINETY * sd
    ends = [min(predicted.min(), values.min()), max(predicted.max(), values.max())]
    ax.plot(ends, ends, color=MUTED, linewidth=1)
    half = NINETY * sd
    spans = np.array([[predicted, values - half], [predicted, values + half]]).transpose(2, 0, 1)
    ax.add_collection(LineCollection(list(spans), colors=RAMP[2], linewidths=0.5, alpha=0.5))
    ax.scatter(predicted[inside], values[inside], s=7, color=RAMP[5], zorder=3)
    ax.scatter(predicted[~inside], values[~inside], s=12, color=DRILL, marker="D", zorder=4)
    low, high = ax.get_ylim()
    ax.set_ylim(low, high + WORDS_SHARE * (high - low))
    ax.text(
        0.03,
        0.97,
        f"{inside.mean():.0%} of {len(values)} inside their 90% interval\n"
        f"typical error {np.sqrt(np.mean(residual**2)):.3g} {_unit(field)}",
        transform=ax.transAxes,
        va="top",
        fontproperties=font(7),
        color=INK,
    )


def _unit(field: KrigedField) -> str:
    return "reading units" if field.scale.is_identity else "stretched scale"
