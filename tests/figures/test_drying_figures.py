"""Drying figures hold all their text and their meaning in more than colour."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from shapely.geometry import LineString, Point

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "drying"))

from invented_visits import Recipe, Wet, invent

from moisturemap.entry.options import placement_options
from moisturemap.figures import drying_figures
from moisturemap.floorplan import PlanLine
from moisturemap.workflow.placement import plan_drying


def door(x0: float, y0: float, x1: float, y1: float) -> PlanLine:
    """A door line."""
    return PlanLine("door", LineString([(x0, y0), (x1, y1)]), "door")


def socket(x: float, y: float) -> PlanLine:
    """A power point."""
    return PlanLine("power-point", Point(x, y), "socket")


@pytest.fixture(scope="module")
def figures() -> dict[str, Figure]:
    """Figures of a small hall with a stagnant corner and a leak, machines to bring."""
    recipe = Recipe(
        width=9.0,
        depth=7.0,
        wets=(
            Wet(8.8, 6.8, 36, 1.4, 300.0),
            Wet(3, 3, 34, 1.5, 9.0),
            Wet(7, 1.8, 10, 0.9, 1e9, 0.9),
        ),
        lines=(door(0, 1, 0, 2), socket(9, 5), socket(4, 0)),
    )
    options = placement_options(dehumidifiers=1, air_movers=2)
    return drying_figures(plan_drying(invent(recipe, 11).survey, placement=options))


def test_every_question_has_its_figure(figures: dict[str, Figure]) -> None:
    """Visits, change, step, rate, outlook, air, placement."""
    assert len(figures) == 7


def test_no_text_is_cut_off(figures: dict[str, Figure]) -> None:
    """Every text lies inside its page."""
    for name, figure in figures.items():
        canvas = FigureCanvasAgg(figure)
        canvas.draw()
        width, height = canvas.get_width_height()
        ticks = {
            id(one) for ax in figure.axes for one in (*ax.get_xticklabels(), *ax.get_yticklabels())
        }
        for text in figure.findobj(Text):
            shown = text.get_visible() and text.get_text().strip()
            if not shown or id(text) in ticks:
                continue
            box = text.get_window_extent(canvas.get_renderer())
            inside = box.x0 >= -1 and box.y0 >= -1 and box.x1 <= width + 1 and box.y1 <= height + 1
            assert inside, f"{name}: {text.get_text()!r}"


def test_rising_and_stagnant_are_told_apart_without_colour(figures: dict[str, Figure]) -> None:
    """Solid against dashed outlines, each explained in the key."""
    texts = {text.get_text() for text in figures["drying-change"].findobj(Text)}
    assert any(text.startswith("R  rising") for text in texts)
    assert any(text.startswith("N  wet and not drying") for text in texts)
    assert "no change shown\n(does not mean dry)" in texts or "(does not mean dry)" in texts
