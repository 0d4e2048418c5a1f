"""What a cause does to an invented slab, day by day."""

from __future__ import annotations

import numpy as np

CELLS = 30
"""Cells of a column, top to bottom."""


def nothing(story, count, rng):
    return lambda day, h, rate, dx: None


def onset(story, count, rng, latest=-15.0):
    return rng.uniform(story.covered, latest, count)


def fed(cell, film, start, end=None, wet=1.0, column=0):
    end = np.full(start.size, np.inf) if end is None else end

    def act(day, h, rate, dx):
        on = (day >= start) & (day < end)
        index = np.arange(start.size)
        rate[index, column, cell] += on * film * (wet - h[index, column, cell]) / dx

    return act


def ground(story, count, rng):
    start = np.where(rng.random(count) < 0.5, story.placed, onset(story, count, rng, -60.0))
    film = np.exp(rng.uniform(np.log(0.3), np.log(8.0), count))
    wet = rng.uniform(0.97, 1.0, count)
    return fed(np.full(count, CELLS - 1), film, start, wet=wet)


def pipe(story, count, rng):
    start = onset(story, count, rng)
    end = np.where(rng.random(count) < 0.3, start + rng.uniform(5, 60, count), np.inf)
    return fed(rng.integers(CELLS // 2, CELLS, count), np.full(count, 20.0), start, end)


def drain(story, count, rng):
    start = onset(story, count, rng)
    film = rng.uniform(2.0, 15.0, count)
    return fed(np.full(count, CELLS - 1), film, start)


def flood(story, count, rng):
    """Stand on the floor for days; into half of the slabs water is drawn behind a moving front."""
    start = onset(story, count, rng, -65.0)
    if rng.random() < 0.5:  # some are fresh when they are read the first time
        start = np.minimum(rng.uniform(story.covered, -20.0, count), -20.0)
    return standing_water(start, start + rng.uniform(3, 20, count), story, rng)


def standing_water(start, end, story, rng):
    """Wet the top, and soak by suction: the front lies at a sorptivity times the root of time."""
    top = fed(np.zeros(start.size, int), np.full(start.size, 25.0), start, end)
    drawn = np.where(rng.random(start.size) < 0.5, rng.uniform(8.0, 50.0, start.size), 0.0)
    centre = (np.arange(CELLS) + 0.5) / CELLS * story.thickness_mm

    def act(day, h, rate, dx):
        top(day, h, rate, dx)
        on = (day >= start) & (day < end)
        front = drawn * np.sqrt(np.clip(day - start, 0.0, None))
        soaked = on[:, None] & (centre[None, :] < front[:, None])
        rate[:, 0] += np.where(soaked, 2.0 * (1.0 - h[:, 0]), 0.0)

    return act


def surface_water(story, count, rng):
    start, period = onset(story, count, rng, -40.0), rng.uniform(2.0, 14.0, count)
    film, duty = rng.uniform(2.0, 15.0, count), rng.uniform(0.3, 0.8, count)

    def act(day, h, rate, dx):
        on = (day >= start) & ((day / period) % 1.0 < duty)
        rate[:, 0, 0] += on * film * (1.0 - h[:, 0, 0]) / dx

    return act


def condensation(story, count, rng):
    phase, film = rng.uniform(0.0, 1.0, count), rng.uniform(0.2, 1.5, count)

    def act(day, h, rate, dx):
        on = (day >= story.covered) * np.clip(np.sin(2 * np.pi * (day / 365.0 + phase)), 0, 1)
        rate[:, 0, 0] += on * film * (1.0 - h[:, 0, 0]) / dx

    return act


def wall(story, count, rng):
    start = np.where(rng.random(count) < 0.5, story.placed, onset(story, count, rng, -90.0))
    reach = rng.uniform(60.0, 250.0, count)

    def act(day, h, rate, dx):
        on = (day >= start) * 29.0 * (np.pi / 2 / reach) ** 2
        rate[:, 0] += on[:, None] * (0.99 - h[:, 0])

    return act


def adhesive(story, count, rng):
    reach = rng.uniform(3.0, 9.0, count)

    def act(day, h, rate, dx):
        if story.covered <= day < story.covered + 1.0:
            depth = (np.arange(CELLS)[None, :] + 0.5) * dx[:, None]
            rate[:, 0] += np.where(depth <= reach[:, None], 10.0 * (1.0 - h[:, 0]), 0.0)

    return act


def pocket(story, count, rng):
    """Wet a void at mid depth that held water at covering, and held it for a time."""
    start = np.full(count, story.covered)
    return fed(
        rng.integers(CELLS // 4, CELLS // 2, count),
        np.full(count, 30.0),
        start,
        start + rng.uniform(10, 40, count),
    )


ACTS = {
    "construction-water": nothing,
    "not-water": nothing,
    "ground": ground,
    "pressure-pipe": pipe,
    "drain": drain,
    "flood": flood,
    "surface-water": surface_water,
    "condensation": condensation,
    "wall": wall,
    "adhesive": adhesive,
    "pocket": pocket,
}
