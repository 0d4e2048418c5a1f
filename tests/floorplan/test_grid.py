"""The grid of cells."""

import numpy as np
import pytest
from shapely.geometry import Point, box

from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan, PlanLine, Room, Slab, domains, make_grid

PLAN = FloorPlan(
    (
        Room("a", box(0, 0, 4, 4) - box(1, 1, 1.5, 1.5)),
        Room("b", box(4.2, 0, 8, 4)),
        Room("deck", box(0, 4.2, 8, 8), Slab(base="timber deck")),
    )
)


@pytest.mark.parametrize("most", [1, 50, 1000, 20_000])
def test_chosen_spacing_is_round_and_keeps_the_number_of_cells(most):
    """Never more cells than allowed, and not needlessly few."""
    grid = make_grid(PLAN, domains(PLAN), max_cells=most)
    count = int(grid.inside.sum())
    assert count <= most
    if most >= 50:
        assert count >= 0.5 * most


def test_cells_know_their_room_and_domain():
    """Walls and columns belong to no room."""
    grid = make_grid(PLAN, domains(PLAN), spacing=0.1)
    column, row = (
        np.searchsorted(grid.x, [0.5, 1.25, 4.1, 6, 6]),
        np.searchsorted(grid.y, [0.5, 1.25, 2, 2, 6]),
    )
    assert grid.room[row, column].tolist() == [0, -1, -1, 1, 2]
    assert grid.domain[row, column].tolist() == [0, -1, -1, 0, 1]
    assert ((grid.room >= 0) == (grid.domain >= 0)).all()


def test_cells_on_a_joint_belong_to_one_side():
    """No cell of a room is without a domain."""
    joint = PlanLine("day-joint", box(2, 1, 2, 1).boundary)
    plan = FloorPlan((Room("a", Point(0, 0).buffer(3)),), (joint,))
    grid = make_grid(plan, domains(plan), spacing=0.05)
    assert (grid.domain[grid.inside] >= 0).all()
    assert int(grid.inside.sum()) * 0.05**2 == pytest.approx(plan.outline.area, rel=0.005)


def test_small_closet_is_not_divided_into_specks():
    """No finer than 20 mm by choice."""
    plan = FloorPlan((Room("closet", box(0, 0, 1, 1)),))
    assert make_grid(plan, domains(plan)).spacing == pytest.approx(0.02)


@pytest.mark.parametrize("spacing", [0, -1, float("nan"), float("inf"), 1e-6, 100])
def test_unfit_spacing_is_refused_with_what_is_allowed(spacing):
    """The message names the range."""
    with pytest.raises(OptionError, match="Allowed"):
        make_grid(PLAN, domains(PLAN), spacing=spacing)


def test_no_cells_are_refused():
    """Zero cells make no map."""
    with pytest.raises(OptionError):
        make_grid(PLAN, domains(PLAN), max_cells=0)
