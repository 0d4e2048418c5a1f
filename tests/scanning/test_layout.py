"""Places to read and the order to walk them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box

from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.scanning import LayoutOptions, lay_out

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


def test_repeats_are_asked_for_at_the_end() -> None:
    """Ten places once more, after everything else."""
    purposes = lay_out(PLAN).places["purpose"].tolist()
    assert purposes.count("repeat") == 10
    assert purposes[-10:] == ["repeat"] * 10


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
