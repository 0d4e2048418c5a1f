"""The languages the program speaks, from word tables; see ``docs/languages.md``.

The rooms further in write English sentences. At the door - report, figure, terminal - a sentence is
looked up in the tables of the language asked for and written again in it, so that files for
machines and records stay in one language, and no room needs to know which one is spoken.
"""

from moisturemap.language.language import ENGLISH, LANGUAGES, Language, Spelling, language_of
from moisturemap.language.spoken import (
    keep_as_they_are,
    keep_names,
    speaking,
    spelling,
    spoken,
    spoken_language,
    units_in,
)

__all__ = [
    "ENGLISH",
    "LANGUAGES",
    "Language",
    "Spelling",
    "keep_as_they_are",
    "keep_names",
    "language_of",
    "speaking",
    "spelling",
    "spoken",
    "spoken_language",
    "units_in",
]
