"""Sweeps that contradict the grid they pass: they settle nothing, and are named."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from shapely.geometry import box

from moisturemap.anomalies import detect
from moisturemap.anomalies.calm import fit_calm
from moisturemap.anomalies.doubted import doubted_sweeps
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.search import search
from moisturemap.floorplan import FloorPlan, Room, domains
from moisturemap.scanning import confirming_sweeps, sweep_places
from moisturemap.survey import READING_COLUMNS, Instrument, Survey, Visit, clean_readings

LEVEL, NOISE = 45.0, 1.5
PLAN = FloorPlan((Room("hall", box(0, 0, 8, 6)),))
X, Y = np.meshgrid(np.arange(0.25, 8, 0.5), np.arange(0.25, 6, 0.5))
GRID = np.column_stack([X.ravel(), Y.ravel()])
TO_WALL = np.column_stack([np.full(7, 2.6), 0.13 + 0.1 * np.arange(7)])
ACROSS = np.column_stack([np.full(12, 2.6), 2.2 + 0.1 * np.arange(12)])
ALONG = np.column_stack([3.0 + 0.1 * np.arange(12), np.full(12, 3.0)])


def wall_strip(places):
    """Wet floor along the south wall, 0.4 m wide, seen through a footprint of 0.12 m."""
    return 22 + 43 / (1 + np.exp((places[:, 1] - 0.4) / 0.06))


def pipe(places):
    """A pipe midway between two rows of the grid, which hardly see it."""
    return 22 + 40 * np.exp(-0.5 * ((places[:, 1] - 3.0) / 0.13) ** 2)


def band(places):
    """Wet floor across the hall, 1.4 m wide."""
    return 22 + 40 / (1 + np.exp((np.abs(places[:, 1] - 2.75) - 0.7) / 0.06))


def scene(truth, *sweeps, turned: bool = False, wrong: bool = False) -> Scene:
    """A grid and some sweeps, keyed from the right end or from the other."""
    rng = np.random.default_rng(5)
    read = [np.round(truth(part) + rng.normal(0, NOISE, len(part))) for part in (GRID, *sweeps)]
    if turned:
        read[1:] = [values[::-1] for values in read[1:]]
    if wrong:
        read[0][np.hypot(*(GRID - (2.75, 2.75)).T).argmin()] += 45
    points, values = np.vstack([GRID, *sweeps]), np.concatenate(read)
    ones = np.ones(len(points))
    return Scene(points, values, ones, 0 * ones, 0.5, 0.12, 1 / 12, 100.0, 100.0, LEVEL)


@pytest.mark.parametrize(
    ("truth", "sweeps"),
    [(wall_strip, (TO_WALL,)), (band, (ACROSS,)), (pipe, (ALONG, ACROSS))],
)
def test_what_was_read_truly_is_not_doubted(truth, sweeps):
    """Nor is a sweep along a pipe that lies between two rows of the grid."""
    assert not doubted_sweeps(scene(truth, *sweeps))


def test_a_wrong_reading_of_the_grid_casts_no_doubt_on_its_sweeps():
    """Sweeps are read to find it."""
    plain = lambda places: np.full(len(places), 22.0)  # noqa: E731
    crossing = ALONG - np.array([0.8, 0.25])
    assert not doubted_sweeps(scene(plain, ACROSS, crossing, wrong=True))


def test_a_sweep_keyed_from_the_other_end_is_named_and_left_out_whole():
    """All of it: what it shows, wet or dry, it shows at the wrong place."""
    (one,) = doubted_sweeps(scene(wall_strip, TO_WALL, turned=True))
    assert one.turned
    assert one.low.all()
    assert "from the other end" in one.sentence
    assert "y 0.13 m to x 2.60 m, y 0.73 m" in one.sentence


def test_a_sweep_read_elsewhere_keeps_its_wet_readings():
    """What is drawn drier by it leaves the map, what is wet stays."""
    seen = scene(band, ACROSS)
    swept = np.arange(len(seen.points)) >= len(GRID)
    values = np.where(swept, 22.0, seen.values)
    values[-1] = 60.0
    (one,) = doubted_sweeps(replace(seen, values=values))
    assert not one.turned
    assert one.low.tolist() == [True] * 11 + [False]


@pytest.mark.parametrize("units", [(1.0, 0.0), (0.1, 0.0), (5.0, 30.0)])
def test_doubt_does_not_hang_on_the_zero_and_unit_of_the_scale(units):
    """A reading has no unit."""
    seen = scene(wall_strip, TO_WALL, turned=True)
    scale, shift = units
    other = replace(
        seen,
        values=scale * seen.values + shift,
        noise_floor=scale**2 * seen.noise_floor,
        span=scale * seen.span,
        top=scale * seen.top + shift,
        level=scale * LEVEL + shift,
    )
    (one,), (same,) = doubted_sweeps(seen), doubted_sweeps(other)
    assert one.sentence == same.sentence


def surveyed(turned: bool):
    """Cleaned readings of the wet wall with both of its sweeps."""
    other = TO_WALL + np.array([2.5, 0.0])
    seen = scene(wall_strip, TO_WALL, other, turned=turned)
    table = pd.DataFrame(seen.points, columns=["x", "y"]).assign(value=seen.values)
    table = table.assign(
        reading=np.arange(len(table)) + 1,
        visit="v1",
        instrument="sc",
        raw=table["value"].astype(str),
        censored="",
        room="",
        label="",
        repeat=0,
        time=pd.Series(pd.NaT, table.index, dtype="datetime64[ns, UTC]"),
        note="",
        source="a.csv",
        row=table.index.astype(str),
    )
    meter = Instrument("sc", "relative", (0.0, 100.0), 1.0)
    survey = Survey("hall", PLAN, {"sc": meter}, (Visit("v1"),), table[list(READING_COLUMNS)])
    return clean_readings(survey, "v1", domains=domains(PLAN))


def test_a_wet_wall_is_not_erased_by_sweeps_keyed_from_the_other_end():
    """Its readings stay contested, the sweeps leave the map, are named, and are asked for again."""
    parts = domains(PLAN)
    clean = surveyed(turned=True)
    found = detect(clean, PLAN, parts, levels={parts[0].key: LEVEL})
    flags = found.readings["flag"]
    row = (found.readings["y"] == 0.25) & (np.arange(len(flags)) < len(GRID))
    assert (flags[row] == "contested").all()
    assert (flags[len(GRID) :] == "doubted").all()
    assert len(found.doubted) == 2
    again = confirming_sweeps(found, PLAN)
    assert len(again) == 2
    assert len(sweep_places(again.geometry.iloc[0])) >= 5


def test_readings_in_one_row_are_searched():
    """Of a threshold or reveal drawn as a room: no slope across the row."""
    places = np.column_stack([0.05 + 0.1 * np.arange(60), np.full(60, 0.05)])
    values = np.round(32 + 38 * np.exp(-((places[:, 0] - 3.0) ** 2)))
    ones = np.ones(60)
    seen = Scene(places, values, ones, 0 * ones, 0.1, 0.12, 1 / 12, 100.0, 100.0, LEVEL)
    calm = fit_calm(seen)
    assert np.isfinite([calm.texture, calm.length, calm.noise]).all()
    assert not search(seen).things
