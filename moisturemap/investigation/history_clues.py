"""Clues from the answers of people."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from moisturemap.investigation.answer_rule import RULES
from moisturemap.investigation.answers import Answers
from moisturemap.investigation.clue import Clue, not_looked_at
from moisturemap.investigation.question import QUESTIONS

LEAST_TEST_HOURS = 24.0
"""A pressure test shorter than this says nothing here (our choice: slow leaks, and a drop that
temperature hides)."""


FINDS = frozenset(
    (
        ("pressure_test", "fell"),
        ("leak_survey", "found-in-pipe"),
        ("leak_survey", "found-in-drain"),
        ("drain_test", "fell"),
        ("membrane", "damaged"),
        ("opening", "membrane-damaged"),
        ("opening", "no-membrane"),
        ("insulation", "wet"),
        ("wall_profile", "wet-wall"),
    )
)
"""Answers that the cause itself was found: what is simulated, or somebody remembers, never puts it
aside (our choice)."""


WORTH_ASKING = tuple(
    dict.fromkeys(rule.question for rule in RULES if rule.question not in ("repaired",))
)


def history_clues(answers: Answers, latest: date | None = None) -> tuple[Clue, ...]:
    """Return what the answers say, and what nobody asked.

    Parameters
    ----------
    answers : Answers
    latest : date, optional
        Latest day of the survey.
    """
    return tuple(_clues(answers, latest))


def _clues(answers: Answers, latest: date | None) -> Iterator[Clue]:
    for key in WORTH_ASKING:
        value = answers.get(key)
        if value is None:
            if key in answers.asked:
                sentence = f"{QUESTIONS[key].words} Not known."
                kind = next(rule.kind for rule in RULES if rule.question == key)
                yield Clue(key, kind, "could-not-show", sentence)
            else:
                kind = next(rule.kind for rule in RULES if rule.question == key)
                yield not_looked_at(key, kind, f"{QUESTIONS[key].words} Not asked.")
            continue
        for one in value if isinstance(value, tuple) else (value,):
            if isinstance(one, date) and answers.event(key, latest) is None:
                kind = next(rule.kind for rule in RULES if rule.question == key)
                yield Clue(key, kind, "could-not-show", of_no_effect(one))
                continue
            yield from _told(key, one, answers)


def of_no_effect(day: date) -> str:
    """Say that an event before placing, or after the latest reading, wetted nothing read here.

    Parameters
    ----------
    day : date
        Of the event.
    """
    return (
        f"What happened on {day.isoformat()} lies before the layer was placed or after it was read:"
        " it cannot have wetted what was read."
    )


def _told(key: str, value: object, answers: Answers) -> Iterator[Clue]:
    word = "*" if isinstance(value, date) else str(value)
    for rule in RULES:
        if (rule.question, rule.answer) != (key, word):
            continue
        speaks_for, against = tuple(rule.speaks_for.split()), tuple(rule.speaks_against.split())
        sentence = rule.sentence
        if isinstance(value, date):
            sentence = f"{sentence.removesuffix('.')} on {value.isoformat()}."
        hours = answers.get("pressure_test_hours")
        if (key, word) == ("pressure_test", "held") and (hours is None or hours < LEAST_TEST_HOURS):
            shown = "an unknown time" if hours is None else f"{hours:g} hours"
            sentence = f"The pressure held for {shown}, too short to speak against a slow leak."
            against = ()
        state = "seen" if speaks_for or against or rule.excludes else "could-not-show"
        yield Clue(
            f"{key}: {word}" if word != "*" else key,
            rule.kind,
            state,
            sentence,
            threshold=f"{LEAST_TEST_HOURS:g} h" if key == "pressure_test" else "",
            source=rule.source,
            speaks_for=speaks_for,
            speaks_against=against,
            excludes=tuple(rule.excludes.split()),
            finds=speaks_for if (key, word) in FINDS else (),
        )
