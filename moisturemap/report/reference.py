"""Numbers of figures and tables, and the references of the text to them.

A text refers by :func:`refer`; the mark is resolved when the report is put together, and each
writer makes a link or field of it. Marks lie in the private area of Unicode; a mark in somebody's
own text leads nowhere and disappears.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

from moisturemap.report.content import Block, Picture, Section, Table

OPEN, CLOSE = "\ue000", "\ue001"
_MARK = re.compile(f"{OPEN}([a-z0-9-]+)(?::([^{OPEN}{CLOSE}]*))?{CLOSE}")


def refer(key: str, otherwise: str = "") -> str:
    """Return the mark of a reference to a figure or table, with words for a report without it."""
    return f"{OPEN}{key}:{otherwise}{CLOSE}"


def numbered(sections: list[Section]) -> list[Section]:
    """Return sections with figures and tables numbered and the references to them resolved.

    A reference to what is not in the report becomes "" together with the brackets round it.
    """
    counts = {"Figure": 0, "Table": 0}
    names: dict[str, str] = {}
    made = []
    for section in sections:
        blocks: list[Block] = []
        for block in section.blocks:
            if isinstance(block, Picture | Table):
                kind = "Figure" if isinstance(block, Picture) else "Table"
                counts[kind] += 1
                key = block.key or f"{kind.lower()}-{counts[kind]}"
                names[key] = f"{kind} {counts[kind]}"
                blocks.append(replace(block, key=key, number=names[key]))
            else:
                blocks.append(block)
        made.append(replace(section, blocks=tuple(blocks)))
    return [_resolved(section, names) for section in made]


def _resolved(value: Any, names: dict[str, str]) -> Any:
    if isinstance(value, str):
        return _named(value, names) if OPEN in value else value
    if isinstance(value, tuple):
        return tuple(_resolved(one, names) for one in value)
    if is_dataclass(value) and not isinstance(value, type):
        told = {f.name: _resolved(getattr(value, f.name), names) for f in fields(value)}
        return replace(value, **told)
    return value


def _named(text: str, names: dict[str, str]) -> str:
    def name(match: re.Match[str]) -> str:
        key = match[1]
        return f"{OPEN}{key}:{names[key]}{CLOSE}" if key in names else match[2] or ""

    return re.sub(r" ?\(\s*\)", "", _MARK.sub(name, text))


def pieces(text: str) -> Iterator[tuple[str, str]]:
    """Yield (text, key) pieces; the key is "" for plain text."""
    at = 0
    for match in _MARK.finditer(text):
        if match.start() > at:
            yield text[at : match.start()], ""
        yield match[2] or "", match[1]
        at = match.end()
    if at < len(text):
        yield text[at:], ""


def plain(text: str) -> str:
    """Return a text with its references as plain words."""
    return "".join(words for words, _ in pieces(text))
