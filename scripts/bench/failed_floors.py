"""Invented failed floors of a known cause, by other code and steps than the inference.

Explicit differences on an even grid, an exponential diffusivity, a straight or a bent isotherm,
hysteresis, heat that drives moisture to the cold side, a biased probe, another thickness than
stated, a few false answers, undrawn pipes, two causes at once and a cause that is not on the list.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from floating_screeds import in_a_screed, zone_in_a_screed
from shapely.geometry import LineString, Point, box
from wetting import ACTS, CELLS

from moisturemap.floorplan import FloorPlan, PlanLine, Room, Slab
from moisturemap.investigation.answers import Answers
from moisturemap.investigation.explain import Observation
from moisturemap.investigation.plan_clues import WetPlace
from moisturemap.investigation.story import Story

CAUSES = (
    "construction-water",
    "ground",
    "pressure-pipe",
    "drain",
    "flood",
    "surface-water",
    "condensation",
    "wall",
    "insulation",
    "adhesive",
    "not-water",
    "ground+surface-water",
    "pressure-pipe+surface-water",
    "pocket",
)
"""The last three: two causes at once, and a cause that is not on the list."""

IN_A_SCREED = (
    *("insulation", "construction-water", "pressure-pipe", "drain", "ground", "flood"),
    *("surface-water", "condensation", "not-water"),
)
"""Causes that act on a screed floating on foil and insulation (``floating_screeds.py``)."""

SLABS = 4
ROOM = (10.0, 8.0)
VISITS = (-60.0, 0.0, 60.0)
"""Days of the two visits, and of a reading to come."""

BEFORE_COVERING = 7.0
"""Days before covering on which the records of the job, where there are any, hold readings."""


@dataclass
class Columns:
    """Humidity [%RH] of floors on the days of ``VISITS``, at the place and beside it.

    ``strain`` tells by name on which floors the generator departs most from the inference.
    """

    h_pct: np.ndarray  # (days, floors, place or beside, cells)
    before_pct: np.ndarray  # (floors, cells), beside, on the day of BEFORE_COVERING
    strain: dict[str, np.ndarray]


def stories(rng: np.random.Generator) -> list[Story]:
    """Slabs: covered long and short ago, uncovered, thin and thick; one floats on insulation."""
    kinds = [(150.0, 900.0, 240.0, ""), (100.0, 420.0, 120.0, ""), (200.0, 1500.0, 700.0, "")]
    kinds += [(70.0, 500.0, 300.0, "floating")]
    found = []
    for thick, age, covered, build_up in kinds:
        age, covered = age * rng.uniform(0.9, 1.1), covered * rng.uniform(0.9, 1.1)
        found.append(
            Story(
                thick,
                VISITS[:2],
                placed=-round(age),
                covered=-round(covered),
                ever_covered=True,
                build_up=build_up,
                room_rh=0.5,
            )
        )
    return found


@dataclass
class _Slab:
    """What the generator draws of the slabs of some floors."""

    thick: np.ndarray
    wet_d: np.ndarray  # mm2/day when wet
    fall: np.ndarray  # D = D1 exp(fall (h - 1)): straight in its logarithm
    bend: np.ndarray  # capacity dw/dh grows by this from dry to wet
    hysteresis: np.ndarray
    start: np.ndarray
    air: np.ndarray
    leak: np.ndarray  # mm/day through the covering
    drift: np.ndarray  # rise of vapour pressure towards the top from heat, over the thickness

    @classmethod
    def drawn(cls, story: Story, count: int, rng: np.random.Generator) -> _Slab:
        warm = np.where(rng.random(count) < 0.2, rng.choice([-3.0, 3.0], count), 0.0)
        return cls(
            story.thickness_mm * rng.normal(1.0, 0.05, count).clip(0.9, 1.1),
            29.0 * np.exp(rng.normal(0.0, 0.4, count)),
            rng.uniform(0.5, 4.0, count),
            rng.uniform(0.0, 1.5, count),
            np.where(rng.random(count) < 0.5, 0.5, 1.0),
            rng.uniform(0.88, 1.0, count),
            rng.uniform(0.42, 0.6, count),
            0.5 / np.exp(rng.uniform(np.log(10.0), np.log(200.0), count)),
            # vapour pressure rises by 6% each kelvin, and vapour carries part of the flow
            0.06 * warm * rng.uniform(0.1, 0.4, count),
        )

    def rate(self, h: np.ndarray, capacity: np.ndarray) -> np.ndarray:
        """Gain of every cell from its neighbours."""
        dx = self.thick / CELLS
        flow = capacity * self.wet_d[:, None, None] * np.exp(self.fall[:, None, None] * (h - 1.0))
        mean = 0.5 * (flow[..., 1:] + flow[..., :-1])
        drive = np.diff(h, axis=2) - 0.5 * (h[..., 1:] + h[..., :-1]) * (
            self.drift[:, None, None] / CELLS
        )
        inner = mean * drive / dx[:, None, None] ** 2
        rate = np.zeros_like(h)
        rate[..., :-1] += inner
        rate[..., 1:] -= inner
        return rate


def simulate(cause: str, story: Story, count: int, rng: np.random.Generator) -> Columns:
    """Work out floors from placing to the last visit."""
    slab = _Slab.drawn(story, count, rng)
    dx = slab.thick / CELLS
    act, told = make_act(cause, story, count, rng)
    h = np.repeat(slab.start[:, None], 2 * CELLS, axis=1).reshape(count, 2, CELLS)
    if cause == "not-water":
        h[:] = rng.uniform(0.45, 0.74, count)[:, None, None]
    kept = {}
    step = min(0.2 * float(dx.min()) ** 2 / float(slab.wet_d.max()), 0.5)
    now, last = float(story.placed), VISITS[-1]
    days = np.unique(np.round(np.arange(now, last + step, step), 6))
    wanted = (*VISITS, story.covered - BEFORE_COVERING)
    marks = {int(np.abs(days - day).argmin()): day for day in wanted}
    for index, day in enumerate(days):
        if index in marks:
            kept[marks[index]] = h.copy()
        if day >= last:
            break
        capacity = 1.0 + slab.bend[:, None, None] * (h - 0.5)
        rate = slab.rate(h, capacity)
        film = np.full(count, 8.0) if day < story.covered else slab.leak
        if cause != "not-water":
            rate[..., 0] += (film * (slab.air - h[:, :, 0].T)).T / dx[:, None]
        act(day, h, rate, dx)
        wetting = rate > 0.0
        slowed = rate / slab.hysteresis[:, None, None]
        rate = np.where(wetting & (day > story.covered), slowed, rate)
        h = np.clip(h + step * rate / np.maximum(capacity, 0.3), 0.05, 1.0)
    strain = {
        "diffusivity far from constant": slab.fall > 2.25,
        "bent isotherm": slab.bend > 0.75,
        "hysteresis": slab.hysteresis < 1.0,
        "thickness over 5% off": np.abs(slab.thick / story.thickness_mm - 1.0) > 0.05,
        "3 K through the slab": slab.drift != 0.0,
        **told,
    }
    before = 100.0 * kept[wanted[-1]][:, 1]
    return Columns(100.0 * np.stack([kept[day] for day in VISITS]), before, strain)


def make_act(cause: str, story: Story, count: int, rng: np.random.Generator):
    """Return what the cause does to the first of two columns, by day, and where, by name."""
    if story.build_up == "floating":
        return in_a_screed(cause, story, count, rng)
    acts = [ACTS[part](story, count, rng) for part in cause.split("+")]

    def act(day, h, rate, dx):
        for one in acts:
            one(day, h, rate, dx)

    return act, {}


def matters(cause: str, now: np.ndarray) -> np.ndarray:
    """Floors that anybody would be called to: wet at the place, and wetter for the cause."""
    if cause in ("not-water", "insulation"):
        # wet walls call people to wet insulation; the screed over it may be dry
        return np.ones(len(now), dtype=bool)
    wet = now[:, 0].max(axis=1) > 82.0
    if cause in ("construction-water", "adhesive"):
        return wet
    return wet & ((now[:, 0] - now[:, 1]).max(axis=1) > 6.0)


def observe(
    column: np.ndarray, story: Story, depths, day: float, rng, bias: float, *, beside=False
):
    """Read a column as a biased, noisy probe at depths that are a little off."""
    found = []
    for share in depths:
        place = np.clip(share + rng.normal(0.0, 2.0 / story.thickness_mm), 0.01, 0.99)
        true = float(np.interp(place, (np.arange(CELLS) + 0.5) / CELLS, column))
        read = min(true + bias + rng.normal(0.0, 0.8), 100.0)
        found.append(
            Observation(day, share * story.thickness_mm, round(read, 1), 1.3, "probe", beside)
        )
    return found


def geometry(
    cause: str, rng: np.random.Generator, *, screed: bool = False, edge: bool = False
) -> tuple[WetPlace, bool]:
    """Draw a room and a wet zone as the cause would make it; and whether its pipe is drawn.

    In a floating screed water spreads on the foil, or comes up at the edge.
    """
    lines = [PlanLine("exterior-wall", box(0, 0, *ROOM).exterior, "outer wall")]
    pipe = LineString([(3.0, 0.0), (3.0, 8.0)])
    waste = LineString([(7.0, 8.0), (7.0, 2.0)])
    drawn = rng.random() < 0.7
    if drawn:
        lines.append(PlanLine("known-service", pipe, "heating supply"))
        lines.append(PlanLine("known-service", waste, "kitchen waste"))
    lines.append(PlanLine("door", LineString([(4.5, 0.0), (5.5, 0.0)]), "door"))
    place = {
        "pressure-pipe": (3.0 + rng.normal(0, 0.3), rng.uniform(1.8, 6.2)),
        "drain": (7.0 + rng.normal(0, 0.3), rng.uniform(2.5, 6.2)),
        "wall": (rng.uniform(0.1, 0.3), rng.uniform(2.0, 6.0)),
        "condensation": (rng.uniform(0.1, 0.5), rng.uniform(0.2, 7.8)),
    }.get(cause.split("+")[0], (rng.uniform(0.5, 9.5), rng.uniform(0.5, 7.5)))
    elsewhere = drawn and rng.random() < 0.15  # the leak is on a pipe nobody drew
    if elsewhere:
        place = (rng.uniform(0.5, 9.5), rng.uniform(0.5, 7.5))
    if cause == "surface-water" and rng.random() < 0.5:
        place = (rng.uniform(4.5, 5.5), 0.4)
    if edge:
        place = (rng.uniform(0.05, 0.25), rng.uniform(0.5, 7.5))
    outline = zone_in_a_screed(cause, place, edge, rng) if screed else _zone(cause, place, rng)
    zone = outline.intersection(box(0, 0, *ROOM))
    room = Room("room", box(0, 0, *ROOM), Slab(thickness_mm=150.0))
    plan = FloorPlan((room,), tuple(lines))
    possible = zone.buffer(0.3).intersection(room.polygon)
    return WetPlace(plan, room, zone, possible, place), drawn and not elsewhere


def _zone(cause: str, place, rng: np.random.Generator):
    """Outline of the wet zone, which may reach out of the room."""
    zone = Point(place).buffer(rng.uniform(0.8, 1.5))
    if cause in ("ground", "insulation", "adhesive") and rng.random() < 0.6:
        zone = box(0, 0, rng.uniform(7.0, 10.0), 8.0)
    if cause == "construction-water" and rng.random() < 0.8:
        zone = box(0, 0, rng.uniform(8.0, 10.0), 8.0)
    if cause == "wall":
        zone = box(0, place[1] - 1.6, rng.uniform(0.7, 1.2), place[1] + 1.6)
    if cause == "flood":
        zone = Point(place).buffer(rng.uniform(1.2, 3.0))
    return zone


FALSE_ANSWERS = {
    "membrane": "seen-intact",
    "pipes": "none",
    "pressure_test": "held",
    "flood": "none",
    "cleaning": "dry",
    "adhesive": "no",
    "outside_ground": "below",
}


def answered(cause: str, story: Story, rng: np.random.Generator) -> tuple[Answers, bool]:
    """Answers a person gives, some not known, one in ten false; and whether one was."""
    parts = cause.split("+")
    true = {
        "membrane": "damaged" if "ground" in parts else rng.choice(["seen-intact", "drawing-only"]),
        "pipes": "drawn"
        if {"pressure-pipe", "drain"} & set(parts)
        else rng.choice(["none", "drawn"]),
        "pressure_test": "fell" if "pressure-pipe" in parts else "held",
        "flood": "2024-05-01" if "flood" in parts or "insulation" in parts else "none",
        "cleaning": "flooded" if "surface-water" in parts else rng.choice(["dry", "damp"]),
        "adhesive": rng.choice(["batch-change", "short-wait"]) if "adhesive" in parts else "no",
        "outside_ground": rng.choice(["above", "level"]) if "wall" in parts else "below",
        "build_up": "floating" if story.build_up else "slab",
    }
    told, false = {"pressure_test_hours": 48}, False
    for key, value in true.items():
        chance = rng.random()
        if chance < 0.3 and key != "build_up":
            told[key] = "not-known"
        elif chance < 0.4 and key in FALSE_ANSWERS:
            told[key] = FALSE_ANSWERS[key]
            false |= told[key] != value
        else:
            told[key] = str(value)
    return Answers.of(told), false


def margins(cause: str, rng: np.random.Generator) -> pd.DataFrame:
    """Surface less dew point on the two visits; half of the visits miss the condensing days."""
    low = "condensation" in cause and rng.random() < 0.5
    least = rng.uniform(-1.5, 2.0) if low else rng.uniform(1.5, 9.0)
    start = pd.Timestamp("2025-01-01")
    rows = [(start, "visit", 15.0, 15.0 - least, least)]
    if rng.random() < 0.3:  # a log of two weeks, on which condensation would have shown
        least = rng.uniform(-1.5, 1.0) if "condensation" in cause else rng.uniform(1.5, 9.0)
        rows += [
            (start + pd.Timedelta(days=2 * k), "log", 15.0, 15.0 - least - 0.1 * k, least + 0.1 * k)
            for k in range(9)
        ]
    columns = ["started", "where", "surface_c", "dew_point_c", "margin_k"]
    return pd.DataFrame(rows, columns=columns)
