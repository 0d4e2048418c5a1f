"""What loggers and machine logs tell of a floor between its visits."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from invented_visits import START, Recipe, Wet, invent

import moisturemap as mm
from moisturemap.drying import AirHistory, KnownSlab
from moisturemap.drying.courses import draw_courses
from moisturemap.drying.depth_curves import curve_sentences, depth_curves
from moisturemap.drying.logged_air import mean_between, with_logged_air
from moisturemap.errors import OptionError
from moisturemap.psychrometrics import dew_point, vapour_pressure
from moisturemap.slab import near_surface
from moisturemap.survey import LoggerSeries, MachineEntry, MachineLog, Visit


def _logger(place: str, rh: list[float], warmth: list[float], **more: object) -> LoggerSeries:
    given = {"id": place, "began": START, "hours": tuple(12.0 * k for k in range(len(rh)))}
    depth = {"depth_mm": 40.0, "x": 3.0, "y": 3.0} if place == "hole" else {}
    read = {"place": place, "rh_pct": tuple(rh), "temperature_c": tuple(warmth)}
    return LoggerSeries(**(given | depth | read | more))  # type: ignore[arg-type]


def test_a_logger_refuses_what_it_cannot_mean() -> None:
    """No depth in a hole, times that fall, lengths that differ."""
    with pytest.raises(OptionError, match="needs the depth"):
        _logger("hole", [90.0, 89.0], [18.0, 18.0], depth_mm=None)
    with pytest.raises(OptionError, match="ascend"):
        _logger("air", [50.0, 50.0], [20.0, 20.0], hours=(1.0, 0.0))
    with pytest.raises(OptionError, match="one length"):
        _logger("air", [50.0, 50.0], [20.0])


def test_a_day_has_the_pressures_of_hole_and_air() -> None:
    """And a surface its distance from the dew point of the air."""
    hole = _logger("hole", [92.0] * 4, [18.0] * 4)
    air = _logger("air", [60.0] * 4, [20.0] * 4)
    surface = _logger("surface", [math.nan] * 4, [16.0, 13.0, 13.0, 16.0])
    curves = depth_curves((hole, air, surface), START).set_index(["logger", "day"])
    here = curves.loc[("hole", 0)]
    assert here["vapour_pressure_pa"] == pytest.approx(vapour_pressure(18.0, 92.0))
    assert here["drive_pa"] == pytest.approx(
        vapour_pressure(18.0, 92.0) - vapour_pressure(20.0, 60.0)
    )
    margin = curves.loc[("surface", 0), "least_dew_point_margin_k"]
    assert margin == pytest.approx(13.0 - dew_point(20.0, 60.0))
    said = " ".join(curve_sentences(curves.reset_index()))
    assert "within 1.0 K of the dew point" in said


def test_the_mean_over_time_leaves_gaps_out() -> None:
    """Entries stand for unequal times once a series is thinned."""
    day = timedelta(days=1)
    logger = _logger(
        "air",
        [40.0, 40.0, 80.0, 80.0],
        [20.0] * 4,
        hours=(0.0, 48.0, 50.0, 54.0),
        gaps=((48.0, 50.0),),
    )
    assert mean_between(logger, "rh_pct", START, START + 54 / 24 * day) == pytest.approx(
        (48 * 40 + 4 * 80) / 52
    )
    assert mean_between(logger, "rh_pct", START, START + 10 * day) is None


def test_logged_air_stands_for_the_time_between_visits() -> None:
    """A single reading on the visit does not."""
    visits = (
        Visit("a", START, "", 20.0, 50.0),
        Visit("b", START + timedelta(days=7), "", 20.0, 50.0),
    )
    logger = _logger("air", [70.0] * 15, [15.0] * 15)
    told = with_logged_air(visits, (logger,))
    assert told[0].air_rh_pct == 50.0
    assert told[1].air_rh_pct == pytest.approx(70.0)
    assert told[1].air_temperature_c == pytest.approx(15.0)


def test_what_leaves_the_depth_is_what_its_mean_loses() -> None:
    """The mean of the library is that of its profile, 1 where a slab was wet throughout."""
    library = near_surface()
    assert library.mean[:, 0].max() <= 1.0 + 1e-9
    wet = library.mean[:, 0] > 0.99
    assert 0.6 < wet.mean() < 0.8
    courses = draw_courses(KnownSlab(100.0, 1))
    members = np.arange(200, dtype=np.intp)
    mean = courses.mean_excess(np.array([0.0, 30.0, 3000.0]), AirHistory(), members)
    assert (np.diff(mean, axis=1) <= 1e-9).all()


@pytest.fixture(scope="module")
def logged() -> mm.VisitComparison:
    """A floor of four visits with a hole logger, air logger and two machines."""
    floor = invent(
        Recipe(wets=(Wet(3, 4, 40, 1.8, 25.0),), days=(0.0, 7.0, 14.0, 21.0), wet_level=42.0), 9
    )
    hours = tuple(float(h) for h in range(0, 24 * 22, 6))
    fall = tuple(94.0 - 0.3 * h / 24 for h in hours)
    constant = tuple(18.0 for _ in hours)
    hole = _logger("hole", list(fall), list(constant), hours=hours, x=3.0, y=4.0)
    air = _logger("air", [50.0] * len(hours), [20.0] * len(hours), hours=hours)
    logs = tuple(
        MachineLog(
            machine=name,
            entries=tuple(
                MachineEntry(when=START + timedelta(days=d), litres=8.0, energy_kwh=10.0)
                for d in range(1, 22)
            ),
        )
        for name in ("D1", "D2")
    )
    survey = replace(floor.survey, loggers=(hole, air), machine_logs=logs)
    return mm.compare_visits(survey)


@pytest.mark.thorough
def test_the_balance_is_an_upper_bound_in_words(logged: mm.VisitComparison) -> None:
    """336 litres, and what the courses say left the floor."""
    balance = logged.drying.logs.balance
    assert balance is not None
    assert balance.taken_l == pytest.approx(336.0)
    assert 0.0 < balance.low_l < balance.left_l < balance.high_l
    assert "upper bound" in balance.sentence
    machines = logged.drying.logs.machines.set_index("machine")
    assert machines.loc["D1", "litres_per_kwh"] == pytest.approx(0.8)


@pytest.mark.thorough
def test_a_hole_logger_is_said_to_be_no_test(logged: mm.VisitComparison) -> None:
    """Its course is told, and that acceptance rests on tests."""
    said = [text for text in logged.drying.statements if text.startswith("Logger hole")]
    assert "falling by 2.1 %RH a week" in said[0]
    assert any("no test by a standard" in text for text in logged.drying.statements)


@pytest.mark.thorough
def test_less_taken_out_than_left_the_floor_is_said(logged: mm.VisitComparison) -> None:
    """Then air carried it off, or the floor dries more slowly than thought."""
    from moisturemap.drying.water_balance import water_balance

    log = MachineLog(
        machine="D1", entries=(MachineEntry(when=datetime(2026, 3, 3, tzinfo=UTC), litres=0.01),)
    )
    span = (START, START + timedelta(days=21))
    found = water_balance((log,), logged.drying.forecasts, 20.0, span)
    assert found is not None
    assert "Less was taken out" in found.sentence
