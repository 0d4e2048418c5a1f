"""Sweeps across what is contested, and what they settle."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import LineString, Point, box

from moisturemap.anomalies import ANOMALY_COLUMNS, Anomalies
from moisturemap.anomalies.assemble import assemble
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.search import search
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.scanning import SWEEP_COLUMNS, confirming_sweeps, sweep_places

PLAN = FloorPlan((Room("hall", box(0, 0, 12, 9)),))
LINE = LineString([(2, 4), (8, 4)])
GRID = np.array([(x, y) for x in np.arange(0.25, 12, 0.5) for y in np.arange(0.25, 9, 0.5)])


def contested(*shapes, standing: str = "contested", read=(), confirmed=True) -> Anomalies:
    """Anomalies of some shapes, with readings of a grid and of sweeps already read."""
    known = {"kind": "line", "standing": standing, "confirmed": confirmed}
    rows = [{"anomaly": f"L{k + 1}", "geometry": shape, **known} for k, shape in enumerate(shapes)]
    table = gpd.GeoDataFrame(rows, columns=list(ANOMALY_COLUMNS), geometry="geometry")
    places = np.vstack([GRID, *(sweep_places(line) for line in read)])
    x, y = places.T
    readings = gpd.GeoDataFrame(
        {"x": x, "y": y, "flag": "clear"}, geometry=gpd.points_from_xy(x, y)
    )
    return Anomalies(table, readings)


def test_a_long_line_gets_two_sweeps_square_to_it_and_set_out_by_tape():
    """Twelve readings, 0.55 m to each side, none of them where the line itself is."""
    sweeps = confirming_sweeps(contested(LINE), PLAN)
    assert list(sweeps.columns) == list(SWEEP_COLUMNS)
    assert list(sweeps["sweep"]) == ["W1", "W2"]
    assert sweeps[["from_x", "to_x"]].to_numpy().ravel() == pytest.approx([4, 4, 6, 6])
    assert np.abs(sweeps["to_y"] - sweeps["from_y"]).to_numpy() == pytest.approx([1.1, 1.1])
    assert sweeps["set_out"].iloc[0].count("wall") == 4
    assert len(sweep_places(sweeps.geometry.iloc[0])) == sweeps["readings"].iloc[0] == 12


def test_a_spot_is_crossed_both_ways_and_a_wall_cuts_a_sweep_off():
    """In a corner a sweep too short to tell is not proposed."""
    sweeps = confirming_sweeps(contested(Point(6, 0.3)), PLAN)
    assert sorted(sweeps["readings"]) == [8, 12]
    assert sweeps.geometry.within(PLAN.rooms[0].polygon).all()
    assert confirming_sweeps(contested(Point(0.1, 0.1)), PLAN)["readings"].min() >= 5


def test_things_need_no_sweep():
    """And nothing contested gives an empty table."""
    none = confirming_sweeps(contested(LINE, standing="thing"), PLAN)
    assert none.empty
    assert list(none.columns) == list(SWEEP_COLUMNS)


def test_a_thing_that_only_the_grid_speaks_for_is_swept():
    """It hides readings above the wet level, and may be a narrow band of wet floor."""
    found = contested(LINE, standing="thing", confirmed=False)
    assert list(confirming_sweeps(found, PLAN)["sweep"]) == ["W1", "W2"]


@pytest.mark.parametrize("shape", [LINE, LineString([(2, 4), (3, 4)]), Point(6, 5)])
@pytest.mark.parametrize("moved", [0.0, 0.2])
def test_what_stays_open_is_not_swept_twice(shape, moved):
    """Neither where it was read, nor where it has since been placed a little aside."""
    read = confirming_sweeps(contested(shape), PLAN).geometry
    assert len(read)
    again = affinity.translate(shape, moved, moved)
    assert confirming_sweeps(contested(again, read=read), PLAN).empty


def test_a_grid_is_no_sweep():
    """Readings a quarter of a metre apart do not stand for one."""
    x, y = (part.ravel() for part in np.meshgrid(np.arange(0, 12, 0.25), np.arange(0, 9, 0.25)))
    places = gpd.points_from_xy(x, y)
    read = gpd.GeoDataFrame({"x": x, "y": y, "flag": "clear"}, geometry=places)
    grid = Anomalies(contested(LINE).table, read)
    assert len(confirming_sweeps(grid, PLAN)) == 2


def test_only_what_is_left_of_a_round_is_proposed_again():
    """One of two sweeps was read: the other is asked for."""
    first, second = confirming_sweeps(contested(LINE), PLAN).geometry
    (left,) = confirming_sweeps(contested(LINE, read=[first]), PLAN).geometry
    assert left.equals(second)


def standings(points, values):
    """Standing of each reading: 0 clear, 1 contested, 2 thing."""
    ones = np.ones(len(points))
    scene = Scene(points, values, ones, 0 * ones, 1.0, 0.12, 1 / 12, 100.0, 100.0, 35.0)
    marks = np.zeros(len(points), dtype=int)
    found = assemble(search(scene), scene, box(0, 0, 12, 9), 2.0)
    for rank, stays in ((1, True), (2, False)):
        for one in found:
            marks[one.disturbed[one.stays == stays]] = rank
    return marks


@pytest.mark.parametrize(("what", "settled"), [("pipe", 2), ("band", 0)])
def test_two_sweeps_settle_a_row_on_a_coarse_grid(what, settled):
    """Read every metre a pipe and a band of water look the same; across they do not."""
    x, y = (a.ravel() for a in np.meshgrid(np.arange(0.5, 12), np.arange(0.5, 9)))
    points = np.column_stack([x, y])
    sweeps = confirming_sweeps(contested(LineString([(0.5, 4.5), (11.5, 4.5)])), PLAN)
    added = np.vstack([sweep_places(line) for line in sweeps.geometry]) + 1e-3
    rng = np.random.default_rng(4)

    def read(places):
        away = np.abs(places[:, 1] - 4.5)
        rise = np.exp(-0.5 * (away / 0.13) ** 2)
        if what == "band":
            rise = 1 / (1 + np.exp((away - 0.45) / 0.06))
        return np.round(18 + 32 * rise + rng.normal(0, 1.2, len(places)))

    row = np.abs(y - 4.5) < 0.1
    grid = read(points)
    before = standings(points, grid)
    after = standings(np.vstack([points, added]), np.concatenate([grid, read(added)]))
    assert (before[row] == 1).mean() > 0.7
    assert (after[: len(points)][row] == settled).mean() > 0.7
