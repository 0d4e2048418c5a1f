"""Histories of a slab under each cause, worked out on the slab as it is stated.

Every range below is even or log-even and states its source or that it is our choice; none is a
measurement of the floor. See ``docs/method/investigation.md``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from moisturemap.investigation.feed import Feed, Feeds
from moisturemap.investigation.story import Story
from moisturemap.slab import (
    USUAL_DIFFUSIVITY,
    DiffusivityCurve,
    FedSlab,
    Isotherm,
    Material,
    follow,
    temperature_factor,
)

Array = NDArray[np.float64]

CELLS = 22
MATERIALS = 48
"""Different materials among the histories of one cause (our choice; more change no ratio)."""

HISTORIES = 512
"""Histories tried of each cause (our choice)."""

SEED = 11

AHEAD_DAYS = (30.0, 60.0)
"""Days after the latest reading that every history is followed for, so that a second reading can
be weighed before it is taken (our choice)."""

RISE = 0.08
"""A cause must have raised the humidity somewhere in the slab by this on a day of reading: what
does not wet the slab is not the cause. Our choice: at 0.05 every cause had histories too faint to
be told from construction water; a covering hardly fails by less."""

WET = 0.80
"""Construction water must stand at this humidity somewhere in the slab on a day of reading; the
monthly mean at which mould is expected (ISO 13788, from memory)."""

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

LONGEST_DAYS = 3650.0
"""Earliest day of placing that is tried when nobody knows it [days before the readings]."""

RANGES: dict[str, tuple[float, float, str]] = {
    "start": (0.88, 1.0, "even"),  # fresh concrete less its self-desiccation; our choice
    "rate": (0.5, 2.0, "log"),  # D1 over that of 30 MPa, good to a factor of two (fib MC 2010)
    "floor": (0.05, 0.5, "log"),  # diffusivity when dry; as the drying model's library
    "centre": (0.75, 0.90, "even"),
    "steepness": (4.0, 16.0, "log"),
    "linear": (0.0, 1.0, "even"),  # isotherm, from the published curve to a line
    "water_cement": (0.4, 0.65, "even"),
    "room": (0.40, 0.70, "even"),  # room air while drying
    "delay": (0.0, 28.0, "even"),  # days under curing sheet; our choice
    "open_film": (1.0, 30.0, "log"),  # bare or coated surface to the air [mm/day]; our choice
    "sd": (3.0, 300.0, "log"),  # vapour resistance of the covering [m of air]; sheets and carpets
    "placed": (60.0, LONGEST_DAYS, "log"),  # days ago, when not stated
    "covered": (0.0, 1.0, "even"),  # between 28 days after placing and the readings, not stated
    "onset": (0.0, 1.0, "even"),  # of a source, between covering (or placing) and the readings
    "film": (0.0, 1.0, "even"),  # of the source; scaled by the cause
    "where": (0.0, 1.0, "even"),  # depth, reach or season; scaled by the cause
    "humidity": (0.96, 1.0, "even"),  # of free water or wet ground
    "cycle": (0.0, 1.0, "even"),
    "stops": (0.0, 1.0, "even"),
    "layer": (0.0, 1.0, "even"),  # of a bonded screed: its share of the depth
    "layer_rate": (0.0, 1.0, "even"),
    "layer_water": (0.0, 1.0, "even"),
}

SD_FILM_MM_DAY = 0.5
"""Exchange through a covering of 1 m of air [mm/day]: 2e-10 kg/(m s Pa) times 2340 Pa over the
80 kg/m3 that concrete holds at saturation (textbook values, from memory)."""


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

        ``beside`` asks for a place the cause does not reach.
        """
        frame = (self.plain_pct if beside else self.h_pct)[:, self.days.index(day)]
        right = int(np.clip(np.searchsorted(self.z, share), 1, self.z.size - 1))
        left = right - 1
        part = np.clip((share - self.z[left]) / (self.z[right] - self.z[left]), -0.5, 1.5)
        return np.asarray(frame[:, left] + part * (frame[:, right] - frame[:, left]))


