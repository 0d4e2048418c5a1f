"""Zones and p_wet over what is contested."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import CONTESTED, Instrument, ScanSettings, Survey, Visit
from moisturemap.survey.survey import READING_COLUMNS
from moisturemap.workflow.study import study


def row_of_high_readings():
    """A hall read every metre, with one row that may be a pipe as well as a band of water."""
    x, y = (a.ravel() for a in np.meshgrid(np.arange(0.5, 12), np.arange(0.5, 9)))
    noise = np.random.default_rng(2).normal(0, 1.0, x.size)
    patch = 40 * np.exp(-0.5 * (np.hypot(x - 10, y - 7.5) / 1.2) ** 2)
    value = np.round(18 + noise + patch + 30 * (np.abs(y - 3.5) < 0.1) * (x < 9))
    frame = pd.DataFrame({"x": x, "y": y, "value": value})
    frame = frame.assign(visit="v1", instrument="s", raw="", censored="", room="hall", label="")
    frame = frame.assign(repeat=1, time=None, note="", source="r.csv", row=np.arange(x.size) + 2)
    frame.insert(0, "reading", np.arange(1, x.size + 1))
    return Survey(
        name="hall",
        plan=FloorPlan((Room("hall", box(0, 0, 12, 9)),)),
        instruments={"s": Instrument("s", "relative", (0.0, 100.0), 1.0)},
        visits=(Visit("v1"),),
        readings=frame[list(READING_COLUMNS)],
        scan=ScanSettings(wet_level=35.0),
    )


@pytest.fixture(scope="module")
def found():
    return study(row_of_high_readings())


def test_a_contested_row_is_drawn_as_a_contested_zone(found):
    """Beside a patch that is wet whatever the row is."""
    assert set(found.zones["standing"]) == {"wet", "contested"}
    row = found.readings[(found.readings["y"] - 3.5).abs() < 0.1]
    assert (row["flag"] == CONTESTED).sum() >= 6
    assert (found.anomalies["standing"] == "contested").any()


def test_p_wet_is_the_mean_over_the_outcomes(found):
    """Near one were it surely wet, near none were it surely a pipe: between the two."""
    p = found.surface["p_wet"].interp(x=4.5, y=3.5).item()
    odds = found.anomalies.loc[found.anomalies["kind"] == "line", "odds"].iloc[0]
    assert odds == 1.0
    assert p == pytest.approx(1 / (1 + odds), abs=0.1)
    assert found.surface["mean"].interp(x=4.5, y=3.5).item() > 35


def test_the_drill_plan_keeps_clear_of_what_is_contested(found):
    """As of a thing."""
    for hole in found.drill_plan.geometry:
        for shape in found.anomalies.geometry:
            assert hole.distance(shape) >= 0.3 - 1e-9
