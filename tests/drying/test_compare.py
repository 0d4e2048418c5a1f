"""Change, rate, stagnant and rising areas on a floor with known courses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from invented_visits import Invented, Recipe, Wet, invent

from moisturemap.bundles import VisitComparison
from moisturemap.drying import DRIED, NOT_SHOWN, DryingOptions
from moisturemap.drying.wet_area import WetArea, wet_area_words
from moisturemap.errors import NotEnoughData, SurveyError
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.language import speaking, spoken
from moisturemap.survey import Instrument, InstrumentCheck
from moisturemap.units import Units
from moisturemap.workflow.drying import compare_visits


def _at(change, x: float, y: float, name: str = "mean") -> float:  # type: ignore[no-untyped-def]
    return float(change.dataset[name].sel(x=x, y=y, method="nearest"))


@pytest.mark.thorough
def test_the_change_matches_the_truth_within_its_sd(
    mixed: VisitComparison, mixed_floor: Invented
) -> None:
    """The kriged change and its sd cover the true change on the cells."""
    change = mixed.drying.change
    points = mixed.drying.levels[-1].grid.centres()
    truth = mixed_floor.truth(points, 14.0) - mixed_floor.truth(points, 0.0)
    inside = mixed.drying.levels[-1].grid.inside
    mean, sd = (change.dataset[name].to_numpy()[inside] for name in ("mean", "sd"))
    assert np.mean(np.abs(mean - truth) <= 1.645 * sd) >= 0.85


@pytest.mark.thorough
def test_what_stays_the_same_cancels(mixed: VisitComparison) -> None:
    """A pipe of fifteen units leaves no trace in the change."""
    assert abs(_at(mixed.drying.change, 5.25, 7.75)) < 2.5


@pytest.mark.thorough
def test_the_flood_is_shown_to_have_dried(mixed: VisitComparison) -> None:
    """Its cells carry the verdict."""
    assert _at(mixed.drying.change, 3.0, 3.5, "verdict") == DRIED


@pytest.mark.thorough
def test_the_stagnant_corner_is_found_by_the_third_visit(
    mixed: VisitComparison, mixed_floor: Invented
) -> None:
    """Overlap with the wet part of the corner is at least 0.6."""
    points = mixed.drying.levels[-1].grid.centres()
    corner = mixed_floor.recipe.wets[0].at(points, 14.0)
    truth = (mixed_floor.truth(points, 14.0) > 45.0) & (corner > 8.0)
    area = shapely.union_all(list(mixed.drying.stagnant.geometry))
    shown = shapely.contains_xy(area, *points.T)
    assert (truth & shown).sum() / (truth | shown).sum() >= 0.6


@pytest.mark.thorough
def test_the_leak_is_told_from_the_pipe(mixed: VisitComparison) -> None:
    """The leak rises; the pipe reads the same on every visit."""
    leak = shapely.Point(8.0, 2.0)
    assert [one.distance(leak) < 0.5 for one in mixed.drying.rising.geometry] == [True]
    lines = mixed.drying.features[mixed.drying.features["kind"] == "line"]
    assert list(lines["verdict"]) == ["steady"]
    assert "Locate it before drilling" in lines["sentence"].iloc[0]


@pytest.mark.thorough
def test_no_change_is_never_read_as_dry(mixed: VisitComparison) -> None:
    """The sentence of a change map states what could not have been seen."""
    assert "does not mean dry" in mixed.drying.change.sentence
    assert mixed.drying.change.detectable > 0


@pytest.mark.thorough
def test_nothing_is_shown_on_a_floor_that_does_not_change() -> None:
    """Wet floor that stays as it is shows neither drying nor rising."""
    floor = invent(Recipe(wets=(Wet(4, 4, 30, 1.5, 1e9),), days=(0.0, 10.0), width=8, depth=7), 2)
    change = compare_visits(floor.survey).drying.change
    verdict = change.dataset["verdict"].to_numpy()
    assert np.mean(verdict[np.isfinite(verdict)] == NOT_SHOWN) > 0.97


@pytest.mark.thorough
def test_a_dry_reference_takes_out_the_drift_of_the_meter() -> None:
    """Six units of drift vanish from the change when a dry reference was read."""
    recipe = Recipe(
        wets=(Wet(4, 4, 30, 1.5, 10.0),),
        days=(0.0, 10.0),
        offsets=(0.0, 6.0),
        dry_reference=10,
        width=8,
        depth=7,
    )
    drying = compare_visits(invent(recipe, 3).survey).drying
    assert abs(_at(drying.change, 7.5, 0.5)) < 2.0
    assert drying.series.offsets[0].how == "dry-reference"
    assert drying.change.fields["D1"].common_sd > 0


@pytest.mark.thorough
def test_a_check_block_takes_out_the_drift_of_the_meter() -> None:
    """The same by a check block of the instrument."""
    floor = invent(Recipe(days=(0.0, 10.0), offsets=(0.0, 5.0), width=8, depth=7), 3)
    visits = floor.survey.visits
    checks = tuple(
        InstrumentCheck(one.started, "check-block", 40.0 + 5.0 * i, 40.0)
        for i, one in enumerate(visits)
    )
    meter = Instrument("scanner", "relative", (0.0, 100.0), 1.0, checks=checks)
    survey = replace(floor.survey, instruments={"scanner": meter})
    drying = compare_visits(survey).drying
    assert {one.how for one in drying.series.offsets} == {"check-block"}
    assert abs(_at(drying.change, 4.0, 3.0)) < 2.0


@pytest.mark.thorough
def test_other_places_on_each_visit_are_joined_by_a_space_time_model() -> None:
    """Scattered places on each visit still give the change."""
    recipe = Recipe(
        wets=(Wet(4, 4, 32, 1.5, 10.0),), days=(0.0, 10.0), jitter=0.22, width=8, depth=7
    )
    floor = invent(recipe, 5)
    change = compare_visits(floor.survey).drying.change
    assert change.fields["D1"].how == "space-time"
    points = np.array([[4.0, 4.0], [7.0, 1.0]])
    truth = floor.truth(points, 10.0) - floor.truth(points, 0.0)
    found = [_at(change, *point) for point in points]
    sd = [_at(change, *point, "sd") for point in points]
    assert np.all(np.abs(found - truth) < 3.0 * np.array(sd))


def test_both_ways_agree_where_places_are_the_same() -> None:
    """Direct differences and the space-time model give the same change."""
    from moisturemap.drying.contrast import _space_time, krige_contrast
    from moisturemap.drying.panel import make_panel
    from moisturemap.drying.series import VisitSeries
    from moisturemap.mapping import FloorEmbedding
    from moisturemap.survey import clean_readings

    recipe = Recipe(wets=(Wet(3, 3, 30, 1.4, 10.0),), days=(0.0, 10.0), width=6, depth=6)
    survey = invent(recipe, 6).survey
    clean = [clean_readings(survey, one.id) for one in survey.visits]
    series = VisitSeries.of(clean, DryingOptions())
    panel, ways = make_panel(series, "D1"), FloorEmbedding(survey.plan.rooms[0].polygon)
    weights = series.change_weights()
    cells = np.array([[1.0, 1.0], [3.0, 3.0], [5.0, 2.0]])
    direct, sd = krige_contrast(panel, ways, weights, 0.0, 1.0).predict(cells)
    joint, _ = _space_time(panel, ways, weights, 0.0, 1.0).predict(cells)
    assert np.all(np.abs(direct - joint) < 1.5 * sd)


@pytest.mark.thorough
def test_visits_in_any_order_are_put_in_order(
    mixed_floor: Invented, mixed: VisitComparison
) -> None:
    """The change is the same, and a note says so."""
    found = compare_visits(mixed_floor.survey, visits=["v3", "v1", "v2"], study=mixed.latest)
    assert found.drying.change.visits[0] == "v1"
    assert any("order of time" in note for note in found.notes)


def test_a_visit_named_twice_is_refused(mixed_floor: Invented) -> None:
    """With its name."""
    with pytest.raises(SurveyError, match="twice"):
        compare_visits(mixed_floor.survey, visits=["v1", "v1"])


def test_an_area_that_rounds_to_nothing_is_told_by_its_bound() -> None:
    """It read "v1 0.0 m2 (0.0 to 0.0)"; also in feet and in German."""
    assert wet_area_words(WetArea("v1", 0.0, 0.0, 0.0, 0.01)) == "v1 less than 0.1 m2"
    assert wet_area_words(WetArea("v1", 0.0, 0.0, 0.0, 0.06)) == "v1 0.0 m2 (0.0 to 0.1)"
    told = "Expected floor above the wet level, the smallest patches counted, by visit: "
    told += "v1 less than 0.1 m2, v2 3.0 m2 (2.1 to 4.0)."
    assert "v1 less than 1" in Units("us").sentence(told)
    with speaking("de"):
        assert "v1 weniger als 0,1 m2, v2 3,0 m2 (2,1 bis 4,0)" in spoken(told)


@pytest.mark.thorough
def test_one_visit_gives_what_one_visit_can(mixed_floor: Invented, mixed: VisitComparison) -> None:
    """Wet area and air, no change, and a plain sentence."""
    drying = compare_visits(mixed_floor.survey, visits=["v3"], study=mixed.latest).drying
    assert drying.change is None
    assert len(drying.wet_areas) == 1
    assert any("from the second visit on" in text for text in drying.statements)


@pytest.mark.thorough
def test_equal_times_give_a_change_but_no_rate(mixed_floor: Invented) -> None:
    """Two visits at one time: what differs is not drying."""
    first = mixed_floor.survey.visits[0]
    visits = (first, replace(mixed_floor.survey.visits[1], started=first.started))
    readings = mixed_floor.survey.readings
    kept = readings[readings["visit"] != "v3"]
    survey = replace(mixed_floor.survey, visits=visits, readings=kept)
    found = compare_visits(survey)
    assert found.drying.change is not None
    assert found.drying.rate is None
    assert any("same time" in note for note in found.notes)
    assert any("no rate" in text for text in found.drying.statements)


@pytest.mark.thorough
def test_visits_without_times_give_a_change_but_no_rate(
    mixed_floor: Invented, mixed: VisitComparison
) -> None:
    """No start is no reason to refuse the change."""
    visits = tuple(replace(one, started=None) for one in mixed_floor.survey.visits)
    latest = replace(mixed.latest, clean=replace(mixed.latest.clean, visit=visits[-1]))
    found = compare_visits(replace(mixed_floor.survey, visits=visits), study=latest)
    assert found.drying.change.known
    assert found.drying.rate is None
    assert any("states no start" in note for note in found.notes)


@pytest.mark.thorough
def test_another_meter_is_left_out_with_a_word(
    mixed_floor: Invented, mixed: VisitComparison
) -> None:
    """Two scales are never compared."""
    readings = mixed_floor.survey.readings.copy()
    readings.loc[readings["visit"] == "v2", "instrument"] = "other"
    meters = {**mixed_floor.survey.instruments, "other": Instrument("other", scale=(0.0, 200.0))}
    survey = replace(mixed_floor.survey, readings=readings, instruments=meters)
    found = compare_visits(survey, study=mixed.latest)
    assert [one.id for one in found.drying.series.visits] == ["v1", "v3"]
    assert any("never compared" in note for note in found.notes)


@pytest.mark.thorough
def test_a_mistyped_value_is_set_aside(mixed_floor: Invented, mixed: VisitComparison) -> None:
    """One stray on one visit does not show as drying."""
    readings = mixed_floor.survey.readings.copy()
    stray = readings.index[
        (readings["visit"] == "v1") & (readings["x"] == 1.25) & (readings["y"] == 7.25)
    ]
    readings.loc[stray, "value"] = 95.0
    found = compare_visits(replace(mixed_floor.survey, readings=readings), study=mixed.latest)
    assert any("(1.25, 7.25)" in note for note in found.notes)
    assert abs(_at(found.drying.change, 1.25, 7.25)) < 4.0


@pytest.mark.thorough
def test_the_middle_of_a_growing_leak_is_no_stray() -> None:
    """It stands out more on each visit, and its neighbours rise with it."""
    leak = Wet(3.0, 3.0, 10.0, 0.6, 1e9, 2.0)
    recipe = Recipe(wets=(leak,), days=(0.0, 6.0, 13.0, 20.0), noise_sd=1.0)
    found = compare_visits(invent(recipe, 8).survey)
    assert not any("left out of the comparison" in note for note in found.notes)
    assert _at(found.drying.change, 3.0, 3.0) > 25.0
    assert found.drying.leak is not None


def test_no_readings_at_all_are_refused(mixed_floor: Invented) -> None:
    """In plain words."""
    survey = replace(mixed_floor.survey, readings=mixed_floor.survey.readings.iloc[:0])
    with pytest.raises(NotEnoughData, match="no visit has readings"):
        compare_visits(survey)


def test_no_wet_area_is_larger_than_the_floor() -> None:
    """Cells at slanting walls lie in part outside: a floor wet all over is wet on its own area."""
    recipe = Recipe(wets=(Wet(5, 4, 60, 60.0, 400.0),), days=(0.0, 7.0), width=7.3, depth=5.1)
    slanting = shapely.Polygon([(0, 0), (7.3, 0), (6.1, 5.1), (1.3, 5.1)])
    survey = invent(recipe, 5).survey
    inside = shapely.contains_xy(slanting, survey.readings["x"], survey.readings["y"])
    survey = replace(
        survey, plan=FloorPlan((Room("hall", slanting),)), readings=survey.readings[inside]
    )
    found = compare_visits(survey).drying
    assert found.change is not None
    assert sum(found.change.area_m2.values()) == pytest.approx(slanting.area)
    for one in found.wet_areas:
        assert one.low_m2 <= one.high_m2 <= slanting.area + 1e-6
    assert found.wet_areas[0].area_m2 > 0.95 * slanting.area
