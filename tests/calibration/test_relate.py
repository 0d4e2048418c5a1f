"""The scan is related to the tests only where that is earned."""

from datetime import UTC, datetime

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from scipy.stats import t as student
from shapely.geometry import box

from moisturemap.calibration import RelateOptions, relate
from moisturemap.floorplan import FloorPlan, Room, Slab
from moisturemap.survey import Survey, Visit

VISIT = Visit("v1", datetime(2026, 3, 9, 10, tzinfo=UTC))
PLAN = FloorPlan(
    (
        Room("shop", box(0, 0, 20, 6), Slab("concrete slab", 150.0)),
        Room("store", box(21, 0, 30, 6), Slab("concrete slab", 150.0)),
        Room("bath", box(0, 7, 20, 9), Slab("cement screed", 65.0)),
    )
)


def scan(values, room="shop", x0=1.0, y0=3.0, each=4, flag="clear"):
    """Readings, `each` of them round a place for every value, 2 m apart."""
    rows = [
        {
            "x": x0 + 2 * i + 0.1 * np.cos(k),
            "y": y0 + 0.1 * np.sin(k),
            "value": value,
            "room": room,
            "flag": flag,
        }
        for i, value in enumerate(values)
        for k in range(each)
    ]
    frame = pd.DataFrame(rows)
    return gpd.GeoDataFrame(frame, geometry=gpd.points_from_xy(frame["x"], frame["y"]))


def results(values, x0=1.0, y0=3.0, visit="v1", method="in-situ-rh"):
    """A test at the place of each scan value."""
    return pd.DataFrame(
        [
            {
                "test": i + 1,
                "hole": f"H{i + 1}",
                "visit": visit,
                "x": x0 + 2 * i,
                "y": y0,
                "method": method,
                "value": value,
            }
            for i, value in enumerate(values)
        ]
    )


def related(x, y, **options):
    """The curves of one slab with scan values x and test results y."""
    survey = Survey("invented", PLAN, {}, (VISIT,), pd.DataFrame(), results(y))
    return relate(survey, VISIT, scan(x), options=RelateOptions(**options))


def test_curve_is_earned_when_tests_follow_the_scan():
    """Five tests in the order of the scan earn a curve, shown between the holes only."""
    (curve,) = related([20, 35, 50, 65, 80], [72, 76, 81, 84, 90])
    assert curve.earned
    assert curve.rooms == ("shop", "store")
    assert list(curve.shown(np.array([10.0, 20.0, 55.0, 80.0, 95.0]))) == [0, 1, 1, 1, 0]
    assert "as a guide only" in curve.reason


@pytest.mark.parametrize(("others", "half"), [(10.0, "wetter"), (95.0, "drier")])
def test_holes_on_one_half_of_the_scan_relate_nothing(others, half):
    """Holes chosen for their high (or low) readings were chosen for the luck of them too."""
    survey = Survey("invented", PLAN, {}, (VISIT,), pd.DataFrame(), results([72, 76, 81, 84, 90]))
    holes = scan([40, 45, 50, 55, 60])
    rest = scan([others] * 9, x0=1.0, y0=5.0)
    (curve,) = relate(survey, VISIT, pd.concat([holes, rest]))
    assert not curve.earned
    assert f"{half} half of the scan" in curve.reason


def test_the_interval_is_wider_where_few_tests_earned_the_curve():
    """Shown only where it looked good: four tests pay for that, twenty hardly do."""
    (few,) = related([20, 35, 50, 65], [72, 76, 81, 84])
    (many,) = related(list(range(20, 100, 8)), [72 + 2.1 * i + (i % 2) for i in range(10)])
    for curve, factor in ((few, 2.70), (many, 1.23)):
        low, high = curve.interval(np.array([50.0]))
        _, scale = curve.predict(np.array([50.0]))
        width = 2 * scale[0] * student.ppf(0.975, curve.count - 2)
        assert high[0] - low[0] == pytest.approx(factor * width)


