"""Machines that stand farther from a zone on the latest visit than where it was seen to dry.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from moisturemap.zones import MappedVisit

FARTHER_M = 3.0
"""A machine moved off by more than this dries a zone otherwise than before [m]: half the usual
throw of an air mover (our choice)."""

NAMES = {"dehumidifier": "dehumidifier", "air-mover": "air mover"}
"""Kinds of machines as they are said."""


def machines_moved(latest: MappedVisit, zone: BaseGeometry, name: str) -> str:
    """Say that the nearest machine of a kind stands farther from a zone than before; else "".

    Parameters
    ----------
    latest : MappedVisit
    zone : shapely geometry
        [m]
    name : str
        Of the zone.
    """
    table, now = latest.survey.equipment, latest.visit.id
    ids = [one.id for one in latest.survey.visits]
    listed = set(table["visit"])
    before = next((one for one in reversed(ids[: ids.index(now)]) if one in listed), None)
    if before is None or now not in listed:
        return ""
    for kind, words in NAMES.items():
        stood, stands = (_nearest(table, visit, kind, zone) for visit in (before, now))
        if stood is not None and stands is not None and stands > stood + FARTHER_M:
            return (
                f"The nearest {words} stands {stands:.1f} m from zone {name} on {now} and stood "
                f"{stood:.1f} m from it on {before}: the zone was seen to dry with it there, so no "
                "latest day is given. Count again from a visit after this one."
            )
    return ""


def _nearest(table: pd.DataFrame, visit: str, kind: str, zone: BaseGeometry) -> float | None:
    """Distance of the nearest machine of a kind on a visit [m]; None where there is none."""
    own = table[(table["visit"] == visit) & (table["kind"] == kind)].dropna(subset=["x", "y"])
    if own.empty:
        return None
    return float(shapely.distance(shapely.points(own["x"], own["y"]), zone).min())
