"""The slabs that histories are worked out on: parameters drawn evenly over what a slab may be.

Every range is even or log-even and states its source or that it is our choice; none is a
measurement of the floor. See ``docs/method/investigation.md``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from moisturemap.investigation.story import Story
from moisturemap.slab import (
    USUAL_DIFFUSIVITY,
    DiffusivityCurve,
    FedSlab,
    Isotherm,
    Material,
    temperature_factor,
)

Array = NDArray[np.float64]

CELLS = 22

MATERIALS = 48
"""Different materials among the histories of one cause (our choice; more change no ratio)."""

SEED = 11

LONGEST_DAYS = 3650.0
"""Earliest day of placing that is tried when nobody knows it [days before the readings]."""

RANGES: dict[str, tuple[float, float, str]] = {
    "start": (0.88, 1.0, "even"),  # fresh concrete less its self-desiccation; our choice
    "rate": (0.5, 2.0, "log"),  # D1 over that of 30 MPa, good to a factor of two (fib MC 2010)
    "floor": (0.05, 1.0, "log"),  # diffusivity when dry: the drying model's, up to a constant one
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


@dataclass(frozen=True)
class Draw:
    """Parameters of the histories of one cause."""

    story: Story
    values: dict[str, Array]
    z: Array
    width_mm: Array

    def __getitem__(self, name: str) -> Array:
        return self.values[name]

    @property
    def count(self) -> int:
        """How many histories."""
        return int(self.values["start"].size)

    def cells(self, top: float, bottom: float) -> Array:
        """Share of each cell between two depths over thickness, shape (rows, n)."""
        edges = np.r_[0.0, np.cumsum(self.width_mm[0])] / self.width_mm[0].sum()
        inside = np.minimum(edges[1:], bottom) - np.maximum(edges[:-1], top)
        share = np.clip(inside / np.diff(edges), 0.0, 1.0)
        return np.tile(share, (self.count, 1))

    def above(self, depth_mm: Array) -> Array:
        """Share of each cell above a depth of each row [mm], shape (rows, n)."""
        edges = np.r_[0.0, np.cumsum(self.width_mm[0])]
        inside = np.minimum(edges[None, 1:], depth_mm[:, None]) - edges[None, :-1]
        return np.asarray(np.clip(inside / np.diff(edges)[None, :], 0.0, 1.0))

    def one_cell(self, where: Array) -> Array:
        """Mark the cell at a depth over thickness of each row, shape (rows, n)."""
        index = np.abs(self.z[None, :] - where[:, None]).argmin(axis=1)
        share = np.zeros((self.count, self.z.size))
        share[np.arange(self.count), index] = 1.0
        return share

    @property
    def top(self) -> Array:
        """Mark the top cell, shape (rows, n)."""
        return self.one_cell(np.zeros(self.count))

    @property
    def bottom(self) -> Array:
        """Mark the bottom cell, shape (rows, n)."""
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
        """Day a source stops: the repair, for three in ten after 3 days or longer, else never."""
        never = np.full(self.count, np.inf)
        if self.story.repaired is not None:
            return np.full(self.count, self.story.repaired)
        begun = self.onset()
        age = np.maximum(-begun, 3.0)
        some = begun + 3.0 * (age / 3.0) ** np.minimum(self["stops"] / 0.3, 1.0)
        return np.where(self["stops"] < 0.3, some, never)


@lru_cache(maxsize=8)
def draw_slabs(story: Story, count: int) -> Draw:
    """Draw the parameters; the same for every cause, so that ratios are not left to chance."""
    from scipy.stats import qmc

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
    return Draw(story, values, z, np.tile(width, (count, 1)))


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


def slab_of(draw: Draw) -> FedSlab:
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
