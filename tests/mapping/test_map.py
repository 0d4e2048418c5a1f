"""Readings to a surface."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely.geometry import Polygon, box

from moisturemap.floorplan import CellGrid, Domain, FloorPlan, Room
from moisturemap.mapping import map_readings
from moisturemap.survey import CleanReadings, Instrument, Visit


def floor(*rooms: Polygon, spacing: float = 0.25):
    """A plan whose rooms are each a domain, with its cells."""
    plan = FloorPlan(tuple(Room(f"Room {i + 1}", room) for i, room in enumerate(rooms)))
    domains = tuple(
        Domain(f"D{i + 1}", room.polygon, (room.name,)) for i, room in enumerate(plan.rooms)
    )
    west, south, east, north = plan.bounds
    x = np.arange(west + spacing / 2, east, spacing)
    y = np.arange(south + spacing / 2, north, spacing)
    room = np.full((y.size, x.size), -1)
    for i, one in enumerate(plan.rooms):
        for row, yy in enumerate(y):
            for column, xx in enumerate(x):
                if one.polygon.contains(box(xx - 1e-9, yy - 1e-9, xx + 1e-9, yy + 1e-9)):
                    room[row, column] = i
    return plan, domains, CellGrid(x, y, room, room.copy(), spacing)


def cleaned(points, values, domain="D1", censored="", step=1.0, scale=(0.0, 100.0)):
    """Clean readings of one visit, one reading a spot."""
    points = np.asarray(points, dtype=float)
    n = len(points)
    spots = pd.DataFrame({
        "spot": np.arange(n), "x": points[:, 0], "y": points[:, 1],
        "value": np.broadcast_to(np.asarray(values, dtype=float), n), "n": 1,
        "censored": censored, "room": "Room 1", "domain": domain,
    })  # fmt: skip
    readings = gpd.GeoDataFrame(
        {
            "value": spots["value"], "domain": spots["domain"], "spot": spots["spot"],
            "flag": np.where(spots["censored"] == "above", "full-scale",
                             np.where(spots["censored"] == "below", "below-scale", "clear")),
            "reason": "",
        },
        geometry=gpd.points_from_xy(points[:, 0], points[:, 1]),
    )  # fmt: skip
    return CleanReadings(Visit("v1"), Instrument("meter", scale=scale), readings, spots, None, 0,
                         step)  # fmt: skip


def mapped(points, values, **kwargs):
    """Map one 6 m x 4 m room."""
    plan, domains, grid = floor(box(0, 0, 6, 4))
    clean = cleaned(points, values, **kwargs)
    return map_readings(clean.readings, clean, plan, domains, grid)


def grid_points(nx=7, ny=5):
    x, y = np.meshgrid(np.linspace(0.2, 5.8, nx), np.linspace(0.2, 3.8, ny))
    return np.column_stack([x.ravel(), y.ravel()])


def test_a_room_is_mapped_in_every_cell_and_nowhere_else():
    """A plain floor has mean and sd inside, NaN outside."""
    points = grid_points()
    surface = mapped(points, 50 + 5 * points[:, 0])
    inside = surface.grid.inside
    assert np.isfinite(surface.dataset["mean"].to_numpy()[inside]).all()
    assert np.isnan(surface.dataset["mean"].to_numpy()[~inside]).all()
    assert (surface.dataset["sd"].to_numpy()[inside] > 0).all()
    assert surface.refusals == {}


@pytest.mark.parametrize("count", [0, 1, 2])
def test_fewer_than_three_readings_are_refused_in_a_sentence(count):
    """Nobody draws a map through two points."""
    surface = mapped(grid_points()[:count].reshape(-1, 2), np.full(count, 61.0))
    assert np.isnan(surface.dataset["mean"].to_numpy()).all()
    assert "Room 1" in surface.refusals["D1"]
    assert surface.fields == {}


def test_three_readings_give_a_map_with_a_wide_interval():
    """Three readings are few: the interval is wide away from them."""
    surface = mapped([[1, 1], [5, 1], [3, 3]], [40.0, 60.0, 80.0])
    sd = surface.dataset["sd"].to_numpy()
    assert np.nanmax(sd) > 8.0


def test_equal_readings_give_a_flat_map_and_a_remark():
    """All equal is plausible on a dry floor, and said."""
    surface = mapped(grid_points(), 47.0)
    mean = surface.dataset["mean"].to_numpy()
    assert np.nanmin(mean) == pytest.approx(47.0)
    assert np.nanmax(mean) == pytest.approx(47.0)
    assert np.nanmax(surface.dataset["sd"].to_numpy()) < 1.0
    assert any("equal" in note for note in surface.notes)


def test_readings_on_one_line_are_mapped_with_a_remark():
    """Collinear readings say little about the rest of the floor."""
    points = np.column_stack([np.linspace(0.5, 5.5, 11), np.full(11, 0.5)])
    surface = mapped(points, 50 + 10 * np.sin(points[:, 0]))
    assert any("one line" in note for note in surface.notes)
    sd = surface.dataset["sd"].to_numpy()
    assert np.nanmean(sd[-3:]) > 1.5 * np.nanmean(sd[:3])


def test_a_room_without_readings_is_left_blank():
    """The other room is still mapped."""
    plan, domains, grid = floor(box(0, 0, 6, 4), box(7, 0, 9, 4))
    points = grid_points()
    clean = cleaned(points, 50 + points[:, 1])
    surface = map_readings(clean.readings, clean, plan, domains, grid)
    assert set(surface.fields) == {"D1"}
    assert "Room 2" in surface.refusals["D2"]
    assert np.isnan(surface.dataset["mean"].to_numpy()[grid.domain == 1]).all()


def test_flagged_readings_are_left_out():
    """A reading over a pipe does not pull the map up."""
    points = grid_points()
    values = np.full(len(points), 50.0) + np.arange(len(points)) % 3
    values[17] = 95.0
    plan, domains, grid = floor(box(0, 0, 6, 4))
    clean = cleaned(points, values)
    readings = clean.readings.copy()
    readings.loc[17, "flag"] = "spot"
    surface = map_readings(readings, clean, plan, domains, grid)
    assert np.nanmax(surface.dataset["mean"].to_numpy()) < 60.0
