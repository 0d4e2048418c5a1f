"""What a reader of page one and of the tables must not be told wrongly."""

from __future__ import annotations

import dataclasses

import pytest

from moisturemap.bundles import Findings
from moisturemap.language import speaking, spoken
from moisturemap.report.compose import compose
from moisturemap.report.content import Content, Section, Table
from moisturemap.report.material import Material, Supplement
from moisturemap.report.options import ReportOptions
from moisturemap.report.sections.first_page import MOST_LETTERS, _steps, short, verdict
from moisturemap.report.sections.judged import said_once
from moisturemap.report.sections.scan import anomalies
from moisturemap.survey import USED_FLAGS

VERDICTS = ("meets", "exceeds", "not proven")


def material_of(findings: Findings, **options: str) -> Material:
    """The material of a report with its decision."""
    made = ReportOptions(**options) if options else ReportOptions()
    return Material(findings.study, made, supplement=Supplement(decision=findings.decision))


def table_of(content: Content, caption: str) -> Table:
    """The table of a caption."""
    found = [b for s in content.sections for b in s.blocks if isinstance(b, Table)]
    return next(one for one in found if one.caption == caption)


def said_in(section: Section) -> str:
    """Everything a section says."""
    return "\n".join(map(str, section.blocks))


@pytest.mark.thorough
def test_a_test_that_is_not_valid_has_no_verdict(findings: Findings) -> None:
    """It counts against the floor or not at all, and neither is a verdict."""
    table = table_of(compose(material_of(findings)), "Tests against the limit")
    titles = [column.title for column in table.columns]
    rows = [dict(zip(titles, row, strict=True)) for row in table.rows]
    invalid = [row for row in rows if row["Standing"] == "invalid"]
    assert invalid
    assert {row["Verdict"] for row in invalid} == {"counts against"}
    assert not {row["Verdict"] for row in invalid} & set(VERDICTS)


def test_page_one_says_for_which_day_and_that_it_is_a_draft(findings: Findings) -> None:
    """A report nobody issued is a draft on its first page, not only among its revisions."""
    assert findings.decision is not None
    day = findings.decision.as_of.date().isoformat()
    text = verdict(material_of(findings)).text
    assert f"Judged as of {day}." in text
    assert "This report is a draft" in text
    assert "draft" not in verdict(material_of(findings, issued_by="A. Tester")).text


@pytest.mark.thorough
def test_the_highest_reading_stands_beside_the_highest_of_the_map(findings: Findings) -> None:
    """The map evens out: what it shows at its highest was not read."""
    table = table_of(compose(material_of(findings)), "Wet zones")
    titles = [column.title for column in table.columns]
    study = findings.study
    used = study.readings[study.readings["flag"].isin(USED_FLAGS)]
    inside = used[used.geometry.within(study.zones.geometry.iloc[0])]
    told = float(table.rows[0][titles.index("Highest reading")])
    assert told == round(float(inside["value"].max()), 1)
    assert "Highest of the map" in titles


def test_what_was_not_looked_for_is_not_said_to_be_absent(findings: Findings) -> None:
    """Too few readings: no word of nothing standing out."""
    found = dataclasses.replace(
        findings.study.found,
        limits=("store: 12 readings are too few to tell; nothing was looked for there.",),
    )
    study = dataclasses.replace(findings.study, found=found)
    assert not len(study.anomalies)
    said = said_in(anomalies(material_of(dataclasses.replace(findings, study=study))))
    assert "Anomalies were not looked for" in said
    assert "stands out" not in said


def test_smaller_patches_are_among_the_steps_of_page_one(findings: Findings) -> None:
    """The text above asks for their test, so the list of what to do does."""
    wet = dataclasses.replace(findings.study.wet, small_m2=(0.8, 0.4))
    study = dataclasses.replace(findings.study, wet=wet)
    steps = _steps(material_of(dataclasses.replace(findings, study=study)))
    assert any("smaller patches above the wet level too: 2" in what for what, _ in steps)


def test_no_clause_with_a_measured_number_is_cut() -> None:
    """A wait without its days says nothing."""
    told = (
        "Plan the wait and test again before covering. From the reading of the tests until the "
        "sealed humidity meets 85 %RH: the middle estimate is 140 days; the 90% interval runs from "
        "25 days to 660 days. What lies below it is not recorded: without a membrane on ground "
        "this does not hold. This is said of H1."
    )
    assert len(told) > MOST_LETTERS
    cut = short(told, "under Result")
    assert "25 days to 660 days" in cut
    assert cut.endswith("… (in full under Result)")


def test_no_text_is_cut_inside_brackets() -> None:
    """What stands in brackets stands whole, or not at all."""
    told = (
        "Find the source of the water first and read the places again (those of zone A, read by "
        "the meter on its deep setting; those of zone B, read before the pump was moved; and the "
        "two along the wall, read last). Then plan the tests."
    )
    cut = short(told, "under Result")
    assert cut.count("(") == cut.count(")"), cut


@pytest.mark.parametrize("summary", [False, True])
def test_a_step_names_no_section_that_the_document_does_not_have(
    findings: Findings, summary: bool
) -> None:
    """The two pages for the client hold no drill plan."""
    study = findings.study
    unreached = ("Wet zone Q has no hole: no place keeps the clearance.",)
    study = dataclasses.replace(
        study, drilling=dataclasses.replace(study.drilling, unreached=unreached)
    )
    material = material_of(dataclasses.replace(findings, study=study))
    options = dataclasses.replace(material.options, summary=summary)
    told = " ".join(what for what, _ in _steps(dataclasses.replace(material, options=options)))
    assert ("under Drill plan" in told) is not summary
    assert ("see why in the technical report" in told) is summary


def test_what_many_tests_have_in_common_stands_once_above_them() -> None:
    """Nine invalid tests each said twice over what holds for all of them."""
    invalid = "not valid, so not judged; it counts against the floor all the same. "
    allowed = (
        "; the 3 allowed for a probe not checked before and after is added against the floor and no"
        " part of that chance"
    )
    chances = [f"{n} %RH is above the limit 85; chance: {n}%" for n in (91, 94, 97)]
    once, told = said_once([f"{invalid}{one}{allowed}" for one in chances])
    assert told == chances
    assert len(once) == 2
    assert once[1].startswith("Of each chance below: the 3 allowed for a probe not checked")
    with speaking("de"):
        assert "allowed" not in spoken(once[1])
        assert [spoken(one)[:8] for one in once] == ["Eine ung", "Zu jeder"]
    two = [f"{invalid}{one}{allowed}" for one in chances[:2]]
    assert said_once(two) == ([], two)
