"""Lines of anomalies lie on the floor."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon, box

from moisturemap.anomalies import detect
from moisturemap.anomalies.assemble import assemble, on_floor
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.rivals import Weighed
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.search import search
from moisturemap.floorplan import domains
from moisturemap.survey import clean_readings
from moisturemap.workflow.read import read_survey


def test_a_line_ends_at_the_wall():
    """What sticks out at both ends is cut off."""
    kept = on_floor(LineString([(-0.3, 2.0), (5.4, 2.0)]), box(0, 0, 5, 4))
    assert kept.bounds == pytest.approx((0.0, 2.0, 5.0, 2.0))


def test_a_line_below_a_wall_stays_whole():
    """A U-shaped floor: the pipe runs from one arm to the other."""
    floor = Polygon([(0, 0), (5, 0), (5, 4), (3, 4), (3, 1), (2, 1), (2, 4), (0, 4)])
    kept = on_floor(LineString([(0.5, 3.0), (4.5, 3.0)]), floor)
    assert kept.length == pytest.approx(4.0)
    assert kept.geom_type == "LineString"


def test_a_line_outside_stays_as_found():
    """Nothing found is lost."""
    line = LineString([(6, 0), (7, 0)])
    assert on_floor(line, box(0, 0, 5, 4)) == line


def test_a_broad_wet_rise_on_a_coarse_grid_stays_in_the_map(tmp_path):
    """A wet area some 2.5 m across, read every 0.7 m, is no fitting."""
    x, y = (a.ravel() for a in np.meshgrid(np.arange(0.35, 9, 0.7), np.arange(0.35, 4, 0.7)))
    noise = np.random.default_rng(5).normal(0, 1.5, x.size)
    value = np.round(30 + 40 * np.exp(-((x - 8) ** 2 + (y - 1) ** 2) / 2) + noise)
    rows = "".join(f"{a:.2f},{b:.2f},{v:.0f}\n" for a, b, v in zip(x, y, value, strict=True))
    (tmp_path / "plan.wkt").write_text("POLYGON ((0 0, 9 0, 9 4, 0 4, 0 0))")
    (tmp_path / "readings.csv").write_text("x,y,value\n" + rows)
    (tmp_path / "survey.toml").write_text(
        '[survey]\nname = "Bath"\n[plan]\nfile = "plan.wkt"\n[[instruments]]\nid = "meter"\n'
        'kind = "relative"\nscale = [0, 100]\n[[visits]]\nid = "v1"\n'
        "started = 2026-03-04T09:00:00+01:00\n"
        'readings = "readings.csv"\n'
    )
    survey = read_survey(tmp_path)
    parts = domains(survey.plan)
    found = detect(clean_readings(survey, "v1", domains=parts), survey.plan, parts)
    wet = found.readings[np.hypot(found.readings["x"] - 8, found.readings["y"] - 1) < 1.0]
    assert (wet["flag"] == "clear").mean() > 0.5


def test_calm_readings_beside_a_strong_narrow_pipe_are_not_flagged():
    """Its footprint is half of the usual one: what would be its flank reads dry floor."""
    x, y = (a.ravel() for a in np.meshgrid(np.arange(0.125, 9, 0.25), np.arange(0.125, 5, 0.25)))
    noise = np.random.default_rng(3).normal(0, 0.6, x.size)
    values = 25 + 50 * np.exp(-0.5 * ((y - 2.125) / 0.06) ** 2) + noise
    points, ones = np.column_stack([x, y]), np.ones(x.size)
    scene = Scene(points, values, ones, 0 * ones, 0.25, 0.12, 0.01, 100.0, 100.0, 60.0)
    course = Ridge.of(np.array([0.0, 2.125]), np.array([9.0, 2.125]), 0.12)
    pipe = Weighed(course, 50.0, 0.7, 100.0, 1.0, "wet")
    (found,) = assemble(replace(search(scene), things=(pipe,)), scene, box(0, 0, 9, 5), 2.0)
    assert set(found.disturbed) == set(np.flatnonzero(np.abs(y - 2.125) < 0.05))
