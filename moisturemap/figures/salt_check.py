"""The figure of the salt checks: was each probe right when it was used."""

from __future__ import annotations

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator
from matplotlib.transforms import ScaledTranslation, Transform

from moisturemap.acceptance import Decision
from moisturemap.figures.chart_page import (
    ChartPage,
    dated_axis,
    draw_key,
    key_height,
    plain_axes,
    width_in,
)
from moisturemap.figures.sheet import Format, Texts
from moisturemap.figures.style import INK, MUTED, RAMP, WARNING, font

LEFT, ROW = 0.55, 1.75
"""Left of a chart, and height for one instrument [in]."""

MARKERS = "osD^v<>p"
APART_PT = 7.0
"""Distance between marks of one session [pt]."""


def salt_check(decision: Decision, form: Format = Format()) -> Figure:
    """Draw, for each checked instrument, its deviations over time beside the tests it read."""
    checks = decision.checks.dropna(subset=["deviation"])
    instruments = list(dict.fromkeys(checks["instrument"]))
    names = list(dict.fromkeys(checks["reference"]))
    marker = {name: MARKERS[i % len(MARKERS)] for i, name in enumerate(names)}
    handles = _handles(marker)
    keyed = key_height([str(one.get_label()) for one in handles], width_in(form) - LEFT)
    none = "No instrument has a usable check: nothing shows that its results were right."
    texts = Texts("Checks of the instruments against fixed points", "" if instruments else none, "")
    page = ChartPage(texts, ROW * len(instruments) + keyed if instruments else 0.1, form)
    for place, name in enumerate(instruments):
        bottom = page.body - ROW * (place + 1) + 0.35
        ax = page.axes(LEFT, bottom, page.width - LEFT - 0.15, ROW - 0.65)
        reads = decision.tests.loc[decision.tests["instrument"] == name, "read"].dropna()
        _instrument(ax, checks[checks["instrument"] == name], reads, marker)
        dated_axis(ax, 6, form.units)
    if instruments:
        draw_key(page, handles, LEFT, keyed)
    return page.figure


def _instrument(
    ax: Axes, checks: pd.DataFrame, reads: pd.Series[pd.Timestamp], marker: dict[str, str]
) -> None:
    first = checks.iloc[0]
    serial = f", serial {first['serial']}" if first["serial"] else ""
    ax.set_title(
        f"{first['instrument']}{serial}",
        loc="left",
        color=INK,
        parse_math=False,
        fontproperties=font(8, "bold"),
    )
    tolerance, rejects = float(first["tolerance"]), float(first["rejects"])
    ax.axhspan(-tolerance, tolerance, color=RAMP[1], alpha=0.5, linewidth=0, zorder=0)
    for bound in (-rejects, rejects):
        ax.axhline(bound, color=WARNING, linewidth=1.2, linestyle=(0, (5, 2)))
    ax.axhline(0, color=MUTED, linewidth=0.8)
    ax.plot(checks["when"], checks["deviation"], linestyle="")  # sets the limits of the axes
    for row in checks.to_dict("records"):
        bad = abs(row["deviation"]) > rejects
        ax.scatter(
            [row["when"]],
            [row["deviation"]],
            marker=marker[row["reference"]],
            s=42,
            facecolor=WARNING if bad else RAMP[5],
            edgecolor="white",
            linewidth=0.6,
            zorder=4,
            transform=_beside(ax, row["reference"], marker),
        )
    for moment in reads:
        ax.axvline(moment, ymax=0.12, color=INK, linewidth=1.4)  # type: ignore[arg-type]
    reach = max(rejects, float(checks["deviation"].abs().max())) * 1.25
    ax.set_ylim(-reach, reach)
    ax.margins(x=0.06)
    ax.yaxis.set_major_locator(MaxNLocator(5, integer=True))
    plain_axes(ax, "", "read minus true")


def _beside(ax: Axes, salt: str, marker: dict[str, str]) -> Transform:
    """Set salts read in one session side by side instead of on top of each other."""
    figure = ax.get_figure(root=True)
    assert figure is not None
    place = list(marker).index(salt) - (len(marker) - 1) / 2
    return ax.transData + ScaledTranslation(place * APART_PT / 72, 0, figure.dpi_scale_trans)


def _handles(marker: dict[str, str]) -> list[Line2D | Patch]:
    handles: list[Line2D | Patch] = [
        Line2D([], [], marker=shape, color=RAMP[5], linestyle="", markersize=6, label=name)
        for name, shape in marker.items()
    ]
    return [
        *handles,
        Patch(facecolor=RAMP[1], alpha=0.5, label="tolerance"),
        Line2D(
            [],
            [],
            color=WARNING,
            linewidth=1.2,
            linestyle=(0, (5, 2)),
            label="beyond: results set aside",
        ),
        Line2D([], [], marker="|", color=INK, linestyle="", markersize=9, label="test read"),
    ]