@dataclass(frozen=True)
class _Draw:
    """Parameters of the histories of one cause."""

    story: Story
    values: dict[str, Array]
    z: Array
    width_mm: Array

    def __getitem__(self, name: str) -> Array:
        return self.values[name]

    @property
    def count(self) -> int:
        return int(self.values["start"].size)

    def cells(self, top: float, bottom: float) -> Array:
        """Share of each cell between two depths over thickness, shape (rows, n)."""
        edges = np.r_[0.0, np.cumsum(self.width_mm[0])] / self.width_mm[0].sum()
        inside = np.minimum(edges[1:], bottom) - np.maximum(edges[:-1], top)
        share = np.clip(inside / np.diff(edges), 0.0, 1.0)
        return np.tile(share, (self.count, 1))

    def one_cell(self, where: Array) -> Array:
        """Mark the cell at a depth over thickness of each row, shape (rows, n)."""
        index = np.abs(self.z[None, :] - where[:, None]).argmin(axis=1)
        share = np.zeros((self.count, self.z.size))
        share[np.arange(self.count), index] = 1.0
        return share

    @property
    def top(self) -> Array:
        return self.one_cell(np.zeros(self.count))

    @property
    def bottom(self) -> Array:
        return self.one_cell(np.ones(self.count))

    def scaled(self, name: str, low: float, high: float) -> Array:
        """Return a parameter even in logarithm between two values."""
        return np.asarray(low * (high / low) ** self.values[name])

    def onset(self, latest: float = -3.0) -> Array:
        """Day a source begins: after covering, or after placing where nothing was covered."""
        first = np.where(np.isfinite(self["covered"]), self["covered"], self["placed"])
        first = np.minimum(first, latest - 1.0)
        # the source may have begun yesterday or years ago: even in the logarithm of its age
        age = np.exp(np.log(-latest) + self["onset"] * (np.log(-first) - np.log(-latest)))
        return np.asarray(-age)

    def end(self) -> Array:
        """Day a source stops: the repair, for three in ten some day, else never."""
        never = np.full(self.count, np.inf)
        if self.story.repaired is not None:
            return np.full(self.count, self.story.repaired)
        begun = self.onset()
        some = begun + (self["stops"] / 0.3) * (0.0 - begun)
        return np.where(self["stops"] < 0.3, some, never)


def _none(draw: _Draw) -> list[Feed]:
    return []


def _ground(draw: _Draw) -> list[Feed]:
    """From placing on for four in ten (no membrane), else from some day (damaged)."""
    start = np.where(draw["cycle"] < 0.4, draw["placed"], draw.onset())
    film = draw.scaled("film", 0.05, 10.0)  # Biot 0.2 to 50 for 150 mm
    never = np.full(draw.count, np.inf)
    return [Feed(draw.bottom, film, draw["humidity"], start, never)]


def _pipe(draw: _Draw) -> list[Feed]:
    """Feed a wet point at 30 % to the full depth, still running or stopped."""
    share = draw.one_cell(0.3 + 0.7 * draw["where"])
    film, wet = draw.scaled("film", 0.3, 50.0), np.ones(draw.count)
    return [Feed(share, film, wet, draw.onset(), draw.end())]


def _drain(draw: _Draw) -> list[Feed]:
    """Wet below, by its use: part of every day, as a steady mean."""
    share = draw.one_cell(0.7 + 0.3 * draw["where"])
    film, wet = draw.scaled("film", 0.2, 20.0), np.ones(draw.count)
    return [Feed(share, film, wet, draw.onset(), draw.end())]


def _flood(draw: _Draw) -> list[Feed]:
    """Wet the top for 1 to 21 days; with an open slab three in ten are wet from below too."""
    if draw.story.flood is None:
        day = draw.onset(latest=-2.0)
    else:
        day = np.full(draw.count, draw.story.flood)
    until = day + draw.scaled("cycle", 1.0, 21.0)
    wet, strong = np.ones(draw.count), draw.scaled("film", 1.0, 50.0)
    below = np.where(draw["stops"] < 0.3, 0.2 * strong, 0.0)
    return [
        Feed(draw.top, strong, wet, day, until),
        Feed(draw.bottom, below, wet, day, until),
    ]


def _surface(draw: _Draw) -> list[Feed]:
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


def _condensation(draw: _Draw) -> list[Feed]:
    """Damp the top through weeks of every year, weaker than free water."""
    return [
        Feed(
            draw.top,
            draw.scaled("film", 0.03, 1.5),
            np.ones(draw.count),
            draw.onset(latest=-20.0),
            np.full(draw.count, np.inf),
            np.full(draw.count, 365.0),
            0.2 + 0.3 * draw["where"],
            draw["stops"],
        )
    ]


def _wall(draw: _Draw) -> list[Feed]:
    """From the side, 50 to 600 mm away, over the full depth."""
    away = draw.scaled("where", 50.0, 600.0)
    rate = USUAL_DIFFUSIVITY * draw["rate"] * temperature_factor(draw.story.temperature_c)
    share = draw.width_mm
    film = rate * (np.pi / (2.0 * away)) ** 2
    start = np.where(draw["cycle"] < 0.4, draw["placed"], draw.onset())
    return [Feed(share, film, draw["humidity"], start, np.full(draw.count, np.inf))]


def _insulation(draw: _Draw) -> list[Feed]:
    """Wet insulation below from an event on."""
    if draw.story.flood is None:
        start = draw.onset()
    else:
        start = np.full(draw.count, draw.story.flood)
    film, never = draw.scaled("film", 0.1, 5.0), np.full(draw.count, np.inf)
    return [Feed(draw.bottom, film, draw["humidity"], start, never)]


def _adhesive(draw: _Draw) -> list[Feed]:
    """Soak the top 2 to 9 mm on the day of covering."""
    covered = draw["covered"]
    reach = (2.0 + 7.0 * draw["where"]) / draw.width_mm.sum(axis=1)
    share = np.clip((reach[:, None] - draw.z[None, :]) * draw.z.size, 0.0, 1.0)
    share[:, 0] = 1.0
    film = draw.scaled("film", 2.0, 20.0)
    day = np.where(np.isfinite(covered), covered, np.inf)
    return [Feed(share, film, np.ones(draw.count), day, day + 1.5)]


