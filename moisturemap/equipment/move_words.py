"""What to do with a machine, in words."""

from __future__ import annotations

import math
from typing import Any

from moisturemap.equipment.score import PlacementScore

NAMES = {"dehumidifier": "dehumidifier", "air-mover": "air mover"}

COMPASS = ("east", "north-east", "north", "north-west", "west", "south-west", "south", "south-east")


def heading_word(direction_deg: float) -> str:
    """Say where a direction points; north is up in the plan."""
    return COMPASS[round(direction_deg / 45.0) % 8]


def described_move(row: dict[str, Any]) -> str:
    """Say what happens to one machine, from a row of ``MOVE_COLUMNS``."""
    name, kind = row["machine"], NAMES[row["kind"]]
    here, there = f"({row['x']:.1f}, {row['y']:.1f})", f"({row['new_x']:.1f}, {row['new_y']:.1f})"
    heading = float(row["new_direction_deg"])
    blow = "" if math.isnan(heading) else f", blowing {heading_word(heading)}"
    covers = f": serves {row['serves']}" if row["serves"] else ""
    gains = (
        f" Alone it gains {row['gain_alone']:.0f} points over today; left where it is while "
        f"the others move, {row['loss_if_left']:.0f} points are lost."
    )
    action = row["action"]
    if action == "move":
        return f"Move {kind} {name} from {here} to {there}{blow}{covers}.{gains}"
    if action == "turn":
        return f"Turn {kind} {name} at {here} to blow {heading_word(heading)}{covers}.{gains}"
    if action == "bring":
        return (
            f"Bring one more {kind} to {there}{blow}{covers}. It adds "
            f"{row['loss_if_left']:.0f} points."
        )
    if action == "remove":
        return f"{kind.capitalize()} {name} at {here} is not needed here."
    return f"Leave {kind} {name} at {here}{blow}{covers}."


def score_sentence(score: PlacementScore) -> str:
    """Say how well a kind of machine serves the wet floor today and as proposed."""
    how = (
        "every combination of the positions looked at was tried"
        if score.exact
        else "found by greedy choice, random starts and exchange"
    )
    none = math.isnan(score.today)
    if score.kind == "air-mover":
        today = f"today {score.today:.0f} % of the wet floor's need lies in a stream of air"
        today = "no air mover stands on the floor" if none else today
        return f"Air movers: {today}; as proposed {score.proposed:.0f} % ({how})."
    today = f"today the air of the wet floor has {score.today:.1f} m to go to the nearest one"
    today = "no dehumidifier stands on the floor" if none else today
    return f"Dehumidifiers: {today}; as proposed {score.proposed:.1f} m ({how})."
