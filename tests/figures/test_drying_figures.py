"""Drying figures hold all their text and their meaning in more than colour."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace

import geopandas as gpd
import pandas as pd
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text
from shapely.geometry import LineString, Point, box

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "drying"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from invented_visits import Recipe, Wet, invent
from legibility import faults

from moisturemap.bundles import DryingPlan
from moisturemap.entry.options import placement_options
from moisturemap.figures import Format
from moisturemap.figures.drying_figures import drying_figures
from moisturemap.figures.drying_maps import FELL, ROSE
from moisturemap.figures.drying_placement import part_shown
from moisturemap.floorplan import FloorPlan, PlanLine, Room
from moisturemap.workflow.placement import plan_drying

pytestmark = pytest.mark.thorough


@pytest.mark.parametrize(
    ("stand", "shown"),
    [
        ([(1.0, 2.0), (3.0, 2.5)], (0.0, 0.0, 6.0, 5.5)),
        ([(1.0, 2.0), (38.0, 19.0)], None),
        ([], None),
    ],
)
def test_on_a_large_floor_the_part_of_the_machines_is_drawn(
    stand: list[tuple[float, float]], shown: tuple[float, ...] | None
) -> None:
    """Their marks covered each other in one of sixty rooms."""
    rooms = tuple(
        Room(f"{k}.{n}", box(4 * k, 3.5 * n, 4 * k + 4, 3.5 * n + 3.5))
        for k in range(10)
        for n in range(6)
    )
    places = pd.DataFrame(stand, columns=["x", "y"], dtype=float)
    moves = places.assign(new_x=places["x"], new_y=places["y"])
    equipment = SimpleNamespace(
        survey=SimpleNamespace(plan=FloorPlan(rooms)),
        placement=SimpleNamespace(moves=moves),
        comparison=SimpleNamespace(drying=SimpleNamespace(areas=gpd.GeoDataFrame(geometry=[]))),
    )
    assert part_shown(equipment) == shown  # type: ignore[arg-type]


def door(x0: float, y0: float, x1: float, y1: float) -> PlanLine:
    """A door line."""
    return PlanLine("door", LineString([(x0, y0), (x1, y1)]), "door")


def socket(x: float, y: float) -> PlanLine:
    """A power point."""
    return PlanLine("power-point", Point(x, y), "socket")


@pytest.fixture(scope="module")
def visits() -> DryingPlan:
    """Visits of a small hall with a stagnant corner and a leak, machines to bring."""
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
    return plan_drying(invent(recipe, 11).survey, placement=options)


@pytest.fixture(scope="module")
def figures(visits: DryingPlan) -> dict[str, Figure]:
    """The figures of these visits."""
    return drying_figures(visits)


def test_every_question_has_its_figure(figures: dict[str, Figure]) -> None:
    """Visits, change, step, rate, outlook, air, placement."""
    assert len(figures) == 7


@pytest.mark.parametrize("width", [80, 120, 174])
def test_drying_figures_are_legible(visits: DryingPlan, width: float) -> None:
    """No small type, no text over another, nothing cut, at every width of print."""
    form = Format(width_mm=width)
    found = {name: faults(one) for name, one in drying_figures(visits, form).items()}
    assert not {name: words for name, words in found.items() if words}


def test_fell_and_rose_are_told_apart_in_grey(visits: DryingPlan) -> None:
    """By hatch, and both are in the key."""
    ax, *_ = drying_figures(visits)["drying-change"].axes
    hatches = {patch.get_hatch() for patch in ax.patches}
    assert {FELL, ROSE} <= hatches


def test_rising_and_stagnant_are_told_apart_without_colour(figures: dict[str, Figure]) -> None:
    """Solid against dashed outlines, each explained in the key."""
    figure = figures["drying-change"]
    words = " ".join(text.get_text() for text in figure.findobj(Text))
    for phrase in (
        "R: readings rise",
        "N: above the wet level",
        "no change shown (does not mean dry)",
    ):
        assert phrase in " ".join(words.split())
