"""What notes beside readings tell of the floor below: places to keep clear of, words to read."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
import pandas as pd
from shapely.geometry import Point

from moisturemap.drilling.clearance import KNOWN_SERVICE_M, Obstacle
from moisturemap.drilling.options import DrillOptions
from moisturemap.floorplan import FloorPlan
from moisturemap.survey import Survey
from moisturemap.survey.harmless_note import left_open, strange_words
from moisturemap.survey.note_words import names_wet_floor, warns_of_drilling
from moisturemap.survey.own_words import LEFT_UNREAD, own_names, own_notes

MOST_NOTED = 4
"""Notes of services that are quoted; of more, how many."""

MOST_SHARE, FEW_PLACES = 0.1, 3
"""A note beside more than this share of the places read, and more than a few, is a remark of the
walk (our choice)."""

WITH_WET = ("touch", "feels", "felt", "looks", "very", "patch", "stain", "surface", "still", "sehr")
"""Words beside one for wet floor that name nothing else (common words)."""

MARKS = ("", "x", "xx", "xxx")
"""Notes that mark a place and do not say why (common practice)."""

Noted = tuple[float, float, str]
"""A place [m] and what is noted there."""


@dataclass(frozen=True)
class FloorNotes:
    """What is noted of places on the floor.

    Attributes
    ----------
    services : list of (x, y, note)
        Notes beside readings and tests that name something below, or forbid to drill.
    unknown : list of (x, y, note)
        Notes beside readings that hold a word of which nobody knows whether it names such a thing.
    others : list of (x, y, note)
        The other notes beside readings, without those on wet floor.
    """

    services: list[Noted]
    unknown: list[Noted]
    others: list[Noted]


def notes_of(survey: Survey) -> FloorNotes:
    """Sort the notes beside readings and tests of all visits by what they may name.

    A note beside many readings is a remark of the walk: it is no place to keep clear of.

    Parameters
    ----------
    survey : Survey
    """
    beside = _placed(survey.readings)
    tests = [one for one in _placed(survey.tests) if warns_of_drilling(one[2])]
    if not beside:
        return FloorNotes(tests, [], [])
    most = max(MOST_SHARE * len(survey.readings[["x", "y"]].drop_duplicates()), FEW_PLACES)
    often = Counter(note for _, _, note in beside)
    services = [*(one for one in beside if warns_of_drilling(one[2])), *tests]
    rest = [one for one in beside if one not in services]
    names = tuple(own_names(survey))
    unknown = [one for one in rest if often[one[2]] <= most and _strange(one[2], names)]
    others = [one for one in rest if one not in unknown and not names_wet_floor(one[2])]
    return FloorNotes(services, unknown, others)


def _placed(table: pd.DataFrame) -> list[Noted]:
    """Return the places and notes of rows that have both, each once."""
    if not {"x", "y", "note"} <= set(table.columns):
        return []
    x, y = (table[name].to_numpy(dtype=float, na_value=np.nan) for name in ("x", "y"))
    known = table["note"].notna().to_numpy() & ~np.isnan(x) & ~np.isnan(y)
    rows, notes = np.flatnonzero(known), table["note"].to_numpy(dtype=object)
    placed = ((float(x[k]), float(y[k]), str(notes[k])) for k in rows)
    return list(dict.fromkeys(one for one in placed if one[2].strip()))


def _strange(note: str, names: tuple[str, ...]) -> bool:
    """Whether a note that nobody cleared up holds a word that may name a thing below."""
    words = strange_words(left_open(note), names)
    if names_wet_floor(note):
        words = tuple(one for one in words if one not in WITH_WET and not names_wet_floor(one))
    return note.strip(" !?").casefold() in MARKS or bool(words)


def told_without_place(survey: Survey) -> list[str]:
    """Say which notes of visits and of the survey name a service, and which files may draw one.

    Parameters
    ----------
    survey : Survey
    """
    noted = [(f"on {one.id}", one.note) for one in survey.visits]
    noted += [("of the survey", text) for text in own_notes(survey)]
    unread = [one for one in survey.notes if LEFT_UNREAD in one]
    return unread + [
        f"Noted {where}: {text!r}. It names a service, or forbids to drill, and no place on the"
        " plan: locate it and draw it before any drilling."
        for where, text in noted
        if warns_of_drilling(left_open(text))
    ]


def noted_on(plan: FloorPlan) -> list[Noted]:
    """Return the texts of a drawing that name something below, or forbid to drill, at their place.

    Parameters
    ----------
    plan : FloorPlan
    """
    return [
        (line.geometry.x, line.geometry.y, line.name)
        for line in plan.lines_of("keep-clear")
        if isinstance(line.geometry, Point) and line.name
    ]


def noted_obstacles(noted: list[Noted], options: DrillOptions) -> list[Obstacle]:
    """Return places whose note names a service, or forbids to drill, as obstacles."""
    keep = max(options.clearance_m, KNOWN_SERVICE_M)
    return [
        Obstacle(f"the place noted {note!r}", Point(x, y), keep, embedded=True)
        for x, y, note in noted
    ]


def noted_warnings(noted: list[Noted], unknown: list[Noted]) -> list[str]:
    """Say which notes name services whose course the plan does not draw, or may do so."""
    found = []
    if noted:
        found.append(
            f"Notes of the scan or the drawing name services, or forbid to drill: {_told(noted)}."
            " Holes keep clear of these places, not of a course nobody drew: locate it and draw it"
            " on the plan before any drilling."
        )
    if unknown:
        found.append(
            f"Notes that may name something below: {_told(unknown)}. Holes keep clear of these"
            ' places: read them before any drilling, and write "(cleared: name, date)" behind a'
            " note that names nothing there."
        )
    return found


def _told(noted: list[Noted]) -> str:
    where = [f"{note!r} at x {x:.2f} m, y {y:.2f} m" for x, y, note in noted[:MOST_NOTED]]
    more = f" and {len(noted) - MOST_NOTED} more" if len(noted) > MOST_NOTED else ""
    return f"{'; '.join(where)}{more}"


def words_beside(others: list[Noted], x: float, y: float, reach: float) -> str:
    """Quote the notes within reach [m] of a hole that no list of words knows; "" for none."""
    near = sorted(
        (float(np.hypot(a - x, b - y)), note)
        for a, b, note in others
        if np.hypot(a - x, b - y) <= reach
    )
    told = list(dict.fromkeys(note for _, note in near))[:MOST_NOTED]
    if not told:
        return ""
    return f"Noted within {reach:.2f} m: {', '.join(map(repr, told))}; read it before any drilling."
