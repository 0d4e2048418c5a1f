"""An investigation in plain types, sentences and files."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from moisturemap.investigation import CAUSES, NOT_KNOWN, Investigation, Question
from moisturemap.language import keep_as_they_are
from moisturemap.results.brief import Item, page
from moisturemap.results.study_files import write_table
from moisturemap.results.summary import records
from moisturemap.results.terminal import Terminal
from moisturemap.units import Units

FIRST = (
    "Before anything else: a live leak, electricity near water, asbestos, mould, membranes, "
    "tendons and dust are cleared by those whose trade they are (in full with --full)."
)
OPEN_QUESTIONS = "Questions not answered yet (answers.toml, listed with --full): {asked}."
MOST_STEPS = 3
"""Next measurements named by default (our choice)."""

STANDING_WORDS = {
    "points-to": "pointed to",
    "open": "open",
    "against": "spoken against",
    "not-looked-at": "not looked at",
}
"""What a reader sees for each standing."""


def summarise_investigation(found: Investigation, survey_name: str) -> dict[str, Any]:
    """Return an investigation in plain types.

    Parameters
    ----------
    found : Investigation
    survey_name : str
    """
    place = found.place
    return {
        "survey": survey_name,
        "cautions": list(found.cautions),
        "doubts": list(found.doubts),
        "sentence": found.sentence,
        "place": None
        if place is None
        else {"name": place.name, "room": place.room.name, "x": place.x, "y": place.y},
        "zone": None if found.wet is None else found.wet.name,
        "causes": records(found.causes),
        "next_measurements": records(found.next_measurements),
        "evidence": records(found.evidence),
        "questions": [question_plain(one) for one in found.answers.open_questions()],
        "events": {name: day.isoformat() for name, day in found.events.items()},
        "statements": list(found.statements),
    }


def question_plain(question: Question) -> dict[str, Any]:
    """Return a question in plain types.

    Parameters
    ----------
    question : Question
    """
    return {
        "key": question.key,
        "words": question.words,
        "kind": question.kind,
        "choices": list(question.choices),
        "allowed": question.allowed,
        "divides": list(question.divides),
    }


def export_investigation(found: Investigation, folder: Path, survey_name: str) -> list[Path]:
    """Write causes, evidence and next measurements as CSV, and all of it as JSON, to a folder.

    Parameters
    ----------
    found : Investigation
    folder : Path
    survey_name : str
    """
    folder.mkdir(parents=True, exist_ok=True)
    tables = {
        "causes": found.causes,
        "evidence": found.evidence,
        "next_measurements": found.next_measurements,
        "dew-point": found.margins,
    }
    written = [
        write_table(table, folder / f"{name}.csv")
        for name, table in tables.items()
        if not table.empty
    ]
    whole = folder / "investigation.json"
    content = summarise_investigation(found, survey_name)
    text = json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)
    whole.write_text(text + "\n", encoding="utf-8")
    return [*written, whole]


def describe_investigation(found: Investigation, survey_name: str, units: Units = Units()) -> str:
    """Return cautions first, then the finding, the causes, what to do next and the limits.

    Parameters
    ----------
    found : Investigation
    survey_name : str
    units : Units
    """
    say = Terminal(units)
    parts = ["Before anything else", *(say.item("!", text) for text in found.cautions)]
    where = say.paragraph(_where(found))
    parts += ["", f"{survey_name}: where the water comes from", where, ""]
    parts += [say.item("!", text) for text in found.doubts]
    parts += [say.paragraph(found.sentence), *_causes(found, say)]
    parts += ["", "What to measure next"]
    steps = records(found.next_measurements)[:6]
    parts += [say.item(f"{one['rank']}.", _step(one)) for one in steps]
    asked = list(found.answers.open_questions())
    if asked:
        keep_as_they_are(choice for one in asked for choice in (one.key, *one.choices, NOT_KNOWN))
        parts += ["", "Not answered yet (answers.toml)"]
        parts += [say.item(one.key, f"{one.words} {one.allowed}") for one in asked]
    parts += ["", *(say.paragraph(statement) for statement in found.statements)]
    return "\n".join(parts)


def brief_investigation(found: Investigation, survey_name: str) -> str:
    """Return what is pointed to or open and what to measure next, on at most twenty lines.

    Parameters
    ----------
    found : Investigation
    survey_name : str
    """
    said: list[Item] = [("!", FIRST), ("-", found.sentence)]
    stands: list[Item] = []
    if found.doubts:  # whatever else finds no room
        stands, said = [*said, *(("!", text) for text in found.doubts)], []
    asked = len(list(found.answers.open_questions()))
    if asked:
        said.append(("-", OPEN_QUESTIONS.format(asked=asked)))
    steps = [
        (f"{one['rank']}.", _step(one)) for one in records(found.next_measurements)[:MOST_STEPS]
    ]
    head = [f"{survey_name}: where the water comes from", _where(found)]
    return page(head, said, steps, stands)


def _causes(found: Investigation, say: Terminal) -> list[str]:
    parts: list[str] = []
    for standing, words in STANDING_WORDS.items():
        stands = [one for one in found.stands if one.standing == standing]
        if not stands:
            continue
        parts += ["", words.capitalize()]
        if standing == "not-looked-at":
            names = "; ".join(CAUSES[one.cause].words for one in stands)
            parts.append(say.item("", f"{names}."))
            continue
        for one in stands:
            parts.append(say.item("-", f"{CAUSES[one.cause].words} ({one.cause})"))
            parts += [say.item("   for", text) for text in one.why_for]
            parts += [say.item("   against", text) for text in one.why_against]
            if one.alike:
                parts.append(say.item("   ", f"cannot be told from {', '.join(one.alike)}"))
    return parts


def _where(found: Investigation) -> str:
    if found.place is not None:
        zone = "" if found.wet is None else f", zone {found.wet.name}"
        return f"At {found.place.name}, {found.place.room.name}{zone}."
    if found.wet is not None:
        return f"Zone {found.wet.name}, {found.wet.room.name}; no valid humidity at depth."
    return "No wet zone is mapped and no humidity at depth is valid."


def _step(row: dict[str, Any]) -> str:
    pairs = f"likely tells {row['expected_pairs']:.1f} pairs of causes apart ({row['basis']})"
    return (
        f"{row['what']}, {row['where']}, {row['when']}: {pairs}; {row['burden']};"
        f" risk: {row['risk']}"
    )
