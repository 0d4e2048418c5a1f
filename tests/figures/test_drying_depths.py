"""Humidity at depth over the visits: loggers and tests against the limit of the floor."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "drying"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from invented_visits import START, Recipe, Wet, invent
from legibility import faults
from matplotlib.figure import Figure
from matplotlib.text import Text

import moisturemap as mm
from moisturemap.drying import depth_courses
from moisturemap.figures import Format
from moisturemap.figures.drying_depths import depth_figure
from moisturemap.figures.signs_of_tests import STRUCK
from moisturemap.results.visit_layers import summarise_comparison
from moisturemap.survey import Limit, LoggerSeries, Survey
from moisturemap.units import Units


def _logger(name: str, depth: float, rh: float) -> LoggerSeries:
    """Ten days of a slow fall, nothing recorded from the fourth to the seventh."""
    hours = np.r_[0.0:96.0:6.0, 168.0:264.0:6.0]
    return LoggerSeries(
        id=name,
        place="hole",
        began=START,
        hours=tuple(hours.tolist()),
        rh_pct=tuple((rh - 0.4 * hours / 24.0).tolist()),
        temperature_c=(18.0,) * hours.size,
        x=3.0,
        y=3.0,
        depth_mm=depth,
        gaps=((90.0, 168.0),),
    )


@pytest.fixture(scope="module")
def followed() -> mm.VisitComparison:
    """A hall with two loggers in holes and a hole that was tested twice."""
    survey = invent(Recipe(wets=(Wet(3, 3, 34, 1.5, 9.0),), days=(0.0, 10.0)), 3).survey
    rows = [
        dict.fromkeys(survey.tests.columns) | {"hole": "T1", "x": 5.0, "y": 4.0, **one}
        for one in ({"value": 91.0, "read": _day(1)}, {"value": 88.0, "read": _day(9)})
    ]
    tests = pd.DataFrame(rows).assign(method="in-situ-rh", depth_mm=40.0, unit="%RH", visit="v2")
    survey = replace(
        survey,
        loggers=(_logger("deep", 80.0, 95.0), _logger("flat", 20.0, 90.0)),
        limit=Limit("in-situ-rh", 85.0, "%RH", "data sheet"),
    )
    found = mm.compare_visits(survey)
    return replace(found, survey=replace(survey, tests=tests[list(survey.tests.columns)]))


def _day(day: float) -> datetime:
    return START + timedelta(days=day)


@pytest.mark.thorough
def test_courses_stand_by_depth_with_their_days(followed: mm.VisitComparison) -> None:
    """The shallowest first; a day's mean at its middle, tests at their own time."""
    flat, tested, deep = depth_courses(followed.drying, followed.survey)
    assert [one.depth_mm for one in (flat, tested, deep)] == [20.0, 40.0, 80.0]
    assert tested.day == pytest.approx([1.0, 9.0])
    assert tested.rh == pytest.approx([91.0, 88.0])
    assert flat.day[0] == 0.5
    assert (flat.low <= flat.rh).all()
    assert (flat.rh <= flat.high).all()


@pytest.mark.thorough
def test_pages_get_the_courses_with_visits_and_limits(followed: mm.VisitComparison) -> None:
    """What the app draws is what the figure draws, in plain types."""
    told = json.loads(json.dumps(summarise_comparison(followed)["depths"], allow_nan=False))
    assert [one["day"] for one in told["visits"]] == [0.0, 10.0]
    assert told["limits"] == [{"rooms": "", "value": 85.0}]
    drawn = depth_courses(followed.drying, followed.survey)
    assert [one["name"] for one in told["courses"]] == [one.name for one in drawn]
    assert [one["logged"] for one in told["courses"]] == [True, False, True]
    assert told["courses"][1]["rh"] == [91.0, 88.0]


@pytest.mark.parametrize("form", [Format(), Format(width_mm=84, height_mm=78, units=Units("us"))])
def test_the_figure_is_legible_and_parts_lines_at_gaps(
    followed: mm.VisitComparison, form: Format
) -> None:
    """The limit has its line and name, and no line is drawn over days nobody recorded."""
    figure = depth_figure(followed.drying, followed.survey, form)
    assert faults(figure) == []
    (ax,) = figure.axes
    assert any(line.get_ydata()[0] == 85.0 for line in ax.lines)
    assert "limit 85 %RH" in [text.get_text() for text in ax.texts]
    solid = [line for line in ax.lines if np.isnan(np.asarray(line.get_ydata())).any()]
    assert len(solid) == 2


def test_a_test_that_is_not_valid_is_struck_through(followed: mm.VisitComparison) -> None:
    """Open, with a line of the key; where nobody judged the tests the caption says so."""
    key = str(followed.survey.tests["test"].iloc[0])
    plain = depth_figure(followed.drying, followed.survey)
    figure = depth_figure(followed.drying, followed.survey, uncounted={key})
    for one, times in ((plain, 0), (figure, 1)):
        marks = [line for line in one.axes[0].lines if line.get_marker() == STRUCK]
        assert bool(marks) == bool(times)
        assert words_of(one).count("test not counted") == times
        assert words_of(one).count("is not judged here") == 1 - times
    assert faults(figure) == []


def words_of(figure: Figure) -> str:
    """All words of a figure."""
    return " ".join(" ".join(text.get_text() for text in figure.findobj(Text)).split())


@pytest.mark.thorough
def test_a_floor_nobody_followed_at_depth_has_no_such_figure() -> None:
    """One test on one day is no course."""
    survey: Survey = invent(Recipe(days=(0.0, 7.0)), 3).survey
    assert depth_courses(mm.compare_visits(survey).drying, survey) == []


def test_of_many_places_the_most_humid_are_drawn_at_all_their_depths(
    followed: mm.VisitComparison,
) -> None:
    """Five holes read at two depths each, loggers beside: no depth of a drawn hole is missing."""
    survey = followed.survey
    rows = [
        survey.tests.iloc[0].to_dict()
        | {"hole": f"N{k}", "depth_mm": depth, "value": value + 3 * k}
        for k in range(1, 6)
        for depth, value in ((40.0, 72.0), (70.0, 75.0))
    ]
    survey = replace(survey, loggers=(), tests=pd.DataFrame(rows)[list(survey.tests.columns)])
    logs = followed.drying.logs
    drying = replace(followed.drying, logs=replace(logs, curves=logs.curves.head(0)))
    figure = depth_figure(drying, survey)
    drawn = [text.get_text() for text in figure.findobj(Text)]
    for k in range(1, 6):
        told = [any(f"N{k}, {depth} mm" in one for one in drawn) for depth in (40, 70)]
        assert told == [k > 1] * 2
    assert "2 less humid ones are not drawn." in " ".join(" ".join(drawn).split())
