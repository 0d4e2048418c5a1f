"""What to do with a machine, in words.

Method: docs/method/drying.md.
"""

from __future__ import annotations

import math
from typing import Any

from moisturemap.equipment.score import PlacementScore

NAMES = {"dehumidifier": "dehumidifier", "air-mover": "air mover"}

COMPASS = ("east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east")


def heading_word(direction_deg: float) -> str:
    """Say where a direction points; north is up in the plan."""
    return COMPASS[round(direction_deg / 45.0) % 8]


def described_move(row: dict[str, Any], wall: str, *, off_the_wet: bool = False) -> str:
    """Say what to do with one machine.

    Parameters
    ----------
    row : dict
        Of ``MOVE_COLUMNS``.
    wall : str
        The wall an air mover blows along, "" when it blows free of walls.
    off_the_wet : bool
        Whether it is moved away from what it serves, because it stands on wet floor.
    """
    name, kind = row["machine"], NAMES[row["kind"]]
    where = str(row["where"])
    to = f"to {where}" if not where.startswith("beside") else f"to stand {where}"
    heading = float(row["new_direction_deg"])
    blow = _blow(heading, wall, str(row["serves"]))
    covers = f", for {row['serves']}" if row["serves"] and math.isnan(heading) else ""
    if covers and off_the_wet:
        covers = f", off the wet floor it stands on: from there it serves {row['serves']}"
    action = row["action"]
    if action == "move":
        return f"Move {kind} {name} {row['way_m']:.1f} m {to}{blow}{covers}."
    if action == "turn":
        return f"Turn air mover {name} where it stands:{blow.lstrip(',')}."
    if action == "bring":
        stand = where if where.startswith("beside") else f"in {where}"
        return f"Bring one more {kind} and stand it {stand}{blow}{covers}."
    if action == "remove":
        return f"{kind.capitalize()} {name} is not needed here: take it away."
    return f"Leave {kind} {name} where it stands{blow}{covers}."


def listed_off_plan(row: dict[str, Any]) -> str:
    """Say that a machine is listed at a place that is in no room of the plan."""
    return (
        f"{row['machine']} is listed at ({row['x']:g}, {row['y']:g}), outside every room of the "
        "plan: see its place and the unit first."
    )


def crowded_out(row: dict[str, Any]) -> str:
    """Say that a machine that is wanted finds no place beside the others."""
    kind = NAMES[row["kind"]].capitalize()
    return (
        f"{kind} {row['machine']} finds no place that keeps clear of the other machines: take it "
        "out, or stand it in the next room with the door open."
    )


def _blow(heading: float, wall: str, serves: str) -> str:
    """Say where an air mover blows, across what and along which wall."""
    if math.isnan(heading):
        return ""
    across = f" across {serves}" if serves else ""
    along = f" along the {wall}" if wall else ""
    return f", blowing {heading_word(heading)}{along}{across}"


def score_sentence(score: PlacementScore) -> str:
    """Say how well a kind of machine serves the wet floor today and as proposed."""
    if score.kind == "air-mover":
        after = f"as proposed {score.proposed:.0f}%"
        if math.isnan(score.today):
            return (
                f"Air movers: none stands on the floor; {after} of the wet floor, counted by how "
                "wet it is, would lie in a stream of air."
            )
        return (
            f"Air movers: {score.today:.0f}% of the wet floor, counted by how wet it is, lies in "
            f"a stream of air today; {after}."
        )
    said = (
        f"Dehumidifiers: {_way(score.today, score.today_unreached_pct, 'today')}; "
        f"{_way(score.proposed, score.unreached_pct, 'as proposed')}."
    )
    if score.gain_pct > 0.0 and score.proposed > score.today:
        said += " That is farther, since a machine that stands on wet floor today is moved off it."
    return said


def _way(metres: float, lost_pct: float, when: str) -> str:
    """Say how far the wet floor is from a dehumidifier, and how much of it is not reached."""
    if math.isnan(metres):
        return f"{when} none is within reach of any wet floor"
    said = f"{when} wet floor lies {metres:.1f} m from the nearest one on average"
    return said if lost_pct < 0.5 else f"{said}, and {lost_pct:.0f}% of it is not reached"
