"""Readings that once stood higher than they do are told, and asked about."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from moisturemap import store
from moisturemap.store import changed_readings


def first_reading(project: store.Project) -> dict:
    """The highest reading of the project that has a place."""
    rows = [row for row in project.rows("readings") if row["value"] and row["x"] is not None]
    return max(rows, key=lambda row: row["value"])


def lowered(project: store.Project, row: dict) -> None:
    project.correct("readings", row["fid"], {"value": 3.0}, "C. Other", "misread")


def taken_away(project: store.Project, row: dict) -> None:
    project.remove("readings", [row["fid"]], "C. Other", "meter on its edge")


def moved(project: store.Project, row: dict) -> None:
    project.correct("readings", row["fid"], {"x": row["x"] + 0.5}, "C. Other", "wrong place")


@pytest.mark.parametrize(
    ("change", "word"),
    [(lowered, "lowered or moved"), (taken_away, "taken away"), (moved, "lowered or moved")],
)
def test_a_reading_that_stood_higher_is_told_and_kept(
    packed: Path, change: Callable, word: str
) -> None:
    """As it was, with who and why; nothing once it is as it was."""
    with store.open_project(packed, writable=True) as project:
        row = first_reading(project)
        assert project.survey().former_readings.empty
        change(project, row)
        survey = project.survey()
        assert survey.former_readings["value"].tolist() == [row["value"]]
        assert survey.former_readings["x"].tolist() == [row["x"]]
        (said,) = survey.lowered_readings
        assert f"of {row['value']:g}, was {word} on" in said
        assert "by C. Other:" in said
        assert said in survey.changed_tests
        project.undo("C. Other")
        assert project.survey().former_readings.empty
        assert project.survey().lowered_readings == ()


def test_a_higher_value_is_no_question(packed: Path) -> None:
    """What reads wetter hides nothing."""
    with store.open_project(packed, writable=True) as project:
        row = first_reading(project)
        project.correct("readings", row["fid"], {"value": row["value"] + 1}, "C. Other", "misread")
        assert project.survey().former_readings.empty


def test_a_slip_corrected_on_the_spot_is_no_question(
    packed: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who keyed it in corrects it within minutes; another person, or a later day, is asked."""
    with store.open_project(packed, writable=True) as project:
        row = first_reading(project)
        new = {name: row[name] for name in ("x", "y", "visit", "instrument")}
        project.add("readings", [{**new, "value": 97.0}], "C. Other", "walk")
        fid = max(one["fid"] for one in project.rows("readings"))
        project.correct("readings", fid, {"value": 37.0}, "C. Other", "typo")
        assert project.survey().former_readings.empty
        monkeypatch.setattr(changed_readings, "ON_THE_SPOT", timedelta(0))
        assert project.survey().former_readings["value"].tolist() == [97.0]


def test_a_file_taken_back_as_a_whole_is_told_and_not_asked(packed: Path) -> None:
    """The readings of another floor are no evidence of this one."""
    with store.open_project(packed, writable=True) as project:
        row = first_reading(project)
        new = {name: row[name] for name in ("visit", "instrument")}
        before = {one["fid"] for one in project.rows("readings")}
        wrong = [{**new, "x": 0.1 * k, "y": 0.2, "value": 90.0 + k} for k in range(1, 12)]
        project.add("readings", wrong, "A. Person", "import")
        added = [one["fid"] for one in project.rows("readings") if one["fid"] not in before]
        project.remove("readings", added, "B. Person", "wrong file")
        survey = project.survey()
        assert survey.former_readings.empty
        (said,) = survey.lowered_readings
        assert "11 readings" in said
        assert "of up to 101, were taken away" in said


def test_a_survey_as_it_was_knows_no_later_change(packed: Path) -> None:
    """What was changed after an entry does not show before it."""
    with store.open_project(packed, writable=True) as project:
        head = project.head().number
        lowered(project, first_reading(project))
        assert project.survey(at=head).lowered_readings == ()
