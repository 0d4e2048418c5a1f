"""What stands above the headings of a table: titles, and sentences that say something of it."""

from __future__ import annotations

import re

from moisturemap.files.table import Table, is_blank, shown
from moisturemap.survey.harmless_note import is_cleared, strange_words
from moisturemap.survey.note_words import may_spoil_test, names_fault

_ABOUT = re.compile(
    r"(?:job|project|client|customer|site|building|address|date|day|operator|inspector|tester"
    r"|instruments?|meter|probe|serial|limit|sheet|page|report|ref(?:erence)?|floor|rooms?|visit"
    r"|company|contractor|architect|order|standard|method|phone|e-?mail|units?|revision|author"
    r"|kunde|auftrag|projekt|objekt|bauvorhaben|datum|prüfer|gerät|grenzwert|blatt|seite|bericht"
    r"|raum|firma|bauleiter|norm|verfahren|client|chantier|projet|affaire|adresse|appareil|limite"
    r"|feuille|rapport|pièce|société)\b[^\n]{0,80}",
    re.IGNORECASE,
)
"""Lines that name the job, its people and its papers (common words)."""

_TITLE = (
    *("moisture humidity relative concrete calibrated situ tests record records results report",),
    *("sheet log table data form list readings rh prüfungen messungen protokoll liste",),
    *("ergebnisse bericht formular relevé mesures humidité essais résultats tableau feuille",),
)
"""Words of titles."""


def said_above(table: Table, heading: int) -> dict[int, str]:
    """Return what is said above the headings, by row from 0: all but titles.

    Parameters
    ----------
    table : Table
    heading : int
        Row of the headings.
    """
    lines = {
        row: " ".join(shown(cell) for cell in table.rows[row] if not is_blank(cell))
        for row in range(heading)
    }
    return {row: line for row, line in lines.items() if line and not _is_title(line)}


def _is_title(line: str) -> bool:
    if is_cleared(line) or may_spoil_test(line) or names_fault(line):
        return False
    return _ABOUT.fullmatch(line.strip()) is not None or not strange_words(line, _TITLE)
