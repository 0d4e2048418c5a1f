"""Readings of one scan that notes or columns tell to be of another meter, mode or range.

Scales never merge: a place that reads low on another scale may be the wettest of the floor.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.survey import Survey
from moisturemap.survey.harmless_note import left_open

_METER = (
    r"(?:meter|scanner|instrument|device|head|messger[äa]t|ger[äa]t|scanner|appareil|humidimètre)"
)
_OTHER = re.compile(
    rf"\b(?:another|other|second|2nd|new|spare|different|borrowed|hired|replacement|ander\w+|zweite\w*"
    rf"|neue\w*|autre|deuxième|nouvel\w*)\s+{_METER}\b"
    rf"|\b{_METER}\s+(?:was |were )?(?:changed|swapped|replaced|gewechselt|getauscht|changé\w*)"
    rf"|\b(?:changed|swapped|switched)\s+(?:to\s+)?(?:\w+\s+)?{_METER}\b"
    rf"|\b(?:with|by|mit|avec)\s+{_METER}\s+(?:(?:no|nr|n°)\W*)?(?:[a-z]\b|\d)"
    r"|\b(?:other|another|different|low|high|coarse|fine|shallow|deep|ander\w+|autre)\s+"
    r"(?:mode|range|scale|setting|modus|bereich|messbereich|mode|échelle)\b",
    re.IGNORECASE,
)
_COLUMN = re.compile(
    rf"(?:^|;\s*|\n)\s*(?P<of>{_METER}(?: ?(?:no|nr|id|serial)\.?)?|mode|range|scale|setting|modus"
    r"|messbereich|bereich|einstellung|échelle|calibre)\s*:\s*(?P<says>[^;\n]+)",
    re.IGNORECASE,
)


def mixed_meters_doubts(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say that some readings of the latest scan are noted as of another meter, mode or range.

    Parameters
    ----------
    survey : Survey
    judged : sequence of JudgedTest
    """
    if survey.readings.empty or not any(one.judged for one in judged):
        return []
    visit = survey.scanned_visit().id
    rows = survey.readings[survey.readings["visit"] == visit]
    found = []
    for meter, own in rows.groupby("instrument", sort=True):
        notes = [left_open(note) for note in own["note"].map(str)]
        stated = [_stated(note) for note in notes]
        named = {one for one in stated if one}
        mixed = len(named) > 1 or (named and not all(stated))
        said = next((note for note in notes if _OTHER.search(note)), "")
        if mixed and not said:
            rare = min(named, key=stated.count)
            said = next(note for note, one in zip(notes, stated, strict=True) if one == rare)
        if said:
            found.append(
                f"readings of {meter} on visit {visit} are noted as of another meter, mode or range"
                f" ({said!r}): scales never merge, so the wettest place may read low; keep them"
                " in a file of their own with their instrument, or read them again with one"
            )
    return found


def _stated(note: str) -> str:
    """Return meter, mode or range as columns of one's own have them; "" where none does."""
    return "; ".join(
        f"{told['of'].casefold()}: {told['says'].strip().casefold()}"
        for told in _COLUMN.finditer(note)
    )
