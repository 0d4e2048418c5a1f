"""Answers are checked question by question."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from shapely.geometry import box

from moisturemap.errors import SurveyError
from moisturemap.floorplan import Room, Slab
from moisturemap.investigation import CAUSES, QUESTIONS, Answers
from moisturemap.investigation.history_clues import RULES, history_clues

ROOM = Room("hall", box(0, 0, 4, 4), Slab(placed=date(2024, 1, 2), membrane="damaged"))


@pytest.mark.parametrize("key", QUESTIONS)
def test_not_known_is_always_allowed(key: str) -> None:
    """And then no answer is held, though the question was put."""
    answers = Answers.of({key: "not-known"})
    assert answers.get(key) is None
    assert key in answers.asked


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"membran": "none"}, "membrane"),
        ({"membrane": "intact"}, "seen-intact"),
        ({"flood": "yes"}, "2026-03-14"),
        ({"pressure_test_hours": -3}, "0 to 10000"),
        ({"pressure_test_hours": "two"}, "0 to 10000"),
        ({"pressure_test_hours": "nan"}, "0 to 10000"),
        ({"seen": ["water"]}, "liquid"),
        ({"seen": ["liquid", "nothing"]}, "nothing by itself"),
    ],
)
def test_a_wrong_answer_is_refused_with_what_is_allowed(
    wrong: dict[str, object], named: str
) -> None:
    """It names the question, the value and the choices."""
    with pytest.raises(SurveyError, match=named) as refused:
        Answers.of(wrong, source="answers.toml")
    assert "answers.toml" in str(refused.value)


@pytest.mark.parametrize("written", [2.5, "2.5", "2,5", " 2,5 "])
def test_hours_are_read_with_a_comma_too(written: object) -> None:
    """A file typed by hand puts them in quotes."""
    assert Answers.of({"pressure_test_hours": written}).get("pressure_test_hours") == 2.5


def test_what_the_survey_says_is_not_asked() -> None:
    """The room's own fields stand in the place of answers."""
    answers = Answers.of({"membrane": "seen-intact"}).with_room(ROOM)
    assert answers.get("membrane") == "damaged"
    assert answers.get("placed") == date(2024, 1, 2)
    assert not {"membrane", "placed"} & {one.key for one in answers.open_questions()}
    bare = Answers.of({}).with_room(replace(ROOM, slab=Slab()))
    assert {"membrane", "placed"} <= {one.key for one in bare.open_questions()}


def test_pipes_that_the_plan_shows_are_not_asked_about() -> None:
    """Unless somebody was asked; what people know goes before a drawing."""
    drawn = Answers.of({}).with_plan(services=True)
    assert drawn.get("pipes") == "drawn"
    assert "pipes" not in {one.key for one in drawn.open_questions()}
    assert Answers.of({"pipes": "none"}).with_plan(services=True).get("pipes") == "none"
    assert "pipes" in {one.key for one in Answers.of({}).with_plan(services=False).open_questions()}


def test_every_rule_speaks_of_known_questions_answers_and_causes() -> None:
    """No rule is out of reach of an answer."""
    for rule in RULES:
        question = QUESTIONS[rule.question]
        allowed = (*question.choices, "*", "none")
        assert rule.answer in allowed, rule
        named = f"{rule.speaks_for} {rule.speaks_against} {rule.excludes}".split()
        assert set(named) <= set(CAUSES), rule


def test_every_choice_has_a_rule_or_says_nothing_was_done() -> None:
    """An answer nobody weighs would be asked for nothing."""
    told = {(rule.question, rule.answer) for rule in RULES}
    for question in QUESTIONS.values():
        for choice in question.choices:
            if choice in ("not-done", "not-opened"):
                continue
            if (question.key, choice) in (("pressure_test", "none"), ("leak_survey", "none")):
                continue
            assert (question.key, choice) in told, (question.key, choice)


def test_a_short_pressure_test_says_nothing_against_a_leak() -> None:
    """A slow leak does not show within hours."""
    short = Answers.of({"pressure_test": "held", "pressure_test_hours": 2})
    long = Answers.of({"pressure_test": "held", "pressure_test_hours": 48})
    marks = [
        [clue.mark("pressure-pipe") for clue in history_clues(one) if "pressure" in clue.key]
        for one in (short, long)
    ]
    assert marks == [["silent"], ["against"]]


def test_a_negative_leak_survey_leaves_the_leak_open() -> None:
    """Published case: rising damp by five surveyors, leak survey negative, leak found later."""
    clues = history_clues(Answers.of({"leak_survey": "nothing-found"}))
    told = next(clue for clue in clues if clue.key.startswith("leak_survey"))
    assert told.mark("pressure-pipe") == "silent"


def test_a_flood_before_placing_speaks_for_nothing() -> None:
    """Nor one after the latest reading; one between speaks for the flood."""
    latest = date(2025, 6, 1)
    for day, speaks in (("2019-05-05", ()), ("2026-01-01", ()), ("2024-05-05", ("flood",))):
        answers = Answers.of({"placed": "2023-05-10", "flood": day})
        clue = next(c for c in history_clues(answers, latest) if c.key.startswith("flood"))
        assert clue.speaks_for == speaks


@pytest.mark.parametrize(
    ("stated", "key"),
    [
        ({"placed": "2031-01-01"}, "placed"),
        ({"placed": "2024-01-01", "covered": "2023-01-01"}, "covered"),
        ({"placed": "2024-01-01", "first_fault": "2023-01-01"}, "first_fault"),
    ],
)
def test_days_that_cannot_be_in_this_order_are_refused(stated: dict[str, str], key: str) -> None:
    """With the day, and the days that may be."""
    with pytest.raises(SurveyError) as refused:
        Answers.of(stated).check_days(date(2025, 6, 1))
    assert stated[key] in str(refused.value)
    assert key in str(refused.value)


def test_an_answer_the_survey_overrules_is_kept_in_sight() -> None:
    """The survey is used, the answer is not lost."""
    room = Room("hall", box(0, 0, 4, 3), Slab(thickness_mm=100.0, covered=date(2023, 9, 20)))
    answers = Answers.of({"covered": "2020-01-01", "membrane": "none"}).with_room(room)
    assert answers.get("covered") == date(2023, 9, 20)
    assert answers.overruled == {"covered": date(2020, 1, 1)}
