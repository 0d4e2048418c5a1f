"""Invented floors with a screed floating on foil and insulation.

Water on the foil wets the screed from below. Water in the insulation reaches it through the foil
by diffusion alone, through leaking laps, or by suction at the edge, where the foil ends behind the
strip and the screed stands in what collects there. So a screed may stay dry over wet insulation.
All ranges are ours; the mechanism is that of guidance on drying screeds (WTA, from memory).
"""

from __future__ import annotations

import numpy as np
from shapely.geometry import Point, box
from wetting import ACTS, CELLS, fed, onset, standing_water

THROUGH_MM_DAY = 0.5
"""Exchange by diffusion through 1 m of air [mm/day], as for coverings."""

ON_THE_FOIL = 0.5
"""Share of leaking pipes that lie on the foil; the others lie below it."""

DOWN_THE_EDGE = 0.6
"""Share of floods that ran down the edge into the insulation."""


def in_a_screed(cause: str, story, count: int, rng: np.random.Generator):
    """Return what a cause does to the first of two columns, by day, and where, by name."""
    edge = np.zeros(count, bool)
    below = np.zeros(count, bool)
    start = onset(story, count, rng, -40.0)
    acts = []
    if cause in ("insulation", "drain", "ground"):
        below = np.ones(count, bool)
        if cause == "ground":  # rises through the slab and keeps the insulation damp
            start = np.full(count, story.placed)
    elif cause == "pressure-pipe":
        below = rng.random(count) > ON_THE_FOIL
        acts.append(_on_the_foil(start, ~below, rng))
    elif cause == "flood":
        below = rng.random(count) < DOWN_THE_EDGE
        start = onset(story, count, rng, -65.0)
        end = start + rng.uniform(3, 20, count)
        acts.append(standing_water(start, end, story, rng))
    else:
        acts.append(ACTS[cause](story, count, rng))
    if below.any():
        edge = below & (rng.random(count) < 0.5)
        acts.append(_from_insulation(start, below, edge, rng))

    def act(day, h, rate, dx):
        for one in acts:
            one(day, h, rate, dx)

    return act, {"at the edge of the screed": edge, "water in the insulation": below}


def _on_the_foil(start, here, rng: np.random.Generator):
    """Free water between screed and foil, which nothing drains, from a leak that goes on."""
    film = np.where(here, np.exp(rng.uniform(np.log(3.0), np.log(25.0), start.size)), 0.0)
    return fed(np.full(start.size, CELLS - 1), film, start)


def _from_insulation(start, here, edge, rng: np.random.Generator):
    """Wet insulation: through the foil, through laps, or by suction at the edge."""
    count = start.size
    foil = THROUGH_MM_DAY / np.exp(rng.uniform(np.log(20.0), np.log(100.0), count))
    laps = np.exp(rng.uniform(np.log(0.3), np.log(5.0), count))
    open_laps = rng.random(count) < 0.3
    film = np.where(here, np.where(edge | open_laps, laps, foil), 0.0)
    wet = rng.uniform(0.97, 1.0, count)
    away = rng.uniform(30.0, 120.0, count)  # of the hole from the edge
    reach = CELLS * rng.uniform(0.3, 1.0, count)  # suction lifts it this far up the edge
    height = CELLS - np.arange(CELLS)[None, :]

    def act(day, h, rate, dx):
        on = (day >= start) * 1.0
        rate[:, 0, -1] += on * film * (wet - h[:, 0, -1]) / dx
        side = on * edge * 29.0 * (np.pi / 2 / away) ** 2
        rate[:, 0] += side[:, None] * (height <= reach[:, None]) * (wet[:, None] - h[:, 0])

    return act


def zone_in_a_screed(cause: str, place, edge: bool, rng: np.random.Generator):
    """Outline of the wet zone, which may reach out of the room."""
    if edge:
        along = rng.uniform(1.5, 6.0)
        strip = box(0, place[1] - along, rng.uniform(0.4, 1.0), place[1] + along)
        return strip.union(box(0, 0, 10, rng.uniform(0.4, 1.0))) if rng.random() < 0.5 else strip
    if cause in ("insulation", "drain", "ground") and rng.random() < 0.6:
        return box(0, 0, rng.uniform(6.0, 10.0), 8.0)
    if cause == "construction-water" and rng.random() < 0.8:
        return box(0, 0, rng.uniform(8.0, 10.0), 8.0)
    if cause == "pressure-pipe":  # spreads on the foil
        return Point(place).buffer(rng.uniform(1.2, 4.0))
    return Point(place).buffer(rng.uniform(0.8, 3.0 if cause == "flood" else 1.5))
