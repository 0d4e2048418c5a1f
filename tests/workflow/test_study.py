"""The main path on floors whose making is known."""

from __future__ import annotations

import json

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point

from moisturemap.bundles import Study
from moisturemap.errors import Cancelled, SurveyError
from moisturemap.results.summary import summarise
from moisturemap.survey import USED_FLAGS
from moisturemap.workflow.study import study

PIPE = LineString([(0, 6.8), (7, 6.8)])
FLOOR_BOX = Point(3.15, 3.05)
LEAK = Point(9.1, 0.2)


def test_nothing_is_lost_on_the_way(bakery: Study) -> None:
    """Every reading comes out with a flag, and a reason where it is not used."""
    readings = bakery.readings
    assert list(readings["reading"]) == list(bakery.survey.readings_of()["reading"])
    aside = readings[~readings["flag"].isin(USED_FLAGS)]
    assert (aside["reason"].str.len() > 10).all()


def test_pipe_is_found_and_left_out(bakery: Study) -> None:
    """The line over the pipe is named and its readings do not make the map."""
    lines = bakery.anomalies[bakery.anomalies["kind"] == "line"]
    assert (lines.distance(PIPE) < 0.15).any()
    over = shapely.distance(bakery.readings.geometry.to_numpy(), PIPE) < 0.2
    assert bakery.readings.loc[over, "flag"].isin(USED_FLAGS).mean() < 0.1


def test_floor_box_and_stray_value_are_flagged(bakery: Study) -> None:
    """Metal under one place and a mis-keyed value are both set apart."""
    assert (bakery.anomalies.distance(FLOOR_BOX) < 0.3).any()
    stray = bakery.readings[bakery.readings["value"] == 3]
    assert not stray["flag"].isin(USED_FLAGS).any()


def test_leak_is_the_wettest_zone(bakery: Study) -> None:
    """Zone A covers the leaking edge; the pipe makes no zone."""
    first = bakery.zones.iloc[0]
    assert first.geometry.distance(LEAK) == 0
    assert not (bakery.zones.distance(Point(3.0, 6.8)) == 0).any()


def test_surface_is_nan_outside_and_finite_inside(bakery: Study) -> None:
    """The map ends at the walls."""
    surface = bakery.surface
    inside = bakery.moisture.grid.inside
    for name in ("mean", "sd", "p_wet"):
        values = surface[name].to_numpy()
        assert np.isfinite(values[inside]).all()
        assert np.isnan(values[~inside]).all()


def test_holes_keep_clear_of_services(bakery: Study) -> None:
    """No hole within 0.3 m of the flagged pipe or the known service."""
    known = [line.geometry for line in bakery.survey.plan.lines_of("known-service")]
    flagged = [row.geometry for row in bakery.anomalies.itertuples() if row.kind != "stray"]
    for hole in bakery.drill_plan.geometry:
        assert min(hole.distance(service) for service in known + flagged) >= 0.3 - 1e-9


@pytest.mark.thorough
def test_each_slab_is_a_surface_of_its_own(flat: Study) -> None:
    """The timber deck and the screed are two domains; thin walls do not part the screed."""
    assert sorted(len(domain.rooms) for domain in flat.domains) == [1, 4]
    assert set(flat.moisture.fields) == {domain.key for domain in flat.domains}


@pytest.mark.thorough
def test_wetness_crosses_a_thin_wall(flat: Study) -> None:
    """The burst in the bath reaches the hall through the wall that stands on one slab."""
    assert (flat.zones.distance(Point(7.95, 3.7)) == 0).any()


def test_summary_is_plain_json(bakery: Study) -> None:
    """The summary has no NaN and says what the numbers are not."""
    text = json.dumps(summarise(bakery), allow_nan=False)
    assert "not a moisture content" in text


@pytest.mark.thorough
def test_same_survey_gives_same_study(flat: Study) -> None:
    """Nothing in a study depends on chance."""
    again = study(flat.survey)
    assert again.surface.equals(flat.surface)
    assert again.drill_plan.drop(columns="geometry").equals(
        flat.drill_plan.drop(columns="geometry")
    )


def test_unknown_visit_is_refused_by_name(bakery: Study) -> None:
    """The refusal names the visits there are."""
    with pytest.raises(SurveyError, match=r"found 'v9'.*Allowed: v1"):
        study(bakery.survey, visit="v9")


def test_long_work_can_be_stopped(bakery: Study) -> None:
    """A progress callback may cancel."""

    def stop(phrase: str, fraction: float) -> None:
        if fraction > 0.05:
            raise Cancelled(phrase)

    with pytest.raises(Cancelled):
        study(bakery.survey, progress=stop)