def test_three_tests_are_too_few_for_a_curve():
    """With three tests even a perfect order proves nothing, and no regression is made."""
    (curve,) = related([20, 50, 80], [72, 81, 90])
    assert not curve.earned
    assert np.isnan(curve.slope)
    assert "too few" in curve.reason


def test_tests_that_do_not_follow_the_scan_are_refused_with_the_reason():
    """A weak order is refused by its rank p; nothing is shown, but the regression is there."""
    (curve,) = related([20, 35, 50, 65, 80], [81, 72, 90, 76, 84])
    assert not curve.earned
    assert "exact one-sided p" in curve.reason
    assert not curve.shown(np.array([50.0])).any()
    assert np.isfinite(curve.slope)


def test_tests_that_fall_with_the_scan_are_refused():
    """A falling relation is never shown, however strong."""
    (curve,) = related([20, 35, 50, 65, 80], [90, 84, 81, 76, 72])
    assert not curve.earned
    assert "do not rise" in curve.reason


def test_each_material_and_method_has_its_own_curve():
    """Screed and slab, in-situ and hood, are never put on one line."""
    other = results([70, 74, 78, 82], y0=8.0)
    hood = results([60, 64], method="hood-rh")
    everything = pd.concat([results([72, 76, 81, 84, 90]), other, hood], ignore_index=True)
    readings = pd.concat([scan([20, 35, 50, 65, 80]), scan([30, 40, 50, 60], "bath", y0=8.0)])
    survey = Survey("invented", PLAN, {}, (VISIT,), pd.DataFrame(), everything)
    curves = relate(survey, VISIT, gpd.GeoDataFrame(readings))
    assert [(c.slab, c.quantity.key, c.count) for c in curves] == [
        ("150 mm concrete slab", "rh-in-situ", 5),
        ("65 mm cement screed", "rh-in-situ", 4),
        ("150 mm concrete slab", "rh-hood", 2),
    ]


def test_tests_of_another_visit_are_left_out():
    """What a shallow scan sees of the depth changes with time, so visits never mix."""
    survey = Survey("invented", PLAN, {}, (VISIT,), pd.DataFrame(), results([72, 76], visit="v0"))
    assert relate(survey, VISIT, scan([20, 35])) == ()


def test_disturbed_readings_are_left_out():
    """A reading over a pipe does not stand for the moisture at the hole."""
    readings = pd.concat([scan([20, 35, 50, 65]), scan([99, 99, 99, 99], flag="line")])
    survey = Survey("invented", PLAN, {}, (VISIT,), pd.DataFrame(), results([72, 76, 81, 84]))
    (curve,) = relate(survey, VISIT, gpd.GeoDataFrame(readings))
    assert list(curve.pairs["scan"]) == [20, 35, 50, 65]


def test_few_readings_at_the_holes_are_said():
    """One reading at a hole is used, and named."""
    survey = Survey("invented", PLAN, {}, (VISIT,), pd.DataFrame(), results([72, 76, 81, 84]))
    (curve,) = relate(survey, VISIT, scan([20, 35, 50, 65], each=1))
    assert list(curve.pairs["scans"]) == [1, 1, 1, 1]
    assert any("fewer than 4" in remark for remark in curve.remarks)


def test_noise_of_reading_is_said_as_attenuation():
    """The share of the spread that is noise flattens the slope, and is stated."""
    (curve,) = related([20, 22, 24, 26, 28], [72, 76, 81, 84, 90], reading_sd=3.0)
    assert curve.attenuation == pytest.approx(1 - (9 / 4) / 10)
    assert any("noise of reading" in remark for remark in curve.remarks)


def test_prediction_interval_is_wider_away_from_the_holes_mean():
    """The interval widens with the distance from the mean scan."""
    (curve,) = related([20, 35, 50, 65, 80], [72, 76, 81, 84, 90])
    low, high = curve.interval(np.array([50.0, 80.0]))
    assert (high - low)[1] > (high - low)[0]
