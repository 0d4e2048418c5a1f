"""Clues from the answers of people: a table, cross-examinable line by line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from moisturemap.investigation.answers import Answers
from moisturemap.investigation.clue import Clue, not_looked_at
from moisturemap.investigation.question import QUESTIONS

LEAST_TEST_HOURS = 24.0
"""A pressure test shorter than this says nothing here (our choice: slow leaks, and a drop that
temperature hides)."""


@dataclass(frozen=True, slots=True)
class AnswerRule:
    """What one answer says.

    Attributes
    ----------
    question, answer : str
        ``*`` stands for any day.
    kind : str
    speaks_for, speaks_against : str
        Causes, separated by spaces.
    sentence : str
    source : str
    excludes : str
    """

    question: str
    answer: str
    kind: str
    speaks_for: str
    speaks_against: str
    sentence: str
    source: str
    excludes: str = ""


_BS = "BS 8102 and BRE guidance (from memory)"
_COMMON = "common practice"

RULES = (
    AnswerRule("membrane", "none", "history", "ground", "", "There is no membrane below.", _BS),
    AnswerRule("membrane", "damaged", "history", "ground", "", "The membrane is damaged.", _BS),
    AnswerRule(
        "membrane", "seen-intact", "history", "", "ground", "The membrane was seen whole.", _BS
    ),
    AnswerRule(
        "membrane",
        "drawing-only",
        "history",
        "",
        "",
        "A membrane is drawn and was not seen: that says nothing of its state.",
        _BS,
    ),
    AnswerRule(
        "build_up",
        "slab",
        "history",
        "",
        "",
        "A slab by itself: there is no insulation below a floating screed.",
        "survey or answer",
        "insulation",
    ),
    AnswerRule(
        "build_up",
        "bonded",
        "history",
        "",
        "",
        "A screed bonded to a slab: there is no insulation between.",
        "survey or answer",
        "insulation",
    ),
    AnswerRule(
        "build_up",
        "timber",
        "history",
        "",
        "",
        "A timber deck: no screed floats on insulation and no slab is placed.",
        "BRE Digest 364, BS 8201 (not read)",
        "insulation",
    ),
    AnswerRule(
        "build_up",
        "floating",
        "history",
        "",
        "",
        "A screed floats on insulation: its dryness says nothing of the insulation.",
        "WTA guidance (from memory)",
    ),
    AnswerRule(
        "pipes",
        "none",
        "services",
        "",
        "pressure-pipe drain",
        "No pipes are known in or below the floor; drawings do not show all.",
        _COMMON,
    ),
    AnswerRule("pipes", "drawn", "services", "", "", "Pipes are drawn here.", _COMMON),
    AnswerRule("pipes", "likely", "services", "", "", "Pipes are likely here.", _COMMON),
    AnswerRule(
        "pressure_test",
        "fell",
        "services",
        "pressure-pipe",
        "",
        "The pressure fell, or the meter ran with all taps shut.",
        _COMMON,
    ),
    AnswerRule(
        "pressure_test",
        "held",
        "services",
        "",
        "pressure-pipe",
        "The pressure held for at least a day.",
        _COMMON,
    ),
    AnswerRule(
        "leak_survey",
        "found-in-pipe",
        "services",
        "pressure-pipe",
        "",
        "A leak of a pipe was found.",
        _COMMON,
    ),
    AnswerRule("leak_survey", "found-in-drain", "services", "drain", "", "A drain leaks.", _COMMON),
    AnswerRule(
        "leak_survey",
        "nothing-found",
        "services",
        "",
        "",
        "A leak was searched for and not found, which proves nothing.",
        "published case: a leak found after a negative survey",
    ),
    AnswerRule("flood", "*", "history", "flood", "", "There was a flood, burst or rain.", _COMMON),
    AnswerRule(
        "flood", "none", "history", "", "flood", "No flood, burst or rain is remembered.", _COMMON
    ),
    AnswerRule(
        "heating",
        "changed",
        "history",
        "condensation summer-reversal",
        "",
        "Heating or cooling was changed before the fault.",
        "BS 5250 (from memory)",
    ),
    AnswerRule(
        "heating",
        "shut-down",
        "history",
        "condensation summer-reversal",
        "",
        "Heating or cooling was shut down before the fault.",
        "BS 5250 (from memory)",
    ),
    AnswerRule(
        "heating",
        "no-heating",
        "history",
        "",
        "",
        "The floor is not heated.",
        "answer",
        "summer-reversal",
    ),
    AnswerRule("heating", "steady", "history", "", "", "Heating was steady.", "answer"),
    AnswerRule(
        "outside_ground",
        "above",
        "history",
        "wall ground",
        "",
        "The ground outside lies above the floor.",
        _BS,
    ),
    AnswerRule(
        "outside_ground",
        "level",
        "history",
        "wall",
        "",
        "The ground outside lies level with the floor.",
        _BS,
    ),
    AnswerRule(
        "outside_ground",
        "below",
        "history",
        "",
        "wall",
        "The ground outside lies below the floor.",
        _BS,
    ),
    AnswerRule(
        "cleaning",
        "flooded",
        "history",
        "surface-water",
        "",
        "The floor is cleaned with much water.",
        _COMMON,
    ),
    AnswerRule("cleaning", "damp", "history", "", "", "The floor is cleaned damp.", _COMMON),
    AnswerRule(
        "cleaning",
        "dry",
        "history",
        "",
        "surface-water",
        "The floor is cleaned dry.",
        _COMMON,
    ),
    AnswerRule(
        "seen",
        "liquid",
        "history",
        "pressure-pipe drain ground surface-water",
        "",
        "Liquid water was seen.",
        _COMMON,
    ),
    AnswerRule(
        "seen",
        "salts",
        "history",
        "salts ground wall",
        "",
        "Salts were seen.",
        "BRE Digest 245 (from memory)",
    ),
    AnswerRule("seen", "smell", "history", "drain", "", "It smells.", _COMMON),
    AnswerRule("seen", "mould", "history", "", "", "Mould was seen.", _COMMON),
    AnswerRule(
        "seen",
        "blisters",
        "history",
        "osmosis",
        "",
        "The coating stands in single blisters.",
        "Journal of Protective Coatings and Linings, January 2007",
    ),
    AnswerRule(
        "seen",
        "under-mats",
        "history",
        "construction-water ground",
        "",
        "It is worst under mats, which hold back what rises.",
        "Concrete Construction, 'Bubbled slab surface'",
    ),
    AnswerRule(
        "seen",
        "at-joints",
        "history",
        "ground surface-water",
        "",
        "It is worst at joints.",
        "Concrete Construction, problem clinic",
    ),
    AnswerRule(
        "seen",
        "elsewhere-too",
        "history",
        "other",
        "",
        "The same damage stands far from the wet place, on dry floor: another cause acts too.",
        "Wood Floor Business",
    ),
    AnswerRule("seen", "nothing", "history", "", "", "Nothing was seen or smelt.", _COMMON),
    AnswerRule(
        "adhesive",
        "batch-change",
        "history",
        "adhesive",
        "",
        "The fault follows a batch of adhesive or compound.",
        "TKB leaflets (from memory)",
    ),
    AnswerRule(
        "adhesive",
        "short-wait",
        "history",
        "adhesive",
        "",
        "The waiting time of adhesive or compound was short.",
        "TKB leaflets (from memory)",
    ),
    AnswerRule(
        "adhesive",
        "no",
        "history",
        "",
        "adhesive",
        "The fault follows no batch and no short wait.",
        "TKB leaflets (from memory)",
    ),
    AnswerRule(
        "taped_sheet",
        "wet-above",
        "air",
        "condensation",
        "ground construction-water",
        "A taped sheet grew wet on top: the air wets the floor.",
        "Concrete Construction, 'From above or below'",
    ),
    AnswerRule(
        "taped_sheet",
        "wet-below",
        "air",
        "ground construction-water",
        "condensation",
        "A taped sheet grew wet below: the floor gives off water.",
        "Concrete Construction, 'From above or below'",
    ),
    AnswerRule("taped_sheet", "dry", "air", "", "", "A taped sheet stayed dry.", _COMMON),
    AnswerRule(
        "insulation",
        "wet",
        "history",
        "insulation",
        "",
        "The insulation was opened and is wet.",
        "WTA guidance (from memory)",
    ),
    AnswerRule(
        "insulation",
        "dry",
        "history",
        "",
        "insulation",
        "The insulation was opened and is dry there.",
        "WTA guidance (from memory)",
    ),
)
"""What each answer says; counted by kind, never multiplied."""

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
        )
