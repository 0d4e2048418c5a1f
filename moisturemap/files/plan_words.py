"""What the properties of a drawn thing say beside its kind: words in it, and how wide it is."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from moisturemap.floorplan import is_harmless, kind_of
from moisturemap.survey.harmless_note import strange_words

TEXT_KEYS = (
    *("text", "note", "notes", "description", "desc", "comment", "comments", "remark", "remarks"),
    *("label", "title", "content", "contents", "bemerkung", "hinweis", "beschreibung", "notiz"),
)
_WIDTH_KEY = re.compile(
    r"(?:outer |inner |nominal )?(?:width|diameter|dia|dn|breite|durchmesser|nennweite)"
    r"(?: (mm|cm|m|in|ft))?"
)
_VALUE = re.compile(r"(?:dn|ø|⌀)?\s*(\d+(?:[.,]\d+)?)\s*(mm|cm|m|in|inch|ft|\")?\s*")
_IN_WORDS = re.compile(
    r"\b(\d+(?:[.,]\d+)?)\s*(mm|cm|m|in|inch|ft|\")\s*(?:wide|dia|diameter|breit|durchmesser)\b"
    r"|(?:\bdn|ø|⌀|\bd\s*=)\s*(\d+(?:[.,]\d+)?)",
    re.IGNORECASE,
)
_SIZED = re.compile(r"(?<![\w.])([A-Z][A-Z.]{0,4})[ -]?[Øø⌀]? ?(\d{2,3})(?![\w.,/:]*\d)(?!\w)")
_SIZES = frozenset(
    (
        *(15, 18, 20, 22, 25, 28, 32, 35, 40, 42, 50, 54, 63, 65, 75, 76, 80, 90, 100, 108, 110),
        *(125, 133, 150, 160, 200, 225, 250, 300, 315, 350, 375, 400, 450, 500, 525, 600, 750, 900),
    )
)
"""Nominal and outside diameters of pipes and chambers [mm]: ISO 6708, EN 1057, EN 1401-1 (from
memory)."""
_LEVELS = (
    *("ffl ssl fl sl tos tof bos ch rl il level levels datum scale nts sqm qm lfm area size",),
    *("ok uk okff okrf okfb okf ukd rd fb rb lh lrh bh bo brh sth höhe hoehe niveau cote ht hsp",),
    *("vinyl carpet tile tiles tiled timber parquet laminate linoleum rubber screed concrete",),
    *("teppich fliesen parkett laminat pvc estrich beton moquette carrelage",),
)
"""What drawings write beside heights, areas and finishes."""
_METRES = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "inch": 0.0254, '"': 0.0254}
_METRES |= {"ft": 0.3048}
MOST_METRES = 10.0
"""A width without a unit up to this many is in metres, else in millimetres: the wider of what may
be meant, for a hole keeps clear of it (our choice)."""


def words_beside(properties: Any) -> str:
    """Return what a drawn thing says of itself in words, but for its name and kind.

    Parameters
    ----------
    properties : mapping
        As read; anything else says nothing.
    """
    if not isinstance(properties, dict):
        return ""
    by_name = {str(key).casefold(): value for key, value in properties.items()}
    found = [by_name.get(key) for key in TEXT_KEYS]
    return " ".join(" ".join(one.split()) for one in found if isinstance(one, str))


def names_size(text: str) -> bool:
    """Whether a text is a code beside a nominal size, as pipes and chambers are named.

    Examples
    --------
    >>> [names_size(one) for one in ("SS 100", "F.W. 50", "IC450", "CH 2.40", "hall 2")]
    [True, True, True, False, False]
    """
    return any(int(one[2]) in _SIZES for one in _SIZED.finditer(text))


def is_unknown(text: str, names: Iterable[str]) -> bool:
    """Whether a text of a drawing is made of words that nobody knows, or names a size.

    Parameters
    ----------
    text : str
    names : iterable of str
        What the rooms are called.

    Examples
    --------
    >>> [is_unknown(one, ["hall"]) for one in ("SS 100", "FFL +0.00", "asbestos tile", "hall 2")]
    [True, False, True, False]
    """
    if names_size(text):
        return True
    if kind_of(text) or is_harmless(text):
        return False
    return bool(strange_words(text, (*names, *_LEVELS)))


def stated_width_m(properties: Any, name: str) -> float:
    """Return the width that properties or a name state of a drawn thing [m]; 0 for none.

    The widest where several are stated. "DN 100" is 100 mm (ISO 6708: a nominal size, near the
    bore in millimetres); a plain number counts in metres up to ``MOST_METRES``.

    Parameters
    ----------
    properties : mapping
    name : str

    Examples
    --------
    >>> stated_width_m({"width_mm": 600}, "drain"), stated_width_m({}, "culvert 1,2 m wide")
    (0.6, 1.2)
    >>> stated_width_m({"Diameter": "150 mm"}, ""), stated_width_m({}, "sewer DN 100")
    (0.15, 0.1)
    """
    found = [0.0]
    for key, value in properties.items() if isinstance(properties, dict) else ():
        named = _WIDTH_KEY.fullmatch(" ".join(re.split(r"[\W_]+", str(key).casefold())))
        if named and not isinstance(value, bool):
            told = _VALUE.fullmatch(str(value).casefold().strip())
            dn = "dn" in str(key).casefold() or "dn" in str(value).casefold()
            found += [_metres(told[1], told[2] or named[1] or ("mm" if dn else ""))] if told else []
    for number, unit, nominal in _IN_WORDS.findall(name):
        found.append(_metres(number or nominal, unit.casefold() or "mm"))
    return max(found)


def _metres(number: str, unit: str) -> float:
    value = float(number.replace(",", "."))
    return value * _METRES.get(unit, 1.0 if value <= MOST_METRES else 0.001)
