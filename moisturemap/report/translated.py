"""A report in the language spoken: every text of its content, with its references kept."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass, replace
from typing import Any

from moisturemap.language import ENGLISH, spoken, spoken_language
from moisturemap.report.content import Content, Table
from moisturemap.report.reference import CLOSE, OPEN

_MARK = re.compile(f"{OPEN}([^{OPEN}{CLOSE}:]*):?([^{OPEN}{CLOSE}]*){CLOSE}")
_NO_TEXT = ("png", "svg", "kind", "side", "key", "number", "paper", "logo", "language")


def translated(content: Content) -> Content:
    """Return a report in the language spoken; English stays as it is."""
    language = spoken_language()
    if language == ENGLISH:
        return content
    made: Content = _of(content)
    return replace(made, language=language, number=content.number, title=content.title)


def _of(value: Any) -> Any:
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, tuple):
        return tuple(_of(one) for one in value)
    if is_dataclass(value) and not isinstance(value, type):
        keep = (*_NO_TEXT, "rows") if isinstance(value, Table) and value.verbatim else _NO_TEXT
        told = {f.name: _of(getattr(value, f.name)) for f in fields(value) if f.name not in keep}
        number = getattr(value, "number", "")
        return replace(value, **told, **({"number": spoken(number)} if number else {}))
    return value


def _text(text: str) -> str:
    """Return a text with its references aside while it is written again."""
    if OPEN not in text:
        return spoken(text)
    marks = _MARK.findall(text)
    numbers = iter(range(len(marks)))
    aside = _MARK.sub(lambda match: f"{OPEN}{next(numbers)}{CLOSE}", text)

    def back(match: re.Match[str]) -> str:
        key, words = marks[int(match[1])]
        return f"{OPEN}{key}:{spoken(words)}{CLOSE}"

    return re.sub(f"{OPEN}(\\d+){CLOSE}", back, spoken(aside))
