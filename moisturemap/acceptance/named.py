"""What the name of a hole, or the edition a test followed, says beside naming it.

Method: ``docs/method/acceptance.md``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.acceptance.noted import heard
from moisturemap.survey import Survey
from moisturemap.survey.harmless_note import left_open, strange_words
from moisturemap.survey.note_words import may_spoil_test
from moisturemap.survey.own_words import behind_code, job_names
from moisturemap.survey.placeholder import names_nothing

_TELLS = re.compile(r"(?:not?|non|nil|own|kein\w*|ohne|pas|sans)", re.IGNORECASE)
_ACRONYM = re.compile(r"[^\W\d_a-zäöüß]{2,6}|[^\W\d_]")


@cache
def _words_of(what: str) -> str:
    """Words that say which hole, or which document, is meant."""
    text = files("moisturemap.acceptance").joinpath("naming_words.toml").read_text(encoding="utf-8")
    return str(tomllib.loads(text)[what])


def name_doubts(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say which tests are called, or followed, something that may mean they do not stand.

    Parameters
    ----------
    survey : Survey
    judged : sequence of JudgedTest
    """
    names = (*job_names(survey), _words_of("holes"))
    found: dict[str, None] = {}
    for test in filter(heard, judged):
        name = test.entry.text("hole").strip()
        words = _beside_name(name, names)
        if words:
            found[
                f"a hole is called {name!r}, and {', '.join(words)} in its name may mean that its"
                " result does not stand: call it by its name alone and say in its note what that"
                " means"
            ] = None
    return [*found, *_editions(judged)]


def _beside_name(name: str, names: Sequence[str]) -> tuple[str, ...]:
    """Return what of the name of a hole may tell of its result."""
    told = left_open(name)
    behind = behind_code(told)
    asked = ("?",) if "?" in told else ()
    spoilt = (told,) if may_spoil_test(told) and not behind else ()
    return (*strange_words(behind, names), *asked, *spoilt)


def _editions(judged: Sequence[JudgedTest]) -> list[str]:
    """Say which editions are told in words that name no document."""
    labels: dict[str, list[str]] = {}
    for test in filter(heard, judged):
        edition = test.entry.text("edition").strip()
        if edition and not names_nothing(edition) and _strange(left_open(edition)):
            labels.setdefault(edition, []).append(test.entry.label)
    return [
        f"{', '.join(dict.fromkeys(tests))} followed {edition!r}, which is not known to be a"
        f" document ({', '.join(_strange(left_open(edition)))}): name the standard and its year, or"
        " clear it up by hand in brackets behind it, (cleared: name, 2026-03-31)"
        for edition, tests in labels.items()
    ]


def _strange(edition: str) -> tuple[str, ...]:
    """Return the words of an edition that no document is called by."""
    words = re.findall(r"\b[^\W\d_]+\b", edition)
    return tuple(
        word
        for word in dict.fromkeys(words)
        if word.casefold() not in _words_of("editions").split()
        and (_TELLS.fullmatch(word) or not _ACRONYM.fullmatch(word))
    )
