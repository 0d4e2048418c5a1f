"""Places to read and the order to walk them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Polygon, box

from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan, PlanLine, Room
from moisturemap.scanning import LayoutOptions, lay_out
from moisturemap.scanning.route import CORNERS

L_ROOM = Polygon([(0, 0), (6, 0), (6, 3), (3, 3), (3, 5), (0, 5)], [box(1, 1, 1.4, 1.4).exterior])
PLAN = FloorPlan((Room("hall", L_ROOM), Room("store", box(6.2, 0, 8, 3))))


def test_every_place_lies_in_its_room_clear_of_walls_and_columns() -> None:
    """Margin of 0.15 m from the outline and from holes."""
    places = lay_out(PLAN, LayoutOptions(spacing=0.5)).places
    for room in PLAN.rooms:
        here = places[places["room"] == room.name]
        assert room.polygon.covers(shapely.multipoints(here[["x", "y"]].to_numpy()))
        assert here.distance(room.polygon.boundary).min() >= 0.15 - 1e-3


def test_rows_are_walked_to_and_fro() -> None:
    """The second row starts where the first ended."""
    places = lay_out(
        FloorPlan((Room("hall", box(0, 0, 4, 2)),)), LayoutOptions(spacing=1, edge=False, repeats=0)
    ).places
    assert places["label"].tolist() == ["A1", "A2", "A3", "A4", "B4", "B3", "B2", "B1"]
    steps = np.hypot(*np.diff(places[["x", "y"]].to_numpy(), axis=0).T)
    np.testing.assert_allclose(steps, 1.0)


def test_a_laid_out_scan_passes_its_own_review() -> None:
    """No gap, no wall left out, repeats there."""
    import pandas as pd

    from moisturemap.scanning.coverage import remarks_on_coverage
    from moisturemap.survey import Instrument, Survey, Visit, clean_readings

    places = lay_out(PLAN, LayoutOptions(spacing=0.5)).places
    readings = pd.DataFrame(
        {
            "reading": places["order"],
            "visit": "v1",
            "instrument": "m",
            "x": places["x"],
            "y": places["y"],
            "value": np.arange(len(places)) % 7 + 30.0,
            "raw": "",
            "censored": "",
            "room": "",
            "label": "",
            "repeat": 0,
            "time": pd.NaT,
            "note": "",
            "source": "s",
            "row": places["order"].astype("str"),
        }
    )
    survey = Survey("laid out", PLAN, {"m": Instrument("m")}, (Visit("v1"),), readings)
    assert remarks_on_coverage(clean_readings(survey), PLAN) == []


def test_repeats_are_read_when_the_walk_comes_by_again() -> None:
    """Ten places once more: five within a row's spacing of the way, and five to close it."""
    layout = lay_out(PLAN, LayoutOptions(spacing=0.5))
    places = layout.places
    again = places[places["purpose"] == "repeat"]
    assert len(again) == 10
    assert places["purpose"].tolist()[-5:] == ["repeat"] * 5
    for row in again.itertuples():
        first = places[(places["label"] == row.label) & (places["room"] == row.room)].iloc[0]
        assert first["order"] < row.order - 1
    without = lay_out(PLAN, LayoutOptions(spacing=0.5, repeats=0)).walk_m
    back = 10.0  # the plan is 8 m long
    assert layout.walk_m <= without + 5 * 2.5 * 0.5 + back


def test_the_way_told_is_the_way_walked_and_crosses_no_wall() -> None:
    """As long as the ways inside the rooms from stop to stop, by the distance of the floor plan."""
    from moisturemap.floorplan import geodesic_distance

    doors = (PlanLine("door", LineString([(6.1, 1.0), (6.1, 1.8)])),)
    plan = FloorPlan(PLAN.rooms, doors)
    layout = lay_out(plan, LayoutOptions(spacing=0.5))
    total = 0.0
    for room in plan.rooms:
        here = layout.places[layout.places["room"] == room.name][["x", "y"]].to_numpy()
        for one, other in pairwise(here):
            total += geodesic_distance(room.polygon, one[None], other[None])[0, 0]
    inside = sum(
        leg.intersection(room.polygon).length for leg in layout.way.geoms for room in plan.rooms
    )
    gap = layout.way.length - inside
    assert 0.39 <= gap <= 1.2, "only the wall is left, there and back, at the door"
    assert layout.walk_m == pytest.approx(layout.way.length)
    assert layout.walk_m >= total - 8.0


@pytest.mark.parametrize("corner", CORNERS)
@pytest.mark.parametrize("rows", ["long", "short"])
def test_a_walk_starts_at_the_corner_asked_for(corner: str, rows: str) -> None:
    """And the same places are read whatever the corner."""
    plan = FloorPlan((Room("hall", box(0, 0, 6, 4)), Room("store", box(6.2, 0, 8, 4))))
    layout = lay_out(plan, LayoutOptions(spacing=1, start=corner, rows=rows, repeats=0))
    x, y = layout.places[["x", "y"]].iloc[0]
    assert (x > 4) == corner.endswith("right")
    assert (y > 2) == corner.startswith("top")
    usual = lay_out(plan, LayoutOptions(spacing=1, repeats=0)).places
    places = {tuple(one) for one in layout.places[["x", "y"]].to_numpy().tolist()}
    assert places == {tuple(one) for one in usual[["x", "y"]].to_numpy().tolist()}


def test_a_room_smaller_than_the_spacing_gets_a_place() -> None:
    """A cupboard is not forgotten."""
    plan = FloorPlan((Room("cupboard", box(0, 0, 0.4, 0.4)),))
    assert len(lay_out(plan, LayoutOptions(spacing=2, edge=False, repeats=0)).places) == 1
    plan = FloorPlan((Room("duct", box(0, 0, 0.2, 0.2)),))
    assert len(lay_out(plan, LayoutOptions(spacing=2, repeats=0)).places) >= 1


def test_the_spacing_follows_the_area_when_none_is_given() -> None:
    """Half a metre in a small floor, a metre in a hall."""
    assert lay_out(PLAN).spacing == 0.5
    assert lay_out(FloorPlan((Room("hall", box(0, 0, 30, 20)),))).spacing == 1.0


@pytest.mark.parametrize("options", [{"spacing": 0.0}, {"margin": -1.0}, {"repeats": -1}])
def test_impossible_options_are_refused(options: dict[str, float]) -> None:
    """A grid needs a spacing."""
    with pytest.raises(OptionError):
        LayoutOptions(**options)


def test_a_spacing_that_needs_too_many_readings_is_refused() -> None:
    """The message says what would do."""
    with pytest.raises(OptionError, match="at least"):
        lay_out(FloorPlan((Room("field", box(0, 0, 400, 400)),)), LayoutOptions(spacing=0.1))


def test_half_the_spacing_is_proposed_where_the_plan_draws_services() -> None:
    """In the rooms they run through, and nowhere else."""
    rooms = (Room("hall", box(0, 0, 8, 6)), Room("store", box(8.2, 0, 12, 6)))
    pipe = PlanLine("known-service", LineString([(1, 1), (6, 1)]), "supply")
    limits = lay_out(FloorPlan(rooms, (pipe,)), LayoutOptions(spacing=0.5)).limits
    assert "in hall: read every 0.25 m" in limits[0]
    assert "store" not in limits[0]
    assert "services in" not in lay_out(FloorPlan(rooms), LayoutOptions(spacing=0.5)).limits[0]
