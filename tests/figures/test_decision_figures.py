"""The figures of a decision say what they show, and nothing is cut off."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.dates import date2num
from matplotlib.figure import Figure
from matplotlib.legend import Legend
from matplotlib.text import Text

sys.path.insert(0, str(Path(__file__).resolve().parent))

from legibility import faults

from moisturemap.acceptance import DecideOptions, Decision, decide
from moisturemap.bundles import Study
from moisturemap.figures.depth_profile import depth_profile, uncounted_readings
from moisturemap.figures.limit_chart import limit_chart
from moisturemap.figures.map_of_tests import map_of_tests
from moisturemap.figures.plain_text import settle_texts
from moisturemap.figures.salt_check import salt_check
from moisturemap.figures.sheet import Format
from moisturemap.figures.signs_of_tests import STRUCK
from moisturemap.figures.style import PAPER
from moisturemap.language import speaking

AS_OF = datetime(2026, 3, 12, tzinfo=UTC)
"""Three days after the tests of the invented floor."""


@pytest.fixture(scope="module")
def decision(bakery: Study) -> Decision:
    """The decision on the invented bakery floor."""
    return decide(bakery.survey, bakery, options=DecideOptions(as_of=AS_OF))


def texts(figure: Figure) -> str:
    """All text of a figure."""
    FigureCanvasAgg(figure).draw()
    return " ".join(item.get_text() for item in figure.findobj(Text))


def require_nothing_cut_off(figure: Figure) -> None:
    """Every text is large enough, alone in its place and within the page."""
    assert not faults(figure)


@pytest.mark.thorough
@pytest.mark.parametrize("width", [80, 120])
def test_figures_of_a_decision_are_legible_when_narrow(
    decision: Decision, bakery: Study, width: float
) -> None:
    """Charts stack, keys and names wrap, nothing is lost."""
    form = Format(width_mm=width)
    require_nothing_cut_off(limit_chart(decision, form=form))
    require_nothing_cut_off(salt_check(decision, form))
    require_nothing_cut_off(map_of_tests(decision, bakery, form))
    require_nothing_cut_off(depth_profile(decision.spots[0], form))


@pytest.mark.thorough
def test_the_key_of_the_map_of_tests_explains_known_services(
    decision: Decision, bakery: Study
) -> None:
    """A line that nobody explains may be drilled into."""
    assert "known service" in texts(map_of_tests(decision, bakery))


@pytest.mark.thorough
def test_profile_shows_readings_limit_and_what_is_no_measurement(decision: Decision) -> None:
    """The spot, the sealed humidity, the limit, and that the bands are a model's."""
    spot = next(spot for spot in decision.spots if spot.governs)
    figure = depth_profile(spot)
    words = " ".join(texts(figure).split())
    wanted = (spot.spot, "Under a covering the slab would settle", "limit 85", "not a measurement")
    for phrase in wanted:
        assert phrase in words
    require_nothing_cut_off(figure)
    drawn = {tuple(np.asarray(line.get_ydata())) for line in figure.axes[0].lines}
    assert {(reading.depth_mm,) for reading in spot.readings} <= drawn


def test_profile_without_an_estimate_says_why(decision: Decision) -> None:
    """A heated layer has no sealed humidity; the figure says so instead of drawing one."""
    spot = replace(decision.spots[0], estimate=None, refusal="the layer is heated")
    assert "the layer is heated" in texts(depth_profile(spot))


def test_limit_chart_shows_every_test_or_says_why_not(decision: Decision) -> None:
    """Judged tests and sealed spots as rows, the rest below with the reason."""
    figure = limit_chart(decision)
    words = texts(figure)
    for hole in decision.tests["hole"]:
        assert hole in words
    assert "once sealed" in words
    assert "the depth profile" in words
    assert decision.verdict in words
    require_nothing_cut_off(figure)


def test_limit_chart_draws_what_counts_against_and_may_not_speak_for(decision: Decision) -> None:
    """H1b is too deep to be judged and reads above the limit: a row and a mark of its own."""
    against = decision.tests[decision.tests["counts_against"].eq("conflict")]
    assert list(against["hole"]) == ["H1b"]
    figure = limit_chart(decision)
    assert f"{against['value'].iat[0]:.3g}   counts against" in texts(figure)
    assert "only against it" in texts(figure)
    nothing = replace(decision, tests=decision.tests.assign(counts_against=""))
    assert "only against it" not in texts(limit_chart(nothing))


def struck(figure: Figure) -> list[tuple[float, float]]:
    """Where a figure strikes a mark through."""
    marks = figure.axes[0].lines
    return [tuple(one.get_xydata()[0]) for one in marks if one.get_marker() == STRUCK]


def not_valid_any_more(decision: Decision, hole: str, against: str) -> Decision:
    """The decision with the tests of a hole not valid."""
    tests = decision.tests.copy()
    tests.loc[tests["hole"] == hole, ["standing", "verdict"]] = "invalid", "not judged"
    tests.loc[tests["hole"] == hole, "counts_against"] = against
    return replace(decision, tests=tests)


