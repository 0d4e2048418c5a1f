"""How often an investigation is firm and wrong, keeps the true cause, and leaves few open.

The floors are made by other code and other steps than the inference: explicit differences on an
even grid, an exponential diffusivity, a straight or a bent isotherm, hysteresis, a biased probe,
another thickness than stated, a few false answers, undrawn pipes, two causes at once and a cause
that is not on the list. Run with

    python scripts/bench/investigation.py [floors of each cause] [seeds ...] [--keep FOLDER]

Thresholds in ``moisturemap/investigation`` were frozen before the seeds of the published table were
drawn; seeds below 100 were used to find them.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.stats import beta
from shapely.geometry import LineString, Point, box

from moisturemap.floorplan import FloorPlan, PlanLine, Room, Slab
from moisturemap.investigation.answers import Answers
from moisturemap.investigation.depth_clues import depth_clues, wet_in_test
from moisturemap.investigation.explain import Explanation, Observation, explain
from moisturemap.investigation.history_clues import history_clues
from moisturemap.investigation.next_step import expected_division, possible_readings
from moisturemap.investigation.other_clues import air_clues, change_clues
from moisturemap.investigation.plan_clues import WetPlace, plan_clues
from moisturemap.investigation.standing import ruled_out, standings
from moisturemap.investigation.story import Story
from moisturemap.investigation.tested import DatedReading, TestedPlace

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

SLABS = 4
CELLS = 30
ROOM = (10.0, 8.0)


@dataclass
class Floor:
    """One invented floor."""

    cause: str
    story: Story
    column: np.ndarray
    beside: np.ndarray
    future: np.ndarray
    readings: list[Observation] = field(default_factory=list)


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
                (-60.0, 0.0),
                placed=-round(age),
                covered=-round(covered),
                ever_covered=True,
                build_up=build_up,
                room_rh=0.5,
            )
        )
    return found


def simulate(
    cause: str, story: Story, count: int, rng: np.random.Generator
) -> tuple[np.ndarray, ...]:
    """Humidity [%RH] of floors on the two visits and 60 days later, at the place and beside it."""
    thick = story.thickness_mm * rng.normal(1.0, 0.05, count).clip(0.9, 1.1)
    dx = thick / CELLS
    wet_d = 29.0 * np.exp(rng.normal(0.0, 0.4, count))
    fall = rng.uniform(0.5, 4.0, count)  # D = D1 exp(fall (h - 1)): straight in its logarithm
    bend = rng.uniform(0.0, 1.5, count)  # capacity dw/dh grows by this from dry to wet
    hysteresis = np.where(rng.random(count) < 0.5, 0.5, 1.0)
    start = rng.uniform(0.88, 1.0, count)
    air = rng.uniform(0.42, 0.6, count)
    leak = 0.5 / np.exp(rng.uniform(np.log(10.0), np.log(200.0), count))
    act = make_act(cause, story, count, rng)
    h = np.repeat(start[:, None], 2 * CELLS, axis=1).reshape(count, 2, CELLS)
    if cause == "not-water":
        h[:] = rng.uniform(0.45, 0.74, count)[:, None, None]
    kept = {}
    step = min(0.2 * float(dx.min()) ** 2 / float(wet_d.max()), 0.5)
    now, last = float(story.placed), 60.0
    days = np.unique(np.round(np.arange(now, last + step, step), 6))
    marks = {int(np.abs(days - day).argmin()): day for day in (-60.0, 0.0, 60.0)}
    for index, day in enumerate(days):
        if index in marks:
            kept[marks[index]] = h.copy()
        if day >= last:
            break
        diff = wet_d[:, None, None] * np.exp(fall[:, None, None] * (h - 1.0))
        capacity = 1.0 + bend[:, None, None] * (h - 0.5)
        flow = capacity * diff
        inner = 0.5 * (flow[..., 1:] + flow[..., :-1]) * np.diff(h, axis=2) / dx[:, None, None] ** 2
        rate = np.zeros_like(h)
        rate[..., :-1] += inner
        rate[..., 1:] -= inner
        film = np.full(count, 8.0) if day < story.covered else leak
        if cause != "not-water":
            rate[..., 0] += (film * (air - h[:, :, 0].T)).T / dx[:, None]
        act(day, h, rate, dx)
        wetting = rate > 0.0
        rate = np.where(wetting & (day > story.covered), rate / hysteresis[:, None, None], rate)
        h = np.clip(h + step * rate / np.maximum(capacity, 0.3), 0.05, 1.0)
    return tuple(100.0 * kept[day] for day in (-60.0, 0.0, 60.0))


def make_act(cause: str, story: Story, count: int, rng: np.random.Generator):
    """Return what the cause does to the first of two columns, by day."""
    parts = cause.split("+")
    acts = [ACTS[part](story, count, rng) for part in parts]

    def act(day, h, rate, dx):
        for one in acts:
            one(day, h, rate, dx)

    return act


def _none(story, count, rng):
    return lambda day, h, rate, dx: None


def _onset(story, count, rng, latest=-15.0):
    return rng.uniform(story.covered, latest, count)


def _fed(cell, film, start, end=None, wet=1.0, column=0):
    end = np.full(start.size, np.inf) if end is None else end

    def act(day, h, rate, dx):
        on = (day >= start) & (day < end)
        index = np.arange(start.size)
        rate[index, column, cell] += on * film * (wet - h[index, column, cell]) / dx

    return act


def _ground(story, count, rng):
    start = np.where(rng.random(count) < 0.5, story.placed, _onset(story, count, rng, -60.0))
    film = np.exp(rng.uniform(np.log(0.3), np.log(8.0), count))
    wet = rng.uniform(0.97, 1.0, count)
    return _fed(np.full(count, CELLS - 1), film, start, wet=wet)


def _pipe(story, count, rng):
    start = _onset(story, count, rng)
    end = np.where(rng.random(count) < 0.3, start + rng.uniform(5, 60, count), np.inf)
    return _fed(rng.integers(CELLS // 2, CELLS, count), np.full(count, 20.0), start, end)


def _drain(story, count, rng):
    start = _onset(story, count, rng)
    film = rng.uniform(2.0, 15.0, count)
    return _fed(np.full(count, CELLS - 1), film, start)


def _flood(story, count, rng):
    start = _onset(story, count, rng, -65.0)
    return _fed(
        np.zeros(count, int), np.full(count, 25.0), start, start + rng.uniform(3, 20, count)
    )


def _surface(story, count, rng):
    start, period = _onset(story, count, rng, -40.0), rng.uniform(2.0, 14.0, count)
    film, duty = rng.uniform(2.0, 15.0, count), rng.uniform(0.3, 0.8, count)

    def act(day, h, rate, dx):
        on = (day >= start) & ((day / period) % 1.0 < duty)
        rate[:, 0, 0] += on * film * (1.0 - h[:, 0, 0]) / dx

    return act


def _condensation(story, count, rng):
    phase, film = rng.uniform(0.0, 1.0, count), rng.uniform(0.2, 1.5, count)

    def act(day, h, rate, dx):
        on = (day >= story.covered) * np.clip(np.sin(2 * np.pi * (day / 365.0 + phase)), 0, 1)
        rate[:, 0, 0] += on * film * (1.0 - h[:, 0, 0]) / dx

    return act


def _wall(story, count, rng):
    start = np.where(rng.random(count) < 0.5, story.placed, _onset(story, count, rng, -90.0))
    reach = rng.uniform(60.0, 250.0, count)

    def act(day, h, rate, dx):
        on = (day >= start) * 29.0 * (np.pi / 2 / reach) ** 2
        rate[:, 0] += on[:, None] * (0.99 - h[:, 0])

    return act


def _insulation(story, count, rng):
    start = _onset(story, count, rng, -40.0)
    return _fed(np.full(count, CELLS - 1), rng.uniform(0.5, 5.0, count), start, wet=0.99)


def _adhesive(story, count, rng):
    reach = rng.uniform(3.0, 9.0, count)

    def act(day, h, rate, dx):
        if story.covered <= day < story.covered + 1.0:
            depth = (np.arange(CELLS)[None, :] + 0.5) * dx[:, None]
            rate[:, 0] += np.where(depth <= reach[:, None], 10.0 * (1.0 - h[:, 0]), 0.0)

    return act


def _pocket(story, count, rng):
    """Wet a void at mid depth that held water at covering, and held it for a time."""
    start = np.full(count, story.covered)
    return _fed(
        rng.integers(CELLS // 4, CELLS // 2, count),
        np.full(count, 30.0),
        start,
        start + rng.uniform(10, 40, count),
    )


ACTS = {
    "construction-water": _none,
    "not-water": _none,
    "ground": _ground,
    "pressure-pipe": _pipe,
    "drain": _drain,
    "flood": _flood,
    "surface-water": _surface,
    "condensation": _condensation,
    "wall": _wall,
    "insulation": _insulation,
    "adhesive": _adhesive,
    "pocket": _pocket,
}


def matters(cause: str, now: np.ndarray) -> np.ndarray:
    """Floors that anybody would be called to: wet at the place, and wetter for the cause."""
    if cause in ("not-water",):
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


def geometry(cause: str, rng: np.random.Generator) -> WetPlace:
    """Draw a room with services, most drawn, and a wet zone as the cause would make it."""
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
    if drawn and rng.random() < 0.15:  # the leak is on a pipe nobody drew
        place = (rng.uniform(0.5, 9.5), rng.uniform(0.5, 7.5))
    if cause == "surface-water" and rng.random() < 0.5:
        place = (rng.uniform(4.5, 5.5), 0.4)
    zone = Point(place).buffer(rng.uniform(0.8, 1.5))
    if cause in ("ground", "insulation", "adhesive") and rng.random() < 0.6:
        zone = box(0, 0, rng.uniform(7.0, 10.0), 8.0)
    if cause == "construction-water" and rng.random() < 0.8:
        zone = box(0, 0, rng.uniform(8.0, 10.0), 8.0)
    if cause == "wall":
        zone = box(0, place[1] - 1.6, rng.uniform(0.7, 1.2), place[1] + 1.6)
    if cause == "flood":
        zone = Point(place).buffer(rng.uniform(1.2, 3.0))
    zone = zone.intersection(box(0, 0, *ROOM))
    room = Room("room", box(0, 0, *ROOM), Slab(thickness_mm=150.0))
    plan = FloorPlan((room,), tuple(lines))
    return WetPlace(plan, room, zone, zone.buffer(0.3).intersection(room.polygon), place)


def answered(cause: str, story: Story, rng: np.random.Generator) -> Answers:
    """Answers a person gives: some do not know, one in ten is false."""
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
    wrong = {
        "membrane": "seen-intact",
        "pipes": "none",
        "pressure_test": "held",
        "flood": "none",
        "cleaning": "dry",
        "adhesive": "no",
        "outside_ground": "below",
    }
    told = {"pressure_test_hours": 48}
    for key, value in true.items():
        chance = rng.random()
        if chance < 0.3 and key != "build_up":
            told[key] = "not-known"
        elif chance < 0.4 and key in wrong:
            told[key] = wrong[key]
        else:
            told[key] = str(value)
    return Answers.of(told)


def margins(cause: str, rng: np.random.Generator) -> pd.DataFrame:
    """Surface less dew point on the two visits; half of the visits miss the condensing days."""
    low = "condensation" in cause and rng.random() < 0.5
    least = rng.uniform(-1.5, 2.0) if low else rng.uniform(1.5, 9.0)
    row = (pd.Timestamp("2025-01-01"), "visit", 15.0, 15.0 - least, least)
    columns = ["started", "where", "surface_c", "dew_point_c", "margin_k"]
    rows = [row]
    if rng.random() < 0.3:  # a log of two weeks, on which condensation would have shown
        least = rng.uniform(-1.5, 1.0) if "condensation" in cause else rng.uniform(1.5, 9.0)
        start = pd.Timestamp("2025-01-01")
        rows += [
            (start + pd.Timedelta(days=2 * k), "log", 15.0, 15.0 - least - 0.1 * k, least + 0.1 * k)
            for k in range(9)
        ]
    return pd.DataFrame(rows, columns=columns)


def scanned_change(floor_then: np.ndarray, floor_now: np.ndarray, rng) -> tuple:
    """Tell what two scans show of the top 30 mm: a change of 2 %RH is seen."""
    change = float((floor_now[:6] - floor_then[:6]).mean()) + rng.normal(0.0, 0.8)
    return change_clues(1.0 if change > 2.0 else 0.0, 1.0 if change < -2.0 else 0.0)


def clues_of(cause, story, observations, rng, then, now):
    """Everything a person would have besides the explanation of depth."""
    answers = answered(cause, story, rng)
    place = geometry(cause, rng)
    readings = tuple(
        DatedReading(pd.Timestamp("2025-01-01").date(), o.depth_mm, o.rh_pct, o.sd_pct)
        for o in observations
        if o.day == 0.0 and not o.beside
    )
    tested = TestedPlace("H1", place.room, *place.peak, story.thickness_mm, readings)
    found = [*plan_clues(place, -float(story.covered))]
    wet = wet_in_test(tested)
    found += [wet] if wet is not None else []
    found += scanned_change(then, now, rng)
    return [*found, *air_clues(margins(cause, rng)), *history_clues(answers)]


def upper(wrong: int, count: int) -> float:
    """Upper 95 % bound of a share (Clopper and Pearson)."""
    return 1.0 if not count else float(beta.ppf(0.95, wrong + 1, count - wrong))


def slab_of_bench(per_cause: int, seed: int, slab: int) -> dict[str, dict[str, dict[str, int]]]:
    """Judge the floors of one slab; score and causes left open, by cause."""
    rng = np.random.default_rng([seed, slab])
    story = stories(np.random.default_rng(seed))[slab]
    score: dict[str, defaultdict] = {cause: defaultdict(int) for cause in CAUSES}
    left: dict[str, defaultdict] = {cause: defaultdict(int) for cause in CAUSES}
    floating = story.build_up == "floating"
    for cause in CAUSES:
        if (cause == "insulation") != floating:
            continue
        wanted = per_cause if floating else -(-per_cause // 3)
        tries = 12 if cause in ("construction-water", "adhesive") else 4
        then, now, later = simulate(cause, story, tries * wanted, rng)
        for k in np.flatnonzero(matters(cause, now))[:wanted]:
            one_floor(cause, story, (then[k], now[k], later[k]), rng, score[cause], left[cause])
    return {"score": score, "left": left}


def main(per_cause: int, seeds: list[int], keep: Path) -> None:
    """Judge slab by slab, keeping each, and print the sum of all that are kept."""
    keep.mkdir(parents=True, exist_ok=True)
    for seed in seeds:
        for slab in range(SLABS):
            path = keep / f"{per_cause}-{seed}-{slab}.json"
            if not path.exists():
                began = time.process_time()
                path.write_text(json.dumps(slab_of_bench(per_cause, seed, slab), default=int))
                spent = time.process_time() - began
                print(f"seed {seed}, slab {slab}: {spent:.0f} s", file=sys.stderr, flush=True)
    score: dict[str, defaultdict] = {cause: defaultdict(int) for cause in CAUSES}
    left: dict[str, defaultdict] = {cause: defaultdict(int) for cause in CAUSES}
    for path in sorted(keep.glob("*.json")):
        kept = json.loads(path.read_text())
        for into, part in ((score, kept["score"]), (left, kept["left"])):
            for cause, tally in part.items():
                for name, value in tally.items():
                    into[cause][name] += value
    report(score, left)


def one_floor(cause, story, columns, rng, tally, left) -> None:
    then, now, later = columns
    bias = float(rng.normal(0.0, 1.0)) + (3.0 if rng.random() < 0.1 else 0.0)
    depths = (0.10, 0.40, 0.80)
    seen = observe(then[0], story, depths, -60.0, rng, bias)
    seen += observe(now[0], story, depths, 0.0, rng, bias)
    if cause not in ("construction-water", "adhesive") and rng.random() < 0.7:
        seen += observe(now[1], story, (0.4, 0.8), 0.0, rng, bias, beside=True)
    explanation = explain(story, seen)
    told = clues_of(cause, story, seen, rng, then[0], now[0])
    explanation = explanation.without(ruled_out(told))
    clues = [*told, *depth_clues(_tested(story, seen), explanation, ())]
    stands = standings(clues, explanation)
    judge(cause, stands, tally)
    for one in stands:
        if one.standing in ("open", "points-to"):
            left[one.cause] += 1
    # one depth, and depths in a wrong order, must never be firm
    single = [one for one in seen if one.depth_mm == 0.4 * story.thickness_mm and one.day == 0.0]
    alone = explain(story, single[:1])
    tally["one depth firm"] += firm(standings(clues_without_depth(clues), alone)) != ""
    order = rng.permutation(len(seen))
    shuffled = [
        Observation(a.day, a.depth_mm, seen[j].rh_pct, a.sd_pct, a.probe, a.beside)
        for a, j in zip(seen, order, strict=True)
    ]
    mixed = explain(story, shuffled).without(ruled_out(clues_without_depth(clues)))
    clues = [*clues_without_depth(clues), *depth_clues(_tested(story, shuffled), mixed, ())]
    named = firm(standings(clues, mixed))
    tally["shuffled firm"] += named != ""
    tally["shuffled wrong"] += named != "" and named not in cause.split("+")
    if tally["floors"] <= 12:
        proposal(explanation, stands, (then, now, later), story, rng, tally)


def _tested(story, observations):
    room = Room("room", box(0, 0, *ROOM), Slab(thickness_mm=story.thickness_mm))
    day = pd.Timestamp("2025-01-01").date()
    readings = tuple(DatedReading(day, o.depth_mm, o.rh_pct, o.sd_pct) for o in observations)
    return TestedPlace("H1", room, 1.0, 1.0, story.thickness_mm, readings)


def clues_without_depth(clues):
    return [clue for clue in clues if clue.kind != "depth"]


def firm(stands) -> str:
    return next((one.cause for one in stands if one.standing == "points-to"), "")


def judge(cause, stands, tally) -> None:
    parts = cause.split("+")
    known = {one.cause: one.standing for one in stands}
    named = firm(stands)
    tally["floors"] += 1
    tally["kept"] += all(known.get(part) != "against" for part in parts)
    tally["one kept"] += any(known.get(part) != "against" for part in parts)
    left = [one for one in stands if one.standing in ("open", "points-to") and one.cause != "other"]
    tally["open"] += len(left)
    tally["few"] += len(left) <= 2
    tally["firm"] += named != ""
    # a finding reads "at least in part": naming one of two is not wrong
    tally["firm wrong"] += named != "" and named not in parts


def proposal(explanation: Explanation, stands, columns, story, rng, tally) -> None:
    """Take the best reading and a random one, and count the pairs each divides."""
    left = [one.cause for one in stands if one.standing in ("open", "points-to")]
    left = [one for one in left if one in explanation.support]
    if len(left) < 2:
        return
    options = [one for one in possible_readings(explanation, "") if one.day in (0.0, 60.0)]
    scores = [expected_division(explanation, left, one)[0] for one in options]
    best = options[int(np.argmax(scores))]
    other = options[int(rng.integers(len(options)))]
    gained = []
    for reading in (best, other):
        column = columns[1][0] if reading.day == 0.0 else columns[2][0]
        share = reading.depth_mm / story.thickness_mm
        taken = observe(column, story, (share,), reading.day, rng, 0.0)
        # the histories run on for 60 days, so a later reading needs no other story
        again = explain(story, [*explanation.observations, *taken])
        apart = sum(
            abs(again.support[a] - again.support[b]) > np.log(20.0)
            for i, a in enumerate(left)
            for b in left[:i]
            if a in again.support and b in again.support
        )
        towards = sum(
            min(abs(again.support[a] - again.support[b]), np.log(20.0))
            for i, a in enumerate(left)
            for b in left[:i]
            if a in again.support and b in again.support
        )
        gained.append((apart, towards))
    tally["proposals"] += 1
    tally["proposal better"] += gained[0] > gained[1]
    tally["proposal equal"] += gained[0] == gained[1]
    tally["proposal more pairs"] += gained[0][0] > gained[1][0]
    tally["proposal fewer pairs"] += gained[0][0] < gained[1][0]


def report(score, left) -> None:
    names = (
        "floors",
        "kept",
        "open",
        "few",
        "firm",
        "firm wrong",
        "one depth firm",
        "shuffled firm",
    )
    print(f"{'cause':30s}" + "".join(f"{name:>15s}" for name in names))
    total: defaultdict = defaultdict(int)
    for cause, tally in score.items():
        count = max(tally["floors"], 1)
        for name, value in tally.items():
            total[name] += value
        shown = [tally["floors"], *(tally[n] / count for n in ("kept", "open", "few", "one kept"))]
        shown += [tally[name] for name in names[5:]]
        print(f"{cause:30s}" + "".join(f"{value:15.3g}" for value in shown), dict(left[cause]))
    count = total["floors"]
    wrong, named = total["firm wrong"], total["firm"]
    print(f"\nkept {total['kept'] / count:.3f}; two or fewer open {total['few'] / count:.3f}")
    print(f"firm {named}, wrong {wrong}: upper 95 % bound {upper(wrong, named):.3f}")
    single = [tally for cause, tally in score.items() if "+" not in cause and cause != "pocket"]
    floors = max(sum(tally["floors"] for tally in single), 1)
    shares = [sum(tally[name] for tally in single) / floors for name in ("kept", "few")]
    print(f"one listed cause ({floors}): kept {shares[0]:.3f}, two or fewer open {shares[1]:.3f}")
    print(
        f"firm from one depth {total['one depth firm']}, shuffled {total['shuffled firm']},"
        f" of these not even in part true {total['shuffled wrong']}"
    )
    tried = max(total["proposals"], 1)
    print(
        f"proposal better {total['proposal better'] / tried:.2f},"
        f" equal {total['proposal equal'] / tried:.2f} of {total['proposals']};"
        f" more pairs {total['proposal more pairs'] / tried:.2f},"
        f" fewer {total['proposal fewer pairs'] / tried:.2f}"
    )


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("per_cause", type=int, nargs="?", default=30)
    asked.add_argument("seeds", type=int, nargs="*", default=[1])
    asked.add_argument("--keep", type=Path, help="folder of finished slabs; a run goes on from it")
    told = asked.parse_args()
    with tempfile.TemporaryDirectory() as place:
        main(told.per_cause, told.seeds, told.keep or Path(place))
