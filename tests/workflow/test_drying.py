"""The drying use case on the warehouse demo: what a technician is told."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
import xarray as xr

from moisturemap.bundles import DryingPlan, Study
from moisturemap.entry.options import drying_options
from moisturemap.results.drying_summary import describe_drying, export_drying, summarise_drying
from moisturemap.workflow.drying import compare_visits
from moisturemap.workflow.placement import plan_drying
from moisturemap.workflow.read import read_survey

pytestmark = pytest.mark.thorough

DEMO = Path(__file__).resolve().parents[2] / "demo_plans" / "warehouse"


@pytest.fixture(scope="module")
def plan() -> DryingPlan:
    """Three of the five visits, every other row, with machines, by a supplied dry level."""
    survey = read_survey(DEMO)
    rows = survey.readings[(survey.readings["y"] / 0.5).astype(int) % 2 == 0]
    return plan_drying(
        replace(survey, readings=rows),
        visits=["v1", "v3", "v5"],
        options=drying_options(dry_level=28.0),
    )


def test_the_stagnant_corner_and_the_leak_are_named(plan: DryingPlan) -> None:
    """Each with a sentence that says where."""
    areas = plan.comparison.drying.areas
    assert "north-east of hall" in areas[areas["kind"] == "stagnant"]["sentence"].iloc[0]
    assert "possible active leak" in areas[areas["kind"] == "rising"]["sentence"].iloc[0]


def test_the_pipe_is_told_from_the_leak(plan: DryingPlan) -> None:
    """The line at x = 3.2 m stays."""
    features = plan.comparison.drying.features
    assert "steady" in list(features["verdict"])


def test_badly_placed_machines_are_moved(plan: DryingPlan) -> None:
    """Both dehumidifiers go to the eastern half, where it is wet."""
    assert plan.equipment is not None
    moves = plan.equipment.placement.moves
    driers = moves[moves["kind"] == "dehumidifier"]
    assert list(driers["action"]) == ["move", "move"]
    assert (driers["new_x"] > 20).all()


def test_no_hole_is_planned_for_drying(plan: DryingPlan) -> None:
    """Nothing of it rests on the holes, and they take as long as the map."""
    assert plan.comparison.latest.drill_plan.empty
    assert not plan.comparison.latest.zones.empty


def test_the_summary_is_plain(plan: DryingPlan) -> None:
    """It survives JSON without not-a-number."""
    content = json.loads(json.dumps(summarise_drying(plan), allow_nan=False))
    assert [one["visit"] for one in content["visits"]] == ["v1", "v3", "v5"]
    assert {one["kind"] for one in content["areas"]} == {"stagnant", "rising"}
    assert content["equipment"]["moves"]


def test_the_words_hold_the_limits(plan: DryingPlan) -> None:
    """Relative, not airflow, cautions first, nothing called safe."""
    said = describe_drying(plan)
    for wanted in ("not a moisture content", "no simulation of airflow", "Electricity and water"):
        assert wanted in " ".join(said.split())
    assert "safe" not in said.casefold()


def test_everything_is_exported(plan: DryingPlan, tmp_path: Path) -> None:
    """Tables open as CSV, maps as NetCDF."""
    names = {path.name for path in export_drying(plan, tmp_path)}
    assert {
        "drying-moves.csv",
        "drying-areas.csv",
        "drying-wet-area.csv",
        "drying-air.csv",
        "drying-forecasts.csv",
        "drying-areas.geojson",
        "drying.nc",
        "drying.json",
    } <= names
    table = pd.read_csv(tmp_path / "drying-wet-area.csv")
    assert list(table["visit"]) == ["v1", "v3", "v5"]
    with xr.open_dataset(tmp_path / "drying.nc", engine="scipy") as dataset:
        assert dataset["level"].sizes["visit"] == 3
        assert "change_sd" in dataset


def test_calibrated_tests_give_a_forecast_by_physics_and_a_drive(bakery: Study) -> None:
    """The bakery has one visit and tests at three depths."""
    drying = compare_visits(bakery.survey, study=bakery).drying
    calibrated = [one for one in drying.forecasts if one.basis == "calibrated"]
    assert calibrated
    assert "calibrated tests at depth" in calibrated[0].sentence
    assert (drying.drives["drive_pa"] > 0).all()


def test_visits_of_one_time_or_ahead_of_the_clock_are_named_first() -> None:
    """A visit copied, or a clock not set: what fell may be said to have risen."""
    survey = read_survey(DEMO)
    first = survey.visit("v1").started
    visits = tuple(replace(one, started=first) if one.id == "v2" else one for one in survey.visits)
    rows = survey.readings[(survey.readings["y"] / 0.5).astype(int) % 3 == 0]
    survey = replace(survey, readings=rows, visits=visits)
    told = compare_visits(survey, visits=["v1", "v2"]).drying.statements
    assert "Visits v1 and v2 state the same start" in told[0]
    ahead = tuple(
        replace(one, started=one.started.replace(year=2162)) if one.id == "v2" else one
        for one in visits
        if one.started is not None
    )
    told = compare_visits(replace(survey, visits=ahead), visits=["v1", "v2"]).drying.statements
    assert "Visit v2 is dated 2162-" in told[0]
    assert "ahead of the clock of this computer" in told[0]
