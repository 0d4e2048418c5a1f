"""A language: its tables, and how it writes numbers and units."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from importlib import resources
from typing import Any, cast

from moisturemap.errors import OptionError
from moisturemap.language.entry import SENTENCE_END, Entry

ENGLISH = "en"
LANGUAGES = {"en": "English", "de": "Deutsch"}
"""Languages by their code (ISO 639-1), each by its own name."""

_WORDS = re.compile(r"[A-Za-z]{2,}")
_NUMBER = re.compile(r"(?<![\w.])(\d+)\.(\d+)(?![\w]|\.\d)")
_CLAUSE = re.compile(
    r"\b[A-Z]+ ?[A-Z]?\d[\w-]*(?::\d{4})?(?:\+A\d)? \Z|(?:section|clause|Abschnitt) \Z"
)
"""What a clause of a document follows, such as ``F2170 10.1``: no number with decimals."""

_LIST = re.compile(
    r"(?<![\w.,])(?:([+-]?\d+,\d+),([+-]?\d+,\d+)|[+-]?\d+(?:,\d+)?(?:, [+-]?\d+(?:,\d+)?)+)"
    r"(?!\w|[,.]\d)"
)
"""Numbers side by side, such as x and y, where the comma is the decimal sign."""

_PERCENT = re.compile(r"(?<=\d)%(?=(-)?)(?!\w)")


def _parted(run: re.Match[str]) -> str:
    """Part numbers by semicolons where one of them holds a decimal comma."""
    if run[1]:
        return f"{run[1]}; {run[2]}"
    return run[0].replace(", ", "; ") if re.search(r"\d,\d", run[0]) else run[0]


@dataclass(frozen=True, slots=True)
class Spelling:
    """How a language writes what is no word.

    Attributes
    ----------
    decimal : str
        Between whole number and decimals.
    percent : str
        Percent sign after a number, as in "90 %".
    compound : str
        The same where a word is joined to it, as in "90-%-Intervall".
    units : mapping of str to str
        Units the language writes in its own way.
    joints : tuple of str
        Between the ends of a range, and between two numbers of which one holds.
    """

    decimal: str = "."
    percent: str = "%"
    compound: str = "%"
    units: Mapping[str, str] = field(default_factory=dict, hash=False)
    joints: tuple[str, ...] = (" to ", " or ")

    def plain(self, number: str) -> str:
        """Return one number of the language as a program reads it."""
        return number.replace(self.decimal, ".")

    def number(self, text: str) -> str:
        """Return a text of numbers as the language writes them."""

        def written(match: re.Match[str]) -> str:
            if _CLAUSE.search(text, 0, match.start()):
                return match[0]
            return f"{match[1]}{self.decimal}{match[2]}"

        return _NUMBER.sub(written, text)

    def finished(self, text: str) -> str:
        """Return a sentence with its percentages and units as the language writes them."""
        text = _PERCENT.sub(lambda sign: self.compound if sign[1] else self.percent, text)
        for unit, own in self.units.items():
            text = text.replace(unit, own)
            if own.endswith("."):  # one full stop ends the unit and the sentence
                text = text.replace(f"{own}.", own)
        return text if self.decimal != "," else _LIST.sub(_parted, text)


@dataclass(frozen=True, eq=False)
class Language:
    """Word tables of one language.

    Attributes
    ----------
    code : str
    fixed : mapping of str to str
        Texts without slots.
    patterns : tuple of Entry
        Texts with slots, those that say most first.
    spelling : Spelling
    """

    code: str
    fixed: Mapping[str, str]
    patterns: tuple[Entry, ...]
    spelling: Spelling

    @cached_property
    def _by_landmark(self) -> Mapping[str, tuple[Entry, ...]]:
        found: dict[str, list[Entry]] = {}
        for entry in self.patterns:
            found.setdefault(entry.landmark, []).append(entry)
        return {word: tuple(entries) for word, entries in found.items()}

    def entries_for(
        self, text: str, *, run: bool = False
    ) -> Iterator[tuple[Entry, dict[str, str]]]:
        """Yield the entries a text may be made by, with what stands in their slots.

        Those that say most come first; for a run of clauses only those that span a break.
        """
        words = {"", *_WORDS.findall(text)}
        known = [one for word in words for one in self._by_landmark.get(word, ())]
        ends = len(SENTENCE_END.findall(text))
        for entry in sorted(known, key=lambda one: -one.weight):
            if entry.sentences != ends or (run and not entry.spans):
                continue
            slots = entry.slots_of(text)
            if slots is not None:
                yield entry, slots


def read_tables(code: str) -> Iterator[Mapping[str, str]]:
    """Yield the word tables of a language, one for each of its files."""
    folder = resources.files("moisturemap.language").joinpath(code)
    for file in sorted(folder.iterdir(), key=lambda one: one.name):
        if file.name.endswith(".toml"):
            yield tomllib.loads(file.read_text("utf-8"))


def _split(entries: Iterable[Entry]) -> tuple[dict[str, str], tuple[Entry, ...]]:
    fixed: dict[str, str] = {}
    patterns: dict[str, Entry] = {}
    for entry in entries:
        if entry.words == (entry.english,):
            fixed.setdefault(entry.english, entry.said)
        elif any(word.strip() for word in entry.words):
            patterns.setdefault(entry.english, entry)
    return fixed, tuple(sorted(patterns.values(), key=lambda one: -one.weight))


@cache
def language_of(code: str) -> Language:
    """Return a language by its code.

    Raises
    ------
    OptionError
        When there are no tables for it.
    """
    if code not in LANGUAGES:
        message = "no word tables for this language"
        raise OptionError(message, value=code, allowed=", ".join(LANGUAGES))
    if code == ENGLISH:
        return Language(ENGLISH, {}, (), Spelling())
    tables = [dict(table) for table in read_tables(code)]
    spelling = Spelling()
    for table in tables:
        if "spelling" in table:
            told: dict[str, Any] = dict(cast("dict[str, Any]", table.pop("spelling")))
            spelling = Spelling(**{**told, "joints": tuple(told["joints"])})
    whole = [Entry(english, said) for table in tables for english, said in table.items()]
    whole += [part for entry in whole for part in entry.parts()]
    fixed, patterns = _split([*whole, *(entry.bare() for entry in whole)])
    return Language(code, fixed, patterns, spelling)
