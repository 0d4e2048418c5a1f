"""The content of a report as plain types, for the typesetter."""

from __future__ import annotations

import re
from typing import Any

from moisturemap.language import spoken
from moisturemap.report.content import (
    Block,
    Bullets,
    Column,
    Content,
    Contents,
    Paragraph,
    Picture,
    Signatures,
    Table,
    Terms,
    Verdict,
)
from moisturemap.report.keeping import stays
from moisturemap.report.picture_size import room_for
from moisturemap.report.reference import pieces, plain
from moisturemap.report.wording import printable, shortened

_ZERO_WIDTH_SPACE = "\u200b"
_LONG_WORD = re.compile(r"\S{25,}")
_JOINED = re.compile(
    r"(?<=\d) (?=%|°[CF]|(?:m2|mm|m|ft2|ft|inHg|in|Pa|K|h|min)\b)|(?<=\bx,) (?=y\b)"
    r"|(?<=k) (?== 2)|(?<=k =) (?=2)|(?<=±) |(?<=%) (?=r\. F)|(?<=r\.) (?=F\.)"
    r"|(?<=-\d\d) (?=\d\d:\d\d)|(?<=\b\d{4}) (?=\d\d:\d\d)"
    r"|(?<=\bEN) (?=\d)|(?<=\bISO) (?=\d)|(?<=\bASTM) (?=[A-Z]\d)|(?<=\b(?:AS|BR|BS|RT)) (?=\d)"
    r"|(?<=\bNT) (?=BUILD \d)|(?<=\bBUILD) (?=\d)|(?<=\b(?:ACI|DIN)) (?=\d)"
    r"|(?<=\bsection) (?=\d)|(?<=\bAbschnitt) (?=\d)"
    r"|(?<=\d) (?=CFR \d)|(?<=\bCFR) (?=\d)"
    r"|(?<=\d) (?=\d+/\d+ in\b)|(?<=\bft) (?=\d)|(?<=/\d) (?=in\b)|(?<=/\d\d) (?=in\b)"
    r"|(?<=\bedition) (?=-\d)|(?<=\bAusgabe) (?=-\d)|(?<=\bN[or]\.) (?=\d)"
)
"""Blanks at which no line ends: before a unit or a time, inside ``x, y``, ``(k = 2)`` and the name
of a standard, after ±, before the number of an edition, a section, a flat or a house."""

_MONTH = (
    "January|February|March|April|May|June|July|August|September|October|November|December"
    "|Januar|Februar|März|Mai|Juni|Juli|Oktober|Dezember"
)
DAY = rf"\b\d{{1,2}}\.? (?:{_MONTH}) \d{{4}}\b|\b(?:{_MONTH}) \d{{1,2}}, \d{{4}}\b"
"""A day in words, within which no line ends."""
_DAY = re.compile(DAY)

_SIGN = re.compile(r"(?<![\w.,)/;:-])(?<!edition[ \u00a0])(?<!Ausgabe[ \u00a0])-(?=\d)")
"""A hyphen that is the sign of a number, none of a name, date, range or edition of a standard."""

_UNPARTED = re.compile(
    r"(?<=\d)-(?=%)|(?<=%)-(?=\w)|(?<=\b\d{4})-(?=\d\b)|(?<=\b[A-Z])-(?=\d)|(?<=[ne]\u00a0)-(?=\d)"
)
"""Hyphens at which no line ends: beside %, before the part of a standard, as in EN 1264-4, in the
name of a hole, as in H-3, and before the number of an edition."""

_GAP = f"[ \t\n{_ZERO_WIDTH_SPACE}]+"
_FINGERPRINT = re.compile(r"[0-9a-f]{64}")
_EVERY = 12


def joined(text: object) -> str:
    """Return printable text in which a number and its unit, or a day, stay on one line."""
    whole = _DAY.sub(lambda day: day[0].replace(" ", "\u00a0"), printable(text))
    return _JOINED.sub("\u00a0", whole)


def signed(text: str) -> str:
    """Return a text with true minus signs."""
    return _SIGN.sub("\u2212", text)


def bound(text: object) -> str:
    """Return joined text with true minus signs, and hyphens at which no line ends.

    A word processor parts a number from a hyphen.
    """
    return _UNPARTED.sub("\u2011", signed(joined(text)))


_DASHED_DAY = re.compile(r"\b(\d{4})-(\d\d)-(\d\d)\b")


def unbroken(text: object) -> str:
    """Return bound text in which no line ends within a day written with hyphens either.

    A typesetter keeps those together by itself, and what is searched for in its document is found.
    """
    return _DASHED_DAY.sub("\\1\u2011\\2\u2011\\3", bound(text))


def breakable(text: object) -> str:
    """Return bound text whose long words may break anywhere, so that no line runs out."""
    return _LONG_WORD.sub(_broken, bound(text))


def copied(text: object) -> str:
    """Return breakable text with its own hyphens, such as a number that somebody searches for."""
    return _LONG_WORD.sub(_broken, signed(joined(text)))


