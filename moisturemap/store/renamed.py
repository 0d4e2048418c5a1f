"""A room that gets another name takes along what is kept under its name."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from moisturemap.floorplan import Room
from moisturemap.store import survey_rows
from moisturemap.store.change import Change, layer_named
from moisturemap.store.record import Operation
from moisturemap.store.values import from_plain

SAME_ROOM = 0.5
"""Share of both rooms that lies in the other where a room was renamed (our choice)."""

SETTINGS = ("issued_holes", "loggers", "machine_logs")
"""Settings that are lists of what names its room."""


def renamed_rooms(before: Sequence[Room], after: Sequence[Room]) -> dict[str, str]:
    """Return the new names of rooms that were renamed, by the old ones.

    A room was renamed where its name is gone and one of a new name lies where it lay.

    Parameters
    ----------
    before, after : sequence of Room
    """
    old, new = ({room.name for room in rooms} for rooms in (before, after))
    gone = [room for room in before if room.name not in new]
    come = [room for room in after if room.name not in old]
    return {one.name: other.name for one in gone for other in come if _same(one, other)}


def _same(one: Room, other: Room) -> bool:
    common = one.polygon.intersection(other.polygon).area
    return bool(common > SAME_ROOM * max(one.polygon.area, other.polygon.area))


def carry_names(made: Change, names: Mapping[str, str]) -> dict[str, Any]:
    """Put new names of rooms in limits, readings, tests and visits; return the changed settings.

    Parameters
    ----------
    made : Change
    names : mapping of str to str
        New names by the old ones.
    """
    for layer in ("limits", "readings"):
        at = layer_named(layer).names.index("room")
        old = tuple(row for row in made.rows(layer) if row[at] in names)
        new = tuple([*row[:at], names[row[at]], *row[at + 1 :]] for row in old)
        if old:
            made.apply(Operation(layer, layer_named(layer).names, old, new))
    _carry_in_extra(made, names)
    settings = survey_rows.settings_of(made.rows("settings"))
    found = {key: tuple(_moved(one, names) for one in settings.get(key) or ()) for key in SETTINGS}
    return {key: now for key, now in found.items() if now and now != tuple(settings[key])}


def _carry_in_extra(made: Change, names: Mapping[str, str]) -> None:
    """Put new names in what tests and visits keep beside their columns."""
    for layer in ("tests", "visits"):
        at = layer_named(layer).names.index("extra")
        for row in made.rows(layer):
            kept = json.loads(row[at] or "{}")
            if layer == "tests" and kept.get("room") in names:
                made.correct(layer, row[0], {"room": names[kept["room"]]})
            if layer == "visits" and kept.get("acclimation"):
                log = tuple(_moved(one, names) for one in from_plain(kept["acclimation"]))
                made.correct(layer, row[0], {"acclimation": log})


def _moved(one: Any, names: Mapping[str, str]) -> Any:
    return replace(one, room=names[one.room]) if one.room in names else one
