"""The language spoken at this moment: English until somebody asks for another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from moisturemap.language.language import ENGLISH, Spelling, language_of
from moisturemap.language.translation import Translator

_english = Translator(language_of(ENGLISH))
_now: ContextVar[Translator] = ContextVar("language", default=_english)


@contextmanager
def speaking(code: str, names: Iterable[str] = ()) -> Iterator[Translator]:
    """Speak a language while the block runs.

    Parameters
    ----------
    code : str
        One of ``LANGUAGES``.
    names : iterable of str
        Names people gave, which stay as they are.

    Raises
    ------
    OptionError
        When there are no tables for it.
    """
    token = _now.set(Translator(language_of(code), names))
    try:
        yield _now.get()
    finally:
        _now.reset(token)


def spoken(text: str) -> str:
    """Return an English text in the language spoken now."""
    now = _now.get()
    return text if now.language.code == ENGLISH else now.render(text).text


def keep_as_they_are(texts: Iterable[str]) -> None:
    """Leave texts that are in the language already as they are."""
    now = _now.get()
    if now.language.code != ENGLISH:
        now.keep(texts)


def keep_names(names: Iterable[str]) -> None:
    """Leave names people gave as they are, wherever they stand."""
    now = _now.get()
    if now.language.code != ENGLISH:
        now.name(names)


def spelling() -> Spelling:
    """Return how the language spoken now writes numbers."""
    return _now.get().language.spelling


def spoken_language() -> str:
    """Return the code of the language spoken now."""
    return _now.get().language.code


def units_in(language: str, units: str) -> str:
    """Return the units a survey is told in unless asked otherwise: its own in English, else metric.

    Parameters
    ----------
    language : str
        Code of a language; the word tables of all but English are written in metric units.
    units : str
        Units of the survey.
    """
    return units if language == ENGLISH else "metric"
