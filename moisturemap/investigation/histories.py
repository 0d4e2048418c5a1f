"""Histories of a slab under each cause, worked out on the slab as it is stated.

See ``docs/method/investigation.md``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from moisturemap.investigation.draw import CELLS, Draw, draw_slabs, slab_of
from moisturemap.investigation.feed import Feeds
from moisturemap.investigation.sources import FEEDS, covering
from moisturemap.investigation.story import Story
from moisturemap.slab import follow

Array = NDArray[np.float64]

HISTORIES = 1024
"""Histories tried of each cause. Our choice: with half as many, twice as many of 217 trial floors
had no history of their true cause near (none within a factor 20 on 16 and on 8)."""

AHEAD_DAYS = (30.0, 60.0)
"""Days after the latest reading that every history is followed for, so that a second reading can
be weighed before it is taken (our choice)."""

RISE = 0.08
"""A cause must have raised the humidity somewhere in the slab by this on a day of reading: what
does not wet the slab is not the cause. Our choice: at 0.05 every cause had histories too faint to
be told from construction water; a covering hardly fails by less."""

WET = 0.80
"""A slab that water made fail stands at this humidity somewhere on a day of reading, whatever the
cause; the monthly mean at which mould is expected (ISO 13788, from memory)."""

LEAST = 12
"""With fewer histories in which it still matters on the days of reading, depth is silent on it:
what it did has faded, or never reaches so far (our choice)."""

STEPS = 110
"""Steps from the first event to the latest reading (our choice: humidity to about 0.5 %RH)."""

PAIRS = {
    "ground+surface-water": ("ground", "surface-water"),
    "pressure-pipe+surface-water": ("pressure-pipe", "surface-water"),
    "wall+condensation": ("wall", "condensation"),
    "insulation+flood": ("insulation", "flood"),
}
"""Two causes at once that are worked out together; construction water is part of every cause."""


@dataclass(frozen=True)
class Histories:
    """Humidity at depth under one cause.

    Attributes
    ----------
    cause : str
        A key of ``CAUSES`` or of ``PAIRS``.
    z : ndarray, shape (n,)
        Depth over thickness.
    days : tuple of float
        As of the story, then ``AHEAD_DAYS``.
    h_pct : ndarray, shape (rows, days, n)
        [%RH]
    plain_pct : ndarray, shape (rows, days, n)
        The same slabs where the cause does not reach [%RH]; for construction water, which is
        everywhere, the same as ``h_pct``.
    """

    cause: str
    z: Array
    days: tuple[float, ...]
    h_pct: Array
    plain_pct: Array

    def at(self, day: float, share: float, *, beside: bool = False) -> Array:
        """Humidity of each history on a day at a depth over thickness [%RH], shape (rows,).

        Parameters
        ----------
        day : float
            One of ``days``.
        share : float
            Depth over thickness.
        beside : bool
            True asks for a place the cause does not reach.
        """
        frame = (self.plain_pct if beside else self.h_pct)[:, self.days.index(day)]
        right = int(np.clip(np.searchsorted(self.z, share), 1, self.z.size - 1))
        left = right - 1
        part = np.clip((share - self.z[left]) / (self.z[right] - self.z[left]), -0.5, 1.5)
        return np.asarray(frame[:, left] + part * (frame[:, right] - frame[:, left]))


def causes_for(story: Story) -> tuple[str, ...]:
    """Causes and pairs that can be worked out on a slab."""
    wanted = list(FEEDS)
    if story.build_up == "floating":
        # what comes from below meets the insulation first, and shows in the screed as it does
        wanted.remove("ground")
        wanted.remove("drain")
    else:
        wanted.remove("insulation")
    if story.ever_covered is False:
        wanted.remove("adhesive")
    pairs = [key for key, parts in PAIRS.items() if all(part in wanted for part in parts)]
    return (*wanted, *pairs)


@lru_cache(maxsize=64)
def histories(cause: str, story: Story, *, count: int = HISTORIES) -> Histories | None:
    """Work out the histories of a slab under a cause; None where depth is silent on it.

    Parameters
    ----------
    cause : str
        A key of ``FEEDS`` or of ``PAIRS``.
    story : Story
    count : int
        Histories tried; those are kept in which the cause matters.
    """
    draw = draw_slabs(story, count)
    known = _all(cause, story, count)
    plain = _all("construction-water", story, count)
    now = slice(0, len(story.days))
    if cause == "not-water":
        matters = np.ones(count, dtype=bool)
    else:
        matters = known[:, now].max(axis=(1, 2)) >= WET
    if cause not in ("not-water", "construction-water"):
        for part in PAIRS.get(cause, (cause,)):
            more = _all(part, story, count)[:, now] - plain[:, now]
            matters &= more.max(axis=(1, 2)) >= RISE
    if cause == "not-water":
        plain = known
    if matters.sum() < LEAST:
        return None
    days = (*story.days, *AHEAD_DAYS)
    return Histories(cause, draw.z, days, 100.0 * known[matters], 100.0 * plain[matters])


@lru_cache(maxsize=64)
def _all(cause: str, story: Story, count: int) -> Array:
    """Every history tried, whether the cause matters in it or not, shape (rows, days, n)."""
    draw = draw_slabs(story, count)
    days = (*story.days, *AHEAD_DAYS)
    if cause == "not-water":
        # an ordinary floor: any humidity a dry floor holds, about even through its depth
        dry = (0.35 + 0.40 * draw["onset"])[:, None] + np.outer(0.08 * draw["film"], draw.z)
        return np.repeat(dry[:, None, :], len(days), axis=1)
    feeds = covering(draw)
    for part in PAIRS.get(cause, (cause,)):
        feeds += FEEDS[part](draw)
    start = np.repeat(draw["start"][:, None], CELLS, axis=1)
    return follow(slab_of(draw), start, Feeds(feeds), _times(draw, days), np.array(days))


def _times(draw: Draw, days: tuple[float, ...]) -> Array:
    """Space the steps close after every event, and through every day reported."""
    first = float(draw["placed"].min())
    last = float(max(days))
    span = last - first
    story = draw.story
    events = [first, *(e for e in (story.covered, story.flood, story.lifted, story.repaired) if e)]
    events = [event for event in events if first <= event < last]
    points = [np.array(days), np.linspace(first, last, STEPS // 2)]
    each = max(12, STEPS // (2 * len(events)))
    points += [
        event + np.r_[0.0, np.geomspace(0.25, max(last - event, 1.0), each)] for event in events
    ]
    # and close before the latest reading, where short sources act
    points.append(last - np.r_[0.0, np.geomspace(1.0, max(min(span, 400.0), 2.0), 24)])
    times = np.unique(np.round(np.concatenate(points), 3))
    times = times[(times >= first) & (times <= last)]
    wanted = np.array(days)
    far = np.abs(times[:, None] - wanted[None, :]).min(axis=1) > 0.15
    return np.unique(np.concatenate([times[far], wanted, [first]]))
