"""What notes beside readings tell of the floor below: places to keep clear of, words to read."""

from __future__ import annotations

import numpy as np
import pandas as pd
from shapely.geometry import Point

from moisturemap.drilling.clearance import KNOWN_SERVICE_M, Obstacle
from moisturemap.drilling.options import DrillOptions
from moisturemap.floorplan import FloorPlan
from moisturemap.survey.note_words import names_wet_floor, warns_of_drilling

MOST_NOTED = 4
"""Notes of services that are quoted; of more, how many."""

Noted = tuple[float, float, str]
"""A place [m] and what is noted there."""


def notes_of(readings: pd.DataFrame) -> tuple[list[Noted], list[Noted]]:
    """Return the places of readings whose note forbids or names something, and of other notes.

    Parameters
    ----------
    readings : DataFrame
        With ``x``, ``y`` [m] and ``note``, of all visits.

    Returns
    -------
    (services, others) : lists of (x, y, note)
        ``others`` are notes that no list of words knows, without those on wet floor.
    """
    placed = readings.dropna(subset=["x", "y", "note"])
    placed = placed[placed["note"].map(str).str.strip().astype(bool)]
    placed = placed.drop_duplicates(["x", "y", "note"])
    places = placed[["x", "y"]].to_numpy(dtype=float).tolist()
    noted = [(x, y, str(note)) for (x, y), note in zip(places, placed["note"], strict=True)]
    services = [one for one in noted if warns_of_drilling(one[2])]
    others = [one for one in noted if one not in services and not names_wet_floor(one[2])]
    return services, others


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


def noted_warnings(noted: list[Noted]) -> list[str]:
    """Say that notes name services whose course the plan does not draw."""
    if not noted:
        return []
    where = [f"{note!r} at x {x:.2f} m, y {y:.2f} m" for x, y, note in noted[:MOST_NOTED]]
    more = f" and {len(noted) - MOST_NOTED} more" if len(noted) > MOST_NOTED else ""
    return [
        f"Notes of the scan or the drawing name services, or forbid to drill: {'; '.join(where)}"
        f"{more}. Holes keep clear of these places, not of a course nobody drew: locate it and "
        "draw it on the plan before any drilling."
    ]


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
