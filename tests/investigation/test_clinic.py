"""The whole investigation on the invented clinic, whose heating pipe leaks."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
from shapely.geometry import Point

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "figures"))

from studied import studied

import moisturemap as mm
from moisturemap.errors import SurveyError
from moisturemap.figures.investigation_figures import investigation_figures
from moisturemap.investigation import (
    CAUSES,
    EVIDENCE_COLUMNS,
    NEXT_COLUMNS,
    STANDINGS,
    Answers,
    Findings,
    Investigation,
    inquire,
)
from moisturemap.language import speaking
from moisturemap.report import Supplement
from moisturemap.report.compose import compose
from moisturemap.report.material import Material
from moisturemap.results.investigation import (
    brief_investigation,
    describe_investigation,
    export_investigation,
    summarise_investigation,
)
from moisturemap.survey import Survey

pytestmark = pytest.mark.thorough

FLOOR = Path(__file__).parents[2] / "demo_plans" / "clinic"


@pytest.fixture(scope="module")
def survey() -> Survey:
    return mm.read_survey(FLOOR)


@pytest.fixture(scope="module")
def study() -> mm.Study:
    return studied("clinic")[0].study


@pytest.fixture(scope="module")
def found() -> Investigation:
    _, cause = studied("clinic")
    assert cause is not None
    return cause


@pytest.fixture(scope="module")
def known(survey: Survey, study: mm.Study) -> Findings:
    return Findings(survey, study, None, mm.decide(survey, study).judged)


def test_the_true_cause_stays_and_water_of_the_slab_does_not(found: Investigation) -> None:
    """Dry when covered, wettest at the pipe now: no construction water, nothing from above."""
    stands = dict(zip(found.causes["cause"], found.causes["standing"], strict=True))
    assert set(stands) == set(CAUSES)
    assert set(stands.values()) <= set(STANDINGS)
    assert stands["pressure-pipe"] in ("open", "points-to")
    for cause in ("construction-water", "not-water", "flood", "surface-water"):
        assert stands[cause] == "against", cause
    assert stands["salts"] == "not-looked-at"
    assert "heating supply" in found.causes.set_index("cause").loc["pressure-pipe", "why_for"]


def test_the_tables_are_as_the_contract_names_them(found: Investigation) -> None:
    """Columns, and a mark for each cause."""
    wanted = ["cause", "standing", "why_for", "why_against", "cannot_be_told_from"]
    assert list(found.causes.columns[:5]) == wanted
    assert list(found.evidence.columns) == list(EVIDENCE_COLUMNS)
    assert list(found.next_measurements.columns) == list(NEXT_COLUMNS)
    assert set(found.evidence["mark"]) <= {"for", "against", "silent", "not-asked"}
    assert set(found.evidence["cause"]) == set(CAUSES)


def test_the_next_step_is_to_test_the_pipe_and_no_act_is_repeated(found: Investigation) -> None:
    """The pipe is what the open causes turn on; holes stay clear of the known pipe."""
    steps = found.next_measurements
    assert "pressure-test" in " ".join(steps["what"].iloc[:3])
    assert (steps["expected_pairs"].diff().dropna() <= 0).all()
    for row in steps.dropna(subset=["x"]).itertuples():
        gap = min(
            line.geometry.distance(Point(row.x, row.y))
            for line in found.wet.plan.lines_of("known-service")
        )
        assert gap >= 0.3
        assert row.depth_mm <= 0.8 * 160.0


def test_cautions_come_first_and_nothing_is_called_safe(
    found: Investigation, survey: Survey
) -> None:
    """The live leak before all."""
    text = describe_investigation(found, survey.name)
    assert text.index("Live leak") < text.index("where the water comes from")
    assert "safe" not in text.casefold().replace("unsafe", "")
    assert found.cautions[0].startswith("Live leak")


def test_another_answer_moves_the_standing(known: Findings) -> None:
    """A test that held for two days speaks against the pipe."""
    held = inquire(known, Answers.of({"pressure_test": "held", "pressure_test_hours": 48}))
    row = held.causes.set_index("cause").loc["pressure-pipe"]
    assert "held" in row["why_against"]


def test_a_flood_before_placing_is_told_to_have_wetted_nothing(known: Findings) -> None:
    """It is named where the finding is read, not only in the table of evidence."""
    early = inquire(known, Answers.of({"flood": "2023-05-01"}))
    assert any("2023-05-01" in one for one in early.doubts)


def test_files_and_json_hold_the_same(found: Investigation, survey: Survey, tmp_path: Path) -> None:
    """Everything a reader may want to check."""
    names = {path.name for path in export_investigation(found, tmp_path, survey.name)}
    assert {"causes.csv", "evidence.csv", "next_measurements.csv", "investigation.json"} <= names
    stored = json.loads((tmp_path / "investigation.json").read_text(encoding="utf-8"))
    assert stored == json.loads(json.dumps(summarise_investigation(found, survey.name)))
    assert [row["cause"] for row in stored["causes"]] == found.causes["cause"].tolist()


def test_every_figure_is_drawn(found: Investigation, survey: Survey) -> None:
    """Profiles, reach, dew point and timeline."""
    figures = investigation_figures(found, survey.name)
    assert set(figures) == {"cause-profiles", "cause-reach", "cause-dew-point", "cause-timeline"}


def test_the_report_has_the_section(found: Investigation, study: mm.Study) -> None:
    """Cautions, finding, table and next step."""
    content = compose(Material(study, supplement=Supplement(investigation=found, pictures=())))
    section = next(one for one in content.sections if one.title == "Where the water comes from")
    assert "Live leak" in section.blocks[0].text
    titles = [getattr(block, "caption", "") for block in section.blocks]
    assert "What to measure next" in titles


def test_a_place_that_is_not_there_is_refused_with_those_that_are(known: Findings) -> None:
    """Holes, zones and rooms are named."""
    with pytest.raises(SurveyError, match="K2") as refused:
        inquire(known, Answers.of({}), place="K9")
    assert "ward" in str(refused.value)


@pytest.mark.parametrize("tongue", ["en", "de"])
def test_what_contradicts_stands_in_the_head_beside_the_finding(
    known: Findings, tongue: str
) -> None:
    """A drain found leaking that also held its level: it stays open, and both are named."""
    both = {"leak_survey": "found-in-drain", "drain_test": "held", "covered": "2031-01-10"}
    found = inquire(known, Answers.of(both | {"opening": "no-membrane"}))
    stands = dict(zip(found.causes["cause"], found.causes["standing"], strict=True))
    assert stands["drain"] != "against"
    with speaking(tongue):
        text = " ".join(brief_investigation(found, "Clinic").split())
    if tongue == "de":
        assert "bleibt offen, bis" in text
        assert "Against it" not in text
    wanted = {"en": "Evidence contradicts on leak of a drain", "de": "Belege widersprechen sich"}
    assert wanted[tongue] in text
    assert {"en": "What to do", "de": "Was zu tun ist"}[tongue] in text