FEEDS: dict[str, Callable[[_Draw], list[Feed]]] = {
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


def causes_for(story: Story) -> tuple[str, ...]:
    """Causes and pairs that can be worked out on a slab."""
    wanted = list(FEEDS)
    if story.build_up != "floating":
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
    draw = _draw(story, count)
    known = _all(cause, story, count)
    plain = _all("construction-water", story, count)
    now = slice(0, len(story.days))
    if cause == "construction-water":
        matters = plain[:, now].max(axis=(1, 2)) >= WET
    elif cause == "not-water":
        matters = np.ones(count, dtype=bool)
    else:
        matters = np.ones(count, dtype=bool)
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
    draw = _draw(story, count)
    days = (*story.days, *AHEAD_DAYS)
    if cause == "not-water":
        # an ordinary floor: any humidity a dry floor holds, about even through its depth
        dry = (0.35 + 0.40 * draw["onset"])[:, None] + np.outer(0.08 * draw["film"], draw.z)
        return np.repeat(dry[:, None, :], len(days), axis=1)
    feeds = _covering(draw)
    for part in PAIRS.get(cause, (cause,)):
        feeds += FEEDS[part](draw)
    start = np.repeat(draw["start"][:, None], CELLS, axis=1)
    return follow(_slab(draw), start, Feeds(feeds), _times(draw, days), np.array(days))


@lru_cache(maxsize=8)
def _draw(story: Story, count: int) -> _Draw:
    """Draw the parameters; the same for every cause, so that ratios are not left to chance."""
    unit = qmc.Sobol(len(RANGES), seed=SEED).random_base2(int(np.ceil(np.log2(count))))
    values: dict[str, Array] = {}
    for column, (name, (low, high, way)) in zip(unit[:count].T, RANGES.items(), strict=True):
        values[name] = low * (high / low) ** column if way == "log" else low + column * (high - low)
    if story.room_rh is not None:
        values["room"] = np.clip(story.room_rh + 0.5 * (values["room"] - 0.55), 0.2, 0.9)
    _date(values, story)
    width = np.minimum(1.22 ** np.arange(CELLS), (1.22 ** np.arange(CELLS))[::-1])
    width = width / width.sum() * story.thickness_mm
    z = (np.cumsum(width) - 0.5 * width) / story.thickness_mm
    return _Draw(story, values, z, np.tile(width, (count, 1)))


def _date(values: dict[str, Array], story: Story) -> None:
    """Put days in the place of the shares drawn for placing and covering."""
    first = story.days[0]
    count = values["placed"].size
    ages = values["placed"]
    if story.placed is not None:
        placed = np.full(count, story.placed)
    else:
        known = [one for one in (story.covered, story.lifted, first) if one is not None]
        placed = min(known) - ages
    if story.ever_covered is False:
        covered = np.full(count, np.inf)
    elif story.covered is not None:
        covered = np.full(count, story.covered)
    else:
        last = min(one for one in (story.lifted, first - 7.0) if one is not None)
        early = np.minimum(placed + 28.0, last - 1.0)
        covered = early + values["covered"] * (last - early)
        if story.ever_covered is None:
            covered = np.where(values["delay"] < 7.0, np.inf, covered)
    values["placed"] = np.minimum(placed, -1.0)
    values["covered"] = np.maximum(covered, values["placed"] + 1.0)


def _slab(draw: _Draw) -> FedSlab:
    """Materials of the histories; a bonded screed is another material than what it lies on."""
    count = draw.count
    chosen = np.linspace(0, count - 1, min(MATERIALS, count)).astype(int)
    isotherms = [Isotherm(draw["water_cement"][k], linear_share=draw["linear"][k]) for k in chosen]
    curves = [
        DiffusivityCurve(draw["floor"][k], draw["centre"][k], draw["steepness"][k]) for k in chosen
    ]
    material = Material.made(isotherms, curves)
    rows = np.arange(count) % len(chosen)
    rate = USUAL_DIFFUSIVITY * draw["rate"] * temperature_factor(draw.story.temperature_c)
    by_cell = np.repeat(rate[:, None], CELLS, axis=1)
    capacity = np.ones_like(by_cell)
    if draw.story.build_up == "bonded":
        # a screed of a quarter to half of the depth, 0.5 to 4 times as open, 0.7 to 1.4 the water
        upper = draw.z[None, :] < (0.25 + 0.25 * draw["layer"])[:, None]
        by_cell = np.where(upper, by_cell * draw.scaled("layer_rate", 0.5, 4.0)[:, None], by_cell)
        capacity = np.where(upper, draw.scaled("layer_water", 0.7, 1.4)[:, None], capacity)
    return FedSlab(material, rows, draw.width_mm, by_cell, capacity)


def _covering(draw: _Draw) -> list[Feed]:
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


def _times(draw: _Draw, days: tuple[float, ...]) -> Array:
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
