"""What a reader for the other side of a dispute would fault."""

from __future__ import annotations

import dataclasses
import re

import pandas as pd
import pytest

from moisturemap.bundles import DryingPlan, Findings
from moisturemap.report import Material, Supplement, compose
from moisturemap.report.content import Content, Table
from moisturemap.workflow.judge import judge_or_map

from .test_compose import content_of, tables, texts

pytestmark = pytest.mark.thorough


def columns_of(table: Table) -> list[str]:
    """Return the headings of a table."""
    return [one.title for one in table.columns]


def test_what_holds_for_the_tested_places_is_named(findings: Findings) -> None:
    """Read behind "not proven", "it" is no result."""
    said = texts(content_of(findings))
    assert "The results hold for the tested places" in said
    assert "It holds for the tested places" not in said


def test_places_are_not_called_readings_nor_left_out(findings: Findings) -> None:
    """Repeats count once in the check; what is left out of the map is another matter."""
    said = texts(content_of(findings))
    assert "each predicted from all others" in said
    assert "left-out readings" not in said


def test_a_value_as_read_is_not_headed_like_a_result(findings: Findings) -> None:
    """The result carries corrections, the record does not."""
    heads = columns_of(tables(content_of(findings))["Tests as recorded"])
    assert "As read" in heads
    assert "Result" not in heads


def test_known_dry_readings_of_the_survey_are_not_said_to_be_missing(findings: Findings) -> None:
    """They hold for all visits and stand below the table."""
    survey = findings.study.survey
    scan = dataclasses.replace(survey.scan, dry_reference=(30.0, 31.0, 29.0))
    visits = tuple(dataclasses.replace(one, dry_reference=()) for one in survey.visits)
    given = dataclasses.replace(survey, scan=scan, visits=visits)
    study = dataclasses.replace(findings.study, survey=given)
    content = content_of(dataclasses.replace(findings, study=study))
    table = tables(content)["Conditions on the visits"]
    at = columns_of(table).index("Known-dry readings")
    assert {row[at] for row in table.rows} == {"below, for the survey"}


def test_the_day_of_the_verdict_is_printed(findings: Findings) -> None:
    """The age of a test is told for a day that may not be that of the report."""
    assert findings.decision is not None
    assert f"'Judged as of', '{findings.decision.as_of:%Y-%m-%d}'" in texts(content_of(findings))
    assert "Judged as of" not in texts(content_of(findings, decided=False))


def test_tests_that_the_scan_does_not_follow_are_named_among_the_limits(findings: Findings) -> None:
    """No relation was shown, though tests were made."""
    assert findings.decision is not None
    assert not any(one.earned for one in findings.decision.curves)
    assert "the tests made do not show it" in texts(content_of(findings))


def test_days_of_a_forecast_say_what_they_count_from(two_visits: DryingPlan) -> None:
    """A forecast by tests counts from their reading, not from the latest visit."""
    supplement = Supplement(drying=two_visits, pictures=())
    content: Content = compose(Material(two_visits.comparison.latest, supplement=supplement))
    note = tables(content)["Forecasts"].note
    assert "Days count from the latest visit" in note
    assert "from the reading of the tests" in note


def test_an_invalid_test_is_called_so_where_page_one_cuts_its_reason(findings: Findings) -> None:
    """What it read counts against the floor; a reader must not take it for a valid result."""
    survey = findings.study.survey
    tests = survey.tests.assign(placed=survey.tests["read"] - pd.Timedelta(hours=1))
    tests["drilled"] = tests["placed"]
    early = judge_or_map(dataclasses.replace(survey, tests=tests), as_of=findings.decision.as_of)  # type: ignore[union-attr]
    assert early.decision is not None
    assert early.decision.tests["standing"].eq("invalid").all()
    assert any(one.startswith("H1 at 40 mm (not valid): ") for one in early.decision.reasons)


def test_values_in_words_are_as_fine_as_in_the_table_and_margins_have_a_unit(
    findings: Findings,
) -> None:
    """88.0 in one place and 88 in another look like two results; a bare number like a share."""
    survey = findings.study.survey
    tests = survey.tests.assign(value=[83.93, 70.0, 72.0])  # 84.0 by the checks
    told = judge_or_map(dataclasses.replace(survey, tests=tests), as_of=findings.decision.as_of)  # type: ignore[union-attr]
    content = content_of(told)
    table = tables(content)["Tests against the limit"]
    shown = table.rows[0][columns_of(table).index("Result ± U (k = 2)")]
    assert shown.startswith("84.0 ±")
    said = texts(content)
    assert "84.0 %RH (83.93 as read, +0.07 by the checks)" in said
    assert re.search(r"1 %RH below it, where its uncertainty asks for [\d.]+ %RH", said)


def test_places_chosen_on_purpose_are_not_called_stronger_evidence(findings: Findings) -> None:
    """A share that holds for random places says nothing of others, neither more nor less."""
    said = texts(content_of(findings))
    assert "that figure does not apply to them" in said
    assert "stronger evidence" not in said


def test_readings_far_off_the_model_are_named_beside_what_is_worked_out(findings: Findings) -> None:
    """The interval of a model says nothing for readings that it does not fit."""
    assert findings.decision is not None
    spot = next(one for one in findings.decision.spots if one.estimate is not None)
    off = "95 %RH at 40 mm lies 9 %RH above the profile of a drying slab that fits best"
    estimate = dataclasses.replace(spot.estimate, remarks=(off,))  # type: ignore[type-var]
    decision = dataclasses.replace(
        findings.decision, spots=(dataclasses.replace(spot, estimate=estimate),)
    )
    said = texts(content_of(dataclasses.replace(findings, decision=decision)))
    assert f"'Why, {spot.spot}', '{spot.why}. {off}'" in said
