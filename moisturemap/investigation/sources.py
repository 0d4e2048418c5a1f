"""What each cause does to a slab: the water it meets, where and when.

Ranges without a source are our choice. See ``docs/method/investigation.md``.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from moisturemap.investigation.draw import Draw
from moisturemap.investigation.feed import Feed
from moisturemap.slab import USUAL_DIFFUSIVITY, temperature_factor

Array = NDArray[np.float64]

SD_FILM_MM_DAY = 0.5
"""Exchange through a covering of 1 m of air [mm/day]: 2e-10 kg/(m s Pa) times 2340 Pa over the
80 kg/m3 that concrete holds at saturation (textbook values, from memory)."""


SUCTION_MM = (2.0, 60.0)
"""How deep free water is drawn in, over the root of days [mm]: sorptivities of 0.05-0.2 mm/min^0.5
(Hall and Hoff, Water Transport in Brick, Stone and Concrete, from memory) over the 8-15% of volume
that fills are 13-95; coverings and moist slabs slow it, so the band begins near none (our
choice)."""

SOAKED = 4.0
"""Times a soaked cell would fill while the water stands: 98% (our choice)."""


def covering(draw: Draw) -> list[Feed]:
    """Close the top while curing, open it to the room, cover it, open it again."""
    never = np.full(draw.count, np.inf)
    bare_until = draw["covered"]
    lifted = never if draw.story.lifted is None else np.full(draw.count, draw.story.lifted)
    open_from = draw["placed"] + draw["delay"]
    leak = SD_FILM_MM_DAY / draw["sd"]
    air = draw["room"]
    return [
        Feed(draw.top, draw["open_film"], air, open_from, bare_until),
        Feed(draw.top, leak, air, bare_until, lifted),
        Feed(draw.top, draw["open_film"], air, lifted, never),
    ]


def _none(draw: Draw) -> list[Feed]:
    return []


def _ground(draw: Draw) -> list[Feed]:
    """From placing on for four in ten (no membrane), else from some day (damaged)."""
    start = np.where(draw["cycle"] < 0.4, draw["placed"], draw.onset())
    film = draw.scaled("film", 0.05, 10.0)  # Biot 0.2 to 50 for 150 mm
    never = np.full(draw.count, np.inf)
    return [Feed(draw.bottom, film, draw["humidity"], start, never)]


def _pipe(draw: Draw) -> list[Feed]:
    """Feed a wet point at 30% to the full depth, still running or stopped.

    Below a screed that floats, half of the leaks run into the insulation (our choice).
    """
    share = draw.one_cell(0.3 + 0.7 * draw["where"])
    film, wet = draw.scaled("film", 0.3, 50.0), np.ones(draw.count)
    if draw.story.build_up != "floating":
        return [Feed(share, film, wet, draw.onset(), draw.end())]
    below = draw["cycle"] < 0.5
    return [
        Feed(share, np.where(below, 0.0, film), wet, draw.onset(), draw.end()),
        *_from_insulation(draw, draw.onset(), below),
    ]


def _drain(draw: Draw) -> list[Feed]:
    """Wet below, by its use: part of every day, as a steady mean."""
    share = draw.one_cell(0.7 + 0.3 * draw["where"])
    film, wet = draw.scaled("film", 0.2, 20.0), np.ones(draw.count)
    return [Feed(share, film, wet, draw.onset(), draw.end())]


def _flood(draw: Draw) -> list[Feed]:
    """Wet the top for 1 to 21 days, as deep as suction draws it; three in ten from below too.

    Below a screed that floats, half of the floods leave the insulation wet for good (WTA guidance
    on drying screeds, from memory; the share is our choice).
    """
    if draw.story.flood is None:
        day = draw.onset(latest=-2.0)
    else:
        day = np.full(draw.count, draw.story.flood)
    lasts = draw.scaled("cycle", 1.0, 21.0)
    until = day + lasts
    wet, strong = np.ones(draw.count), draw.scaled("film", 1.0, 50.0)
    below = np.where(draw["stops"] < 0.3, 0.2 * strong, 0.0)
    front = draw.scaled("layer_water", *SUCTION_MM) * np.sqrt(lasts)
    feeds = [
        Feed(draw.top, strong, wet, day, until),
        Feed(draw.bottom, below, wet, day, until),
        Feed(draw.above(front) * draw.width_mm, SOAKED / lasts, wet, day, until),
    ]
    if draw.story.build_up == "floating":
        feeds += _from_insulation(draw, day, draw["where"] < 0.5)
    return feeds


def _surface(draw: Draw) -> list[Feed]:
    """Wet the top again and again until today, or until the repair."""
    end = np.full(draw.count, np.inf if draw.story.repaired is None else draw.story.repaired)
    return [
        Feed(
            draw.top,
            draw.scaled("film", 0.3, 30.0),
            np.ones(draw.count),
            draw.onset(latest=-10.0),
            end,
            draw.scaled("cycle", 1.0, 60.0),
            0.1 + 0.8 * draw["where"],
            draw["stops"],
        )
    ]


def _condensation(draw: Draw) -> list[Feed]:
    """Damp the top through weeks of every year, weaker than free water."""
    return [
        Feed(
            draw.top,
            draw.scaled("film", 0.05, 4.0),
            np.ones(draw.count),
            draw.onset(latest=-20.0),
            np.full(draw.count, np.inf),
            np.full(draw.count, 365.0),
            0.1 + 0.4 * draw["where"],
            draw["stops"],
        )
    ]


def _wall(draw: Draw) -> list[Feed]:
    """From the side, 50 to 600 mm away, over the full depth."""
    film = _from_side(draw, draw.scaled("where", 50.0, 600.0))
    share = draw.width_mm
    start = np.where(draw["cycle"] < 0.4, draw["placed"], draw.onset())
    return [Feed(share, film, draw["humidity"], start, np.full(draw.count, np.inf))]


def _insulation(draw: Draw) -> list[Feed]:
    """Wet insulation below from an event on."""
    if draw.story.flood is None:
        start = draw.onset()
    else:
        start = np.full(draw.count, draw.story.flood)
    return _from_insulation(draw, start, np.ones(draw.count, dtype=bool))


def _from_insulation(draw: Draw, start: Array, here: NDArray[np.bool_]) -> list[Feed]:
    """Wet a floating screed from the insulation: below it and, for half, at its edge.

    At the edge the foil ends behind the strip and the screed draws up what collects there, over all
    of its depth at once, 30 to 300 mm away (WTA guidance on drying screeds, from memory; the
    numbers are our choice).
    """
    never = np.full(draw.count, np.inf)
    soaked = np.where(here, draw.scaled("film", 0.1, 5.0), 0.0)
    at_edge = here & (draw["layer"] < 0.5)
    drawn = np.where(at_edge, _from_side(draw, draw.scaled("layer_rate", 30.0, 300.0)), 0.0)
    return [
        Feed(draw.bottom, soaked, draw["humidity"], start, never),
        Feed(draw.width_mm, drawn, draw["humidity"], start, never),
    ]


def _from_side(draw: Draw, away_mm: Array) -> Array:
    """Exchange of a column with water so far to its side [mm/day over its width]."""
    rate = USUAL_DIFFUSIVITY * draw["rate"] * temperature_factor(draw.story.temperature_c)
    return np.asarray(rate * (np.pi / (2.0 * away_mm)) ** 2)


def _adhesive(draw: Draw) -> list[Feed]:
    """Soak the top 2 to 9 mm on the day of covering."""
    covered = draw["covered"]
    reach = (2.0 + 7.0 * draw["where"]) / draw.width_mm.sum(axis=1)
    share = np.clip((reach[:, None] - draw.z[None, :]) * draw.z.size, 0.0, 1.0)
    share[:, 0] = 1.0
    film = draw.scaled("film", 2.0, 20.0)
    day = np.where(np.isfinite(covered), covered, np.inf)
    return [Feed(share, film, np.ones(draw.count), day, day + 1.5)]


FEEDS: dict[str, Callable[[Draw], list[Feed]]] = {
    "pressure-pipe": _pipe,
    "drain": _drain,
    "ground": _ground,
    "wall": _wall,
    "insulation": _insulation,
    "flood": _flood,
    "surface-water": _surface,
    "condensation": _condensation,
    "construction-water": _none,
    "adhesive": _adhesive,
    "not-water": _none,
}
