"""The content of a report as plain types, for the typesetter."""

from __future__ import annotations

import re
from typing import Any

from moisturemap.report.content import (
    Block,
    Bullets,
    Content,
    Paragraph,
    Picture,
    Signatures,
    Table,
    Terms,
    Verdict,
)
from moisturemap.report.wording import printable, shortened

_LONG_WORD = re.compile(r"\S{25,}")
_FINGERPRINT = re.compile(r"[0-9a-f]{64}")
_ZERO_WIDTH_SPACE = "\u200b"
_EVERY = 12

UPRIGHT = {"a4": (174.0, 177.0), "us-letter": (179.9, 157.0)}
TURNED = {"a4": (261.0, 154.0), "us-letter": (243.4, 160.0)}
"""Width and height a wide picture may take [mm]: below the head of its section on an upright page,
or alone on a page turned on its side."""

WORTH_TURNING = 1.15
"""How much larger a picture must become for a page of its own."""

SMALL = 0.5
"""Share of the height of an upright page for a picture that is not wide."""


def is_turned(picture: Picture, paper: str) -> bool:
    """Return whether a wide picture gets a page of its own, turned on its side."""
    (_, upright), (_, turned) = (_room(picture, page[paper]) for page in (UPRIGHT, TURNED))
    return picture.wide and turned > WORTH_TURNING * upright


def room_for(picture: Picture, paper: str) -> tuple[float, float]:
    """Return width and height [mm] a picture takes on paper."""
    return _room(picture, (TURNED if is_turned(picture, paper) else UPRIGHT)[paper])


def _room(picture: Picture, page: tuple[float, float]) -> tuple[float, float]:
    width, height = page[0], page[1] * (1.0 if picture.wide else SMALL)
    scale = min(width / picture.size[0], height / picture.size[1])
    return scale * picture.size[0], scale * picture.size[1]


def breakable(text: object) -> str:
    """Return printable text whose long words may break anywhere, so that no line runs out."""
    return _LONG_WORD.sub(_broken, printable(text))


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
        "number": breakable(shortened(content.number, 40)),
        "paper": content.paper,
        "about": [[breakable(one) for one in row] for row in content.about],
        "logo": None if content.logo is None else _picture(content.logo, files, content.paper),
        "sections": [
            {
                "number": one.number,
                "title": breakable(one.title),
                "new_page": one.new_page,
                "blocks": [_block(block, files, content.paper) for block in one.blocks],
            }
            for one in content.sections
        ],
    }


def _block(block: Block, files: Files, paper: str) -> dict[str, Any]:
    match block:
        case Paragraph(text, kind):
            return {"kind": "paragraph", "style": kind, "text": breakable(text)}
        case Verdict(headline, text):
            return {"kind": "verdict", "headline": breakable(headline), "text": breakable(text)}
        case Bullets(items):
            return {"kind": "bullets", "items": [breakable(one) for one in items]}
        case Terms(rows):
            return {"kind": "terms", "rows": [[breakable(one) for one in row] for row in rows]}
        case Signatures(roles):
            return {"kind": "signatures", "roles": [breakable(one) for one in roles]}
        case Table():
            return _table(block)
        case Picture():
            return _picture(block, files, paper)


def _table(table: Table) -> dict[str, Any]:
    return {
        "kind": "table",
        "caption": breakable(table.caption),
        "columns": [
            {"title": breakable(one.title), "width": one.width, "side": one.side}
            for one in table.columns
        ],
        "rows": [[breakable(cell) for cell in row] for row in table.rows],
        "dense": table.dense,
        "note": breakable(table.note),
    }


def _picture(picture: Picture, files: Files, paper: str) -> dict[str, Any]:
    return {
        "kind": "picture",
        "file": files.add(picture),
        "alt": breakable(picture.alt),
        "caption": breakable(picture.caption),
        "turned": is_turned(picture, paper),
        "height": room_for(picture, paper)[1],
    }