@pytest.mark.parametrize(
    ("against", "words"), [("exceeds", "only against it"), ("", "not counted")]
)
def test_map_of_tests_strikes_through_what_is_not_valid(
    decision: Decision, bakery: Study, against: str, words: str
) -> None:
    """A test that is not valid is open, struck through and named in the key, whatever it read."""
    hole = "H2"
    place = decision.tests.loc[decision.tests["hole"] == hole, ["x", "y"]].to_numpy(float)[0]
    assert not struck(map_of_tests(decision, bakery))
    figure = map_of_tests(not_valid_any_more(decision, hole, against), bakery)
    assert struck(figure) == [tuple(place)]
    assert words in " ".join(texts(figure).split())
    here = [one for one in figure.axes[0].lines if tuple(one.get_xydata()[0]) == tuple(place)]
    assert {one.get_markerfacecolor() for one in here if one.get_marker() != STRUCK} == {PAPER}


def test_limit_chart_gives_what_is_not_valid_no_verdict(decision: Decision) -> None:
    """It reads above the limit: drawn struck through, and not called exceeding."""
    figure = limit_chart(not_valid_any_more(decision, "H2", "exceeds"))
    value = decision.tests.loc[decision.tests["hole"] == "H2", "value"].iat[0]
    assert value in [x for x, _ in struck(figure)]
    assert "not valid, above the limit" in texts(figure)


def test_profile_strikes_through_what_is_not_valid(decision: Decision) -> None:
    """The readings of a spot that are not valid."""
    spot = next(spot for spot in decision.spots if spot.governs)
    first, *others = dict.fromkeys(spot.spot.split(", "))
    one = not_valid_any_more(decision, first, "")
    figure = depth_profile(spot, uncounted=uncounted_readings(one, spot))
    (at,) = uncounted_readings(one, spot)
    assert struck(figure) == [at[::-1]]
    assert "read, not counted" in texts(figure)
    for hole in others:
        one = not_valid_any_more(one, hole, "")
    figure = depth_profile(spot, uncounted=uncounted_readings(one, spot))
    assert len(struck(figure)) == len(spot.readings)


def test_limit_chart_without_judged_tests_says_so(decision: Decision) -> None:
    """An empty chart is a sentence, not an empty frame."""
    none = replace(decision, tests=decision.tests.assign(verdict="not judged"), spots=())
    assert "no valid test" in texts(limit_chart(none))


def test_salt_chart_shows_each_instrument_with_its_salts(decision: Decision) -> None:
    """Each probe by name, each salt in the key, and the band of tolerance."""
    figure = salt_check(decision)
    words = texts(figure)
    for name in [*decision.checks["instrument"].unique(), "NaCl", "tolerance", "results set aside"]:
        assert name in words
    require_nothing_cut_off(figure)
    for ax, (_, checks) in zip(figure.axes, decision.checks.groupby("instrument"), strict=True):
        low, high = ax.get_xlim()
        assert all(low < date2num(when) < high for when in checks["when"])
        assert len(ax.collections) >= len(checks)


def test_days_of_an_axis_are_written_as_in_the_tables(decision: Decision) -> None:
    """The axis said "07", "08" and beside it "2026-Mar", in every language."""
    figure = salt_check(decision)
    figure.canvas.draw()
    told = [label.get_text() for ax in figure.axes for label in ax.get_xticklabels()]
    assert told
    assert all(re.fullmatch(r"\d{4}(-\d\d){0,2}", one) for one in told if one), told


def test_salt_chart_without_checks_says_so(decision: Decision) -> None:
    """No check at all is said in words."""
    assert "No instrument has a usable check" in texts(
        salt_check(replace(decision, checks=decision.checks.iloc[:0]))
    )


def test_map_of_tests_marks_places_and_judges_nothing_between(
    decision: Decision, bakery: Study
) -> None:
    """Each place carries its result; the spot that would be wet once sealed is not proven."""
    figure = map_of_tests(decision, bakery)
    words = texts(figure)
    for phrase in ("H1 82.7 %RH", "once sealed", "Limit 85", "not judged", "not proven"):
        assert phrase in words
    marks = [line for line in figure.axes[0].lines if line.get_marker() == "o"]
    hollow = [line for line in marks if line.get_markerfacecolor() != line.get_markeredgecolor()]
    assert [tuple(line.get_xydata()[0]) for line in hollow] == [(9.4, 0.8)]


@pytest.mark.thorough
def test_figures_of_a_decision_are_german_throughout(decision: Decision, bakery: Study) -> None:
    """Values beside a chart and lines of one label take the comma, and no word stays English."""
    with speaking("de"):
        for figure in (map_of_tests(decision, bakery), limit_chart(decision)):
            settle_texts(figure)
            words = texts(figure)
            assert "sealed" not in words
            assert not re.search(r"\d\.\d (?:%|  )", words)
            assert "82,7" in words


def test_a_covered_floor_has_no_profile_of_an_open_slab(decision: Decision) -> None:
    """No drying profile and no months after covering: the readings and where they even out to."""
    spot = next(spot for spot in decision.spots if spot.governs)
    assert "profile now" in drawn_names(depth_profile(spot))
    figure = depth_profile(spot, covered=True)
    assert len(figure.axes) == 1
    assert drawn_names(figure) == ["sealed, evened out", "read, with uncertainty"]
    assert "A covering lies on this floor" in " ".join(texts(figure).split())
    require_nothing_cut_off(figure)


def drawn_names(figure: Figure) -> list[str]:
    """What the key of a figure names."""
    (key,) = figure.findobj(Legend)
    return [text.get_text() for text in key.get_texts()]