def _broken(match: re.Match[str]) -> str:
    word = match[0]
    if _FINGERPRINT.fullmatch(word):
        return word  # stands where it fits, and must be copied without anything between
    return _ZERO_WIDTH_SPACE.join(word[at : at + _EVERY] for at in range(0, len(word), _EVERY))


class Files:
    """Pictures by the file names the typesetter finds them under."""

    def __init__(self) -> None:
        self.content: dict[str, bytes] = {}

    def add(self, picture: Picture) -> str:
        """Take a picture, as vectors where there are any, and return its file name."""
        kind = "svg" if picture.svg else "png" if picture.png.startswith(b"\x89PNG") else "jpg"
        name = f"picture-{len(self.content)}.{kind}"
        self.content[name] = picture.svg or picture.png
        return name


def plain_content(content: Content, files: Files) -> dict[str, Any]:
    """Return a report as the template reads it; its pictures go into ``files``."""
    return {
        "title": breakable(content.title),
        "subtitle": content.subtitle,
        "heading": breakable(shortened(content.title, 60)),
        "author": [],
        "number": copied(shortened(content.number, 40)),
        "paper": content.paper,
        "language": content.language,
        "words": {
            "report": spoken("Report"),
            "foot": content.foot,
            "sheet": spoken("Sheet"),
            "of": spoken("of"),
            "contents": spoken("Contents"),
        },
        "about": [[copied(one) for one in row] for row in content.about],
        "logo": None if content.logo is None else _picture(content.logo, files, content.paper),
        "sections": [
            {
                "number": one.number,
                "title": breakable(one.title),
                "new_page": one.new_page,
                "blocks": _blocks(one.blocks, files, content.paper),
            }
            for one in content.sections
        ],
    }


MEASURED_WORDS, UNBROKEN = 3, 24
"""Of the longest words of a column, so many are measured: fewer letters may still be wider. A value
of at most so many letters, such as a place, stays on one line (our choice)."""


def _longest_words(column: Column, cells: list[str]) -> list[dict[str, Any]]:
    """Return what a column must be wide enough for: words that do not break, and short values."""
    words: dict[str, None] = {}
    for cell in cells:
        if column.side == "right" and len(cell) <= UNBROKEN:
            words[breakable(cell)] = None
            continue
        words.update(dict.fromkeys(re.split(_GAP, breakable(plain(cell)))))
    long = sorted(words, key=len, reverse=True)[:MEASURED_WORDS]
    heads = re.split(_GAP, breakable(column.title))
    told = [(word, True) for word in heads] + [(word, False) for word in long]
    return [{"text": text, "head": head} for text, head in told if text]


def _runs(text: str) -> list[dict[str, str]]:
    """Return a text in runs; a run with a key is a reference."""
    return [{"text": breakable(words), "key": key} for words, key in pieces(text)]


def _blocks(blocks: tuple[Block, ...], files: Files, paper: str) -> list[dict[str, Any]]:
    made = [_block(block, files, paper) for block in blocks]
    for block, told, after in zip(blocks, made, (*blocks[1:], None), strict=False):
        leads = isinstance(block, Paragraph) and block.leads
        told["sticky"] = leads and stays(block, after, paper)
    return made


def _block(block: Block, files: Files, paper: str) -> dict[str, Any]:
    match block:
        case Contents():
            return {"kind": "contents"}
        case Paragraph(text, kind):
            return {"kind": "paragraph", "style": kind, "text": _runs(text)}
        case Verdict(headline, text):
            return {"kind": "verdict", "headline": breakable(headline), "text": breakable(text)}
        case Bullets(items):
            return {"kind": "bullets", "items": [_runs(one) for one in items]}
        case Terms(rows):
            return {
                "kind": "terms",
                "rows": [[breakable(plain(name)), _runs(text)] for name, text in rows],
            }
        case Signatures(roles):
            return {
                "kind": "signatures",
                "roles": [breakable(f"{one}: {spoken('name, date, signature')}") for one in roles],
            }
        case Table():
            return _table(block)
        case Picture():
            return _picture(block, files, paper)


def _table(table: Table) -> dict[str, Any]:
    return {
        "kind": "table",
        "key": table.key,
        "number": table.number,
        "caption": breakable(table.caption),
        "columns": [
            {
                "title": breakable(one.title),
                "width": one.width,
                "side": one.side,
                "words": _longest_words(one, [row[k] for row in table.rows]),
                "blank": all(not row[k].strip() for row in table.rows),
            }
            for k, one in enumerate(table.columns)
        ],
        "rows": [[_runs(cell) for cell in row] for row in table.rows],
        "dense": table.dense,
        "note": _runs(table.note),
    }


def _picture(picture: Picture, files: Files, paper: str) -> dict[str, Any]:
    return {
        "kind": "picture",
        "file": files.add(picture),
        "alt": breakable(picture.alt),
        "caption": breakable(picture.caption),
        "key": picture.key,
        "number": picture.number,
        "width": room_for(picture, paper)[0],
        "height": room_for(picture, paper)[1],
        "narrow": picture.narrow,
    }
