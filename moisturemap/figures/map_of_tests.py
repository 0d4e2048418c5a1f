"""Where the calibrated tests stand on the floor, and how each place compares with the limit.

The scan lies pale beneath: it guides where to test. Only the marks of tests carry a verdict, each
at its own place; no area between them does.
"""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import fill

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from shapely.geometry import MultiPoint

from moisturemap.acceptance import Decision
from moisturemap.bundles import Study
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.key_panel import KeyPanel, KeyRow
from moisturemap.figures.map_figure import COLUMN, EDGE, KEY_WIDTH, page
from moisturemap.figures.style import INK, MUTED, PAPER, RAMP, SET_ASIDE, WARNING, font
from moisturemap.mapping.bands import band_levels, bands

PALE = 0.35
"""Opacity of the scan beneath the tests."""

SAME_PLACE = 0.05
"""Holes within this distance are one place [m]."""

VERDICTS = {
    "exceeds": ("D", WARNING, WARNING, "exceeds the limit"),
    "not proven": ("o", PAPER, INK, "not proven"),
    "meets": ("o", RAMP[5], RAMP[5], "meets the limit"),
    "not judged": ("x", SET_ASIDE, SET_ASIDE, "not judged, or not valid"),
}
"""Marker, fill, edge and words; the worst verdict of a place stands first."""


@dataclass(frozen=True, slots=True)
class ProbedPlace:
    """A tested place: the worst verdict there, and what to write beside it."""

    x: float
    y: float
    verdict: str
    label: str


def map_of_tests(decision: Decision, study: Study) -> Figure:
    """Draw the places of the tests with their results over the pale map of the scan."""
    plan = study.survey.plan
    figure, ax, key = page(plan.bounds)
    levels = band_levels(study.moisture.cells().values)
    if levels.size:
        layers.draw_bands(ax, bands(study.moisture.cells(), plan, levels), levels)
        for shape in ax.patches:
            shape.set(alpha=PALE, linewidth=0)
    places = _places(decision)
    layers.draw_plan(ax, plan, busy=MultiPoint([(place.x, place.y) for place in places]))
    for place in places:
        _mark(ax, place)
    dpi = key.figure.dpi
    panel = KeyPanel(key, key.bbox.width / dpi, key.bbox.height / dpi, COLUMN)
    panel.heading("Calibrated tests")
    for verdict, (*_, words) in VERDICTS.items():
        if verdict in {place.verdict for place in places}:
            panel.row(KeyRow(verdict, words))
    if levels.size:
        panel.row(KeyRow("scan", "relative scan, darker = wetter:\nguides where to test"))
    _texts(figure, decision, study)
    return figure


def _places(decision: Decision) -> list[ProbedPlace]:
    tests = decision.tests.dropna(subset=["x", "y"])
    places = []
    for _, here in tests.groupby(["x", "y"], sort=False):
        x, y = (float(one) for one in here[["x", "y"]].to_numpy(dtype=float)[0])
        judged = here[here["verdict"] != "not judged"]
        verdicts = [str(one) for one in here["verdict"]]
        lines = [
            f"{hole} {value:g} {unit}"
            for hole, value, unit in zip(
                judged["hole"], judged["value"], judged["unit"], strict=True
            )
        ]
        for spot in decision.spots:
            near = abs(spot.x - x) + abs(spot.y - y) < SAME_PLACE
            if near and spot.governs and spot.estimate is not None:
                verdicts.append(spot.verdict)
                lines.append(f"once sealed {spot.estimate.sealed.value:.0f} %RH")
        worst = next((one for one in VERDICTS if one in verdicts), "not judged")
        label = "\n".join(lines or [str(here["hole"].iat[0])])
        places.append(ProbedPlace(x, y, worst, label))
    return places


def _mark(ax: Axes, place: ProbedPlace) -> None:
    """Mark a place and write its results on the side where there is room."""
    marker, inner, edge, _ = VERDICTS[place.verdict]
    ax.plot(
        place.x,
        place.y,
        marker=marker,
        markersize=9,
        linestyle="none",
        zorder=10,
        markerfacecolor=inner,
        markeredgecolor=edge,
        markeredgewidth=1.8,
    )
    west, east = ax.get_xlim()
    leftwards = place.x > west + 0.75 * (east - west)
    ax.annotate(
        place.label,
        (place.x, place.y),
        xytext=(-9 if leftwards else 9, 0),
        textcoords="offset points",
        va="center",
        ha="right" if leftwards else "left",
        color=INK,
        fontproperties=font(8, "bold"),
        path_effects=[layers.HALO],
        zorder=11,
    )


def _texts(figure: Figure, decision: Decision, study: Study) -> None:
    height, width = figure.get_figheight(), figure.get_figwidth()
    left = EDGE / width
    figure.text(
        left,
        1 - 0.32 / height,
        f"{study.survey.name}: calibrated tests",
        color=INK,
        fontproperties=font(13, "bold"),
        parse_math=False,
    )
    limits = {
        f"{limit.value:g} {limit.unit} ({limit.source})"
        for limit in decision.limits.values()
        if limit is not None
    }
    told = f"Limit {'; '.join(sorted(limits))}" if limits else "No limit is stated"
    figure.text(
        left, 1 - 0.53 / height, told, color=MUTED, fontproperties=font(8.5), parse_math=False
    )
    words = (
        f"{decision.sentence} Results hold for the tested places at the time they were read; "
        "the floor between them is not judged."
    )
    wide = int((width - 2 * EDGE - KEY_WIDTH - EDGE) * 15.0)
    figure.text(
        left,
        0.52 / height,
        fill(words, wide),
        color=INK,
        fontproperties=font(7.5),
        va="top",
        linespacing=1.35,
        parse_math=False,
    )
