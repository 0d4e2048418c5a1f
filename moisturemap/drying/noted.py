"""Notes of the latest visit that speak against drying going on as it did.

A note is no measurement: it makes nothing dry or wet, it takes the latest day away and is quoted.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from moisturemap.drying.running_words import running_words
from moisturemap.survey import Survey, Visit
from moisturemap.survey.drying_note_words import note_kind
from moisturemap.survey.harmless_note import left_open, strange_words
from moisturemap.survey.own_words import own_names, own_notes

_UNCHANGED = re.compile(
    r"\b(?:no changes?|nothing changed|keine änderung|nichts geändert|aucun changement)\b",
    re.IGNORECASE,
)

MEANS = {
    "water": (
        "Water may still arrive: find the source and stop it, and count again from visits after it."
    ),
    "changed": (
        "What dried the floor may not stand or run any more, and without it the floor dries more "
        "slowly: count again from visits after it."
    ),
    "treated": (
        "A surface that was warmed, dried or wiped reads lower than the floor is: read it again as "
        "it is."
    ),
    "open": (
        "Not all of that is known to be harmless: it may mean that the floor dries on otherwise, "
        "or reads otherwise than before. Clear it up by hand in brackets behind the note, "
        "(cleared: name, 2026-03-31), or count again from visits after it."
    ),
}


@dataclass(frozen=True, slots=True)
class LatestNote:
    """A note of the latest visit that takes the latest day away.

    Attributes
    ----------
    kind : str
        A key of ``MEANS``.
    quoted : str
        Where it is noted, and the note.
    """

    kind: str
    quoted: str

    @property
    def sentence(self) -> str:
        """What is noted, what that means, and what to do."""
        return f"{self.quoted} No latest day is named. {MEANS[self.kind]}"


def latest_notes(visit: Visit, survey: Survey) -> tuple[LatestNote, ...]:
    """Return what survey, latest visit and its readings note that speaks against drying on.

    Parameters
    ----------
    visit : Visit
    survey : Survey

    Returns
    -------
    tuple of LatestNote
        Each note once.
    """
    found, readings = [], survey.readings
    for said in own_notes(survey):
        if kind := _kind_of_visit(left_open(said), survey):
            found.append(LatestNote(kind, f"Noted of the survey: {said!r}."))
    note = visit.note.strip()
    if kind := _kind_of_visit(left_open(note), survey):
        found.append(LatestNote(kind, f"Noted on {visit.id}: {note!r}."))
    own = readings[(readings["visit"] == visit.id) & readings["note"].notna()]
    for text, rows in own.groupby(own["note"].astype(str).str.strip(), sort=False):
        if kind := note_kind(left_open(str(text))):
            first = rows.iloc[0]
            where = f"({first['x']:.2f}, {first['y']:.2f})"
            beside = f"a reading of {visit.id} at {where}"
            if len(rows) > 1:
                beside = f"{len(rows)} readings of {visit.id}, the first at {where}"
            found.append(LatestNote(kind, f"Noted beside {beside}: {str(text)!r}."))
    return tuple(found)


def _kind_of_visit(told: str, survey: Survey) -> str:
    """Return what a note of job or visit tells of; no list of what changes drying is complete."""
    strange = strange_words(_UNCHANGED.sub(" ", told), own_names(survey))
    known = running_words("visits").split()
    return note_kind(told) or ("open" if any(one not in known for one in strange) else "")
