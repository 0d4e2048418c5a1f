"""A cause that was found stays open, and what contradicts itself is said before the finding."""

from __future__ import annotations

from datetime import date

import pytest

from moisturemap.errors import SurveyError
from moisturemap.investigation import CAUSES, Answers
from moisturemap.investigation.clue import Clue
from moisturemap.investigation.doubts import contradictions, dates_not_used
from moisturemap.investigation.history_clues import FINDS, RULES, history_clues
from moisturemap.investigation.standing import ruled_out, standings

LATEST = date(2026, 3, 7)


def against_by_measuring(cause: str) -> tuple[Clue, ...]:
    """Two kinds of measured evidence, and an exclusion."""
    return (
        Clue("plan", "plan", "seen", "The plan is against it.", speaks_against=(cause,)),
        Clue("air", "air", "seen", "The air is against it.", speaks_against=(cause,)),
        Clue("time", "time", "seen", "It cannot be.", excludes=(cause,)),
    )


@pytest.mark.parametrize(("question", "answer"), sorted(FINDS))
def test_what_was_found_is_never_put_aside(question: str, answer: str) -> None:
    """Whatever else is measured, remembered or simulated; and it is said which speaks against."""
    (rule,) = (one for one in RULES if (one.question, one.answer) == (question, answer))
    clues = history_clues(Answers.of({question: answer}), LATEST)
    for cause in rule.speaks_for.split():
        every = (*clues, *against_by_measuring(cause))
        stands = {one.cause: one.standing for one in standings(every, None)}
        assert stands[cause] == "open"
        assert cause not in ruled_out(every)
        (told,) = contradictions(every)
        assert told.startswith(f"Evidence contradicts on {CAUSES[cause].words}.")
        assert rule.sentence in told
        assert "The plan is against it." in told


def test_what_nobody_found_is_put_aside_as_before() -> None:
    every = (*history_clues(Answers.of({}), LATEST), *against_by_measuring("drain"))
    stands = {one.cause: one.standing for one in standings(every, None)}
    assert stands["drain"] == "against"
    assert not list(contradictions(every))


def test_a_drain_that_leaks_and_holds_is_told() -> None:
    """Two answers of people that cannot both be."""
    answers = Answers.of({"leak_survey": "found-in-drain", "drain_test": "held"})
    (told,) = contradictions(history_clues(answers, LATEST))
    assert "A drain leaks." in told
    assert "held its level" in told


@pytest.mark.parametrize("key", ["covered", "first_fault", "repaired"])
def test_a_day_after_the_readings_is_not_used_and_told(key: str) -> None:
    """It made nothing that was read; a covering before it is then not known."""
    answers = Answers.of({key: date(2027, 1, 10)}).up_to(LATEST)
    assert answers.get(key) is None
    assert key in answers.asked
    (told,) = dates_not_used(answers, LATEST)
    assert "2027-01-10" in told
    assert "2026-03-07" in told
    assert Answers.of({key: LATEST}).up_to(LATEST).get(key) == LATEST


def test_a_flood_after_the_readings_is_told_at_the_top() -> None:
    (told,) = dates_not_used(Answers.of({"flood": date(2026, 9, 1)}), LATEST)
    assert "2026-09-01" in told


def test_a_covering_that_failed_before_it_was_laid_is_refused() -> None:
    answers = Answers.of({"covered": date(2026, 1, 10), "first_fault": date(2025, 12, 1)})
    with pytest.raises(SurveyError, match="faulty before it was laid"):
        answers.check_days(LATEST)
