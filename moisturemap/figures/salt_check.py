"""The figure of the salt checks: was each probe right when it was used."""

from __future__ import annotations

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.dates import AutoDateLocator, ConciseDateFormatter
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator
from matplotlib.transforms import ScaledTranslation, Transform

from moisturemap.acceptance import Decision
from moisturemap.figures.style import INK, MUTED, RAMP, WARNING, font

WIDTH, ROW, HEAD, FOOT = 10.0, 2.1, 0.75, 0.55
"""Of the page, of one instrument, of the heading and of the key [inches]."""

MARKERS = "osD^v<>p"
APART_PT = 7.0
"""Distance between marks of one session [pt]."""


def salt_check(decision: Decision) -> Figure:
    """Draw, for each checked instrument, its deviations over time beside the tests it read."""
    checks = decision.checks.dropna(subset=["deviation"])
    instruments = list(dict.fromkeys(checks["instrument"]))
    height = HEAD + ROW * max(len(instruments), 1) + FOOT
    figure = Figure(figsize=(WIDTH, height), dpi=150, facecolor="white")
    figure.text(
        0.045,
        1 - 0.34 / height,
        "Checks of the instruments against fixed points",
        color=INK,
        fontproperties=font(13, "bold"),
    )
    if not instruments:
        figure.text(
            0.045,
            1 - 0.75 / height,
            "No instrument has a usable check: nothing shows that its results were right.",
            color=INK,
            fontproperties=font(9),
        )
        return figure
    names = list(dict.fromkeys(checks["reference"]))
    marker = {name: MARKERS[i % len(MARKERS)] for i, name in enumerate(names)}
    for place, name in enumerate(instruments):
        bottom = height - HEAD - ROW * (place + 1) + 0.6
        ax = figure.add_axes((0.09, bottom / height, 0.87, (ROW - 0.95) / height))
        reads = decision.tests.loc[decision.tests["instrument"] == name, "read"].dropna()
        _instrument(ax, checks[checks["instrument"] == name], reads, marker)
    _key(figure, marker, height)
    return figure


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
        fontproperties=font(10, "bold"),
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
    locator = AutoDateLocator(minticks=3, maxticks=8)  # type: ignore[no-untyped-call]
    ax.xaxis.set_major_locator(locator)
    formatter = ConciseDateFormatter(locator)  # type: ignore[no-untyped-call]
    ax.xaxis.set_major_formatter(formatter)
    ax.xaxis.get_offset_text().set_fontproperties(font(8))
    ax.yaxis.set_major_locator(MaxNLocator(5, integer=True))
    ax.set_ylabel("read minus true", fontproperties=font(8.5), color=MUTED)
    ax.tick_params(labelsize=8, color=MUTED, labelcolor=MUTED)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        ax.spines[side].set_color(MUTED)


def _beside(ax: Axes, salt: str, marker: dict[str, str]) -> Transform:
    """Set salts read in one session side by side instead of on top of each other."""
    figure = ax.get_figure(root=True)
    assert figure is not None
    place = list(marker).index(salt) - (len(marker) - 1) / 2
    return ax.transData + ScaledTranslation(place * APART_PT / 72, 0, figure.dpi_scale_trans)


def _key(figure: Figure, marker: dict[str, str], height: float) -> None:
    handles = [
        Line2D([], [], marker=shape, color=RAMP[5], linestyle="", markersize=6, label=name)
        for name, shape in marker.items()
    ]
    handles += [
        Line2D([], [], color=RAMP[1], linewidth=7, label="tolerance"),
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
    figure.legend(
        handles=handles,
        prop=font(8),
        frameon=False,
        ncols=len(handles),
        loc="lower left",
        bbox_to_anchor=(0.08, 0.08 / height),
    )
