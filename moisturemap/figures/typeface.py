"""Type of figures and documents: measured, wrapped, and able to draw the scripts people write in.

DejaVu Sans comes with matplotlib and draws Latin, Greek, Cyrillic, Arabic and Hebrew. For what it
lacks the fonts of the system are asked; the one that draws most of the missing letters joins it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from matplotlib.font_manager import FontProperties, fontManager, get_font
from matplotlib.ft2font import LoadFlags
from matplotlib.textpath import TextToPath

from moisturemap.figures.style import FONT
from moisturemap.language import keep_as_they_are, spoken

POINTS_PER_INCH = 72.0

TURNING = dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F])
"""Characters that turn the direction of all text after them; a figure must not be reversed."""

CONTROLS: dict[int, str | None] = {
    code: " " if chr(code).isspace() else None
    for code in (*range(0x20), *range(0x7F, 0xA0))
    if chr(code) != "\n"
}
"""Characters that no font draws: those that part words become spaces, the others go."""

UNDRAWN = {**TURNING, **CONTROLS}

MISSING = "\N{WHITE SQUARE}"
"""Stands for a letter that no font of this machine draws."""

LOOSE = 1.03
"""Measured widths are taken this much larger: renderers place letters on whole pixels."""

SET_ASIDE = (*FONT, "Last Resort High-Efficiency", "Last Resort", "Adobe Blank")
"""Fonts never asked for missing letters: ours, and those that claim all and draw boxes."""

_PLAIN_STYLES = ("normal",)


@dataclass(frozen=True, slots=True)
class Typeface:
    """A font of this machine.

    Attributes
    ----------
    family : str
    path : Path
    """

    family: str
    path: Path


def typefaces_for(text: str) -> tuple[Typeface, ...]:
    """Return fonts of the system for the letters of a text that the standard font lacks.

    Empty when it lacks none, or when no font of the system has any of them.
    """
    return _found(frozenset(text))


def missing_letters(text: str) -> str:
    """Return the letters of a text that no font of this machine draws, each once."""
    known = _standard().union(*(_letters(str(one.path)) for one in typefaces_for(text)))
    return "".join(dict.fromkeys(c for c in text if _is_drawn(c) and ord(c) not in known))


def families_for(text: str) -> list[str]:
    """Return the families to set a text in, the standard one first."""
    if text.isascii():
        return FONT
    return [*FONT, *(one.family for one in typefaces_for(text))]


@cache
def _found(letters: frozenset[str]) -> tuple[Typeface, ...]:
    wanted = {ord(c) for c in letters if _is_drawn(c)} - _standard()
    faces: list[Typeface] = []
    while wanted:
        best = max(
            _candidates(), key=lambda one: len(wanted & _letters(str(one.path))), default=None
        )
        if best is None or not wanted & _letters(str(best.path)):
            break
        faces.append(best)
        wanted -= _letters(str(best.path))
    return tuple(faces)


@cache
def _candidates() -> tuple[Typeface, ...]:
    """Upright fonts of normal weight, the same order on every call."""
    plain = [
        one
        for one in fontManager.ttflist
        if one.style in _PLAIN_STYLES and one.weight in (400, "normal", "regular")
    ]
    named = sorted({(one.name, one.fname) for one in plain if one.name not in SET_ASIDE})
    return tuple(Typeface(name, Path(path)) for name, path in named if path.endswith(_KINDS))


_KINDS = (".ttf", ".otf", ".ttc")


@cache
def _letters(path: str) -> frozenset[int]:
    try:
        return frozenset(get_font(path).get_charmap())
    except (OSError, RuntimeError):  # a font the system lists but nobody can read draws nothing
        return frozenset()


@cache
def _regular() -> str:
    return next(
        one.fname for one in fontManager.ttflist if one.name == FONT[0] and one.weight == 400
    )


@cache
def _standard() -> frozenset[int]:
    return _letters(_regular())


def advance(text: str) -> float:
    """Return by how much one line of the standard font moves on [em], as it stands; quick."""
    return sum(map(_advance, text))


@cache
def _advance(char: str) -> float:
    if ord(char) not in _standard():
        return 1.0
    face = get_font(_regular())
    face.set_size(POINTS_PER_INCH, POINTS_PER_INCH)
    glyph = face.load_char(ord(char), flags=LoadFlags.NO_HINTING)
    return float(glyph.linearHoriAdvance) / 65536 / POINTS_PER_INCH


def _is_drawn(char: str) -> bool:
    return not char.isspace() and ord(char) not in UNDRAWN


@cache
def _metric() -> TextToPath:
    return TextToPath()


def width_of(text: str, size: float, weight: str = "normal") -> float:
    """Return the width of one line of text [in] at a size [pt], in the language spoken."""
    return _width(spoken(text), size, weight)


@cache
def _width(text: str, size: float, weight: str) -> float:
    text = drawable(text)
    if not text:
        return 0.0
    properties = properties_for(text, size, weight)
    width, _, _ = _metric().get_text_width_height_descent(text, properties, ismath=False)
    return LOOSE * float(width) / POINTS_PER_INCH


BREAKABLE = re.compile(
    r"(?<!\d)[^\S\u00a0]+(?!F\.|r\. F)|(?<=\d)[^\S\u00a0]+(?!%|(?:m2|mm|m|ft2|ft|in|°C|°F)\b)"
)
"""Where a line may end: at any space but one before a unit, or that holds words together."""


def wrapped(text: str, width: float, size: float, weight: str = "normal") -> list[str]:
    """Return a text in lines no wider than `width` [in]; nothing of it is lost.

    The text is in the language spoken. A word that is wider by itself is broken where the line
    ends.
    """
    lines: list[str] = []
    for part in drawable(spoken(text)).split("\n"):
        line = ""
        for word in _pieces(BREAKABLE.split(part.strip()), width, size, weight):
            longer = f"{line} {word}" if line else word
            if line and _width(longer, size, weight) > width:
                lines.append(line)
                longer = word
            line = longer
        lines.append(line)
    keep_as_they_are(lines)
    return lines


def _pieces(words: Iterable[str], width: float, size: float, weight: str) -> Iterable[str]:
    """Yield words, those wider than a line in pieces."""
    for word in words:
        rest = word
        while _width(rest, size, weight) > width and len(rest) > 1:
            fits = max(1, int(len(rest) * width / _width(rest, size, weight)))
            while fits > 1 and _width(rest[:fits], size, weight) > width:
                fits -= 1
            yield rest[:fits]
            rest = rest[fits:]
        yield rest


_RIGHT_TO_LEFT_END = re.compile("[\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc](?=[:;,])")
"""Where a mark of direction keeps what follows a name on its right."""


def drawable(written: str) -> str:
    """Return a text as it can be drawn.

    Controls go, those that turn the direction of writing too; letters no font here has become
    squares. A name written from right to left ends at its colon or comma: the number after it is
    not its own.
    """
    if written.isascii() and written.replace("\n", "").isprintable():
        return written
    kept = _RIGHT_TO_LEFT_END.sub("\\g<0>\u200e", written.translate(UNDRAWN))
    lacking = missing_letters(kept)
    return kept.translate(dict.fromkeys(map(ord, lacking), MISSING)) if lacking else kept


def properties_for(text: str, size: float, weight: str = "normal") -> FontProperties:
    """Return the font of a text at a size [pt]; a font that joins in is never bold."""
    families = families_for(text)
    return FontProperties(
        family=families, size=size, weight=weight if families == FONT else "normal"
    )
