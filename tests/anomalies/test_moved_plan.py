"""Where a plan has its origin, how it is turned and in which unit it came change nothing found."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapely.affinity import affine_transform

from moisturemap import read_survey
from moisturemap.anomalies import detect
from moisturemap.floorplan import FloorPlan, domains
from moisturemap.survey import clean_readings
from moisturemap.zones import levels_by_domain, stated_level

DEMO = Path(__file__).parents[2] / "demo_plans" / "bakery"


@pytest.mark.parametrize(
    ("degrees", "shift"),
    [(0.0, (10.0, 10.0)), (0.0, (100.0, 50.0)), (33.0, (0.0, 0.0)), (90.0, (-40.0, 7.3))],
)
def test_a_pipe_stays_a_pipe_when_the_plan_is_moved(
    degrees: float, shift: tuple[float, float]
) -> None:
    """Ties of a regular grid fell either way by rounding, and the pipe was called wet floor."""
    survey = read_survey(DEMO)
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    matrix = (c, -s, s, c, *shift)
    rooms = tuple(
        replace(one, polygon=affine_transform(one.polygon, matrix)) for one in survey.plan.rooms
    )
    readings = survey.readings.copy()
    x, y = survey.readings["x"], survey.readings["y"]
    readings["x"] = (c * x - s * y + shift[0]).round(3)
    readings["y"] = (s * x + c * y + shift[1]).round(3)
    moved = replace(survey, plan=FloorPlan(rooms), readings=readings)
    visit, parts = moved.visits[0].id, domains(moved.plan)
    clean = clean_readings(moved, visit, domains=parts)
    level = stated_level(moved, visit)
    found = detect(clean, moved.plan, parts, levels=levels_by_domain(level, moved.plan)).table
    things = found[found["standing"] == "thing"].set_index("anomaly")
    assert things.loc["L1", "kind"] == "line"
    assert things.loc["L1", "odds"] > 1e3
