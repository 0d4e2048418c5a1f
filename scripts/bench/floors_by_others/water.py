"""Stories of water: where it came in, how long, and how it dried since."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Point
from shapely.ops import substring

from .raster import CELL, Raster, random_field
from .rooms import Rooms
from .things import Thing
from .wetting import Slab

SEEN_WET = 0.5  # saturation that counts as reached while the story runs
WATER_LINE = {"pipe", "loop"}
LONGEST = 400.0  # days
MOST_SUPER_STEPS = 250
PIPE_LEAK_ODDS = 0.25  # of wettings on a floor with a water pipe or loop in it
STORIES = {
    "leak at a point under the slab": 0.2,
    "leak along a pipe under the slab": 0.14,
    "water at a wall base": 0.13,
    "water that ran along a wall and dried at its rim": 0.17,
    "water along a joint": 0.12,
    "rain under a door": 0.1,
    "puddle": 0.14,
}


@dataclass(frozen=True)
class Wetting:
    """Saturation (ny, nx) above the slab's own, whether it came from below, and its story."""

    theta: np.ndarray
    from_below: bool
    story: str


def draw_water(
    rng: np.random.Generator, raster: Raster, rooms: Rooms, things: list[Thing], spacing: float
) -> list[Wetting]:
    """One to three wettings, each run to a chosen size and then dried for a while."""
    count = int(rng.choice([1, 2, 3], p=[0.6, 0.27, 0.13]))
    return [_wetting(rng, raster, rooms, things, spacing) for _ in range(count)]


def _wetting(
    rng: np.random.Generator, raster: Raster, rooms: Rooms, things: list[Thing], spacing: float
) -> Wetting:
    story = str(rng.choice(list(STORIES), p=list(STORIES.values())))
    lines = [
        t
        for t in things
        if WATER_LINE & set(re.findall("[a-z]+", t.kind)) and "empty" not in t.kind
    ]
    if lines and rng.random() < PIPE_LEAK_ODDS:
        story = "leak at a pipe in the floor"
    # extent 0.5 to 5 m, not far below what the spacing could show at all, nor half the floor
    x0, y0, x1, y1 = rooms.slab.bounds
    largest = min(5.0, 0.6 * max(x1 - x0, y1 - y0), 0.9 * min(x1 - x0, y1 - y0))
    smallest = min(max(0.5, 1.2 * spacing), 0.8 * largest)
    extent = float(np.exp(rng.uniform(np.log(smallest), np.log(largest))))
    source, joint = _source(rng, rooms, lines, story, extent)
    supply = raster.mask(source).astype(float)
    if not supply.any():
        supply = raster.mask(source.buffer(0.12)).astype(float)
    if "ran along" in story or story == "puddle":
        supply *= np.clip(0.6 + 0.5 * random_field(rng, raster.shape, 0.25), 0.02, 2.0)
    target = _target_area(story, extent, float(supply.astype(bool).sum()) * CELL**2)
    window = _window(raster, supply, 0.9 * extent + 0.6)
    slab = _slab(rng, raster, window, joint)
    _run(rng, slab, supply[window], target, story)
    theta = np.zeros(raster.shape)
    theta[window] = slab.theta
    below = story.startswith("leak") or (story == "water along a joint" and rng.random() < 0.5)
    return Wetting(theta=theta, from_below=below, story=story)


def _target_area(story: str, extent: float, source: float) -> float:
    """Plan area the front is let run to, m2."""
    if "ran along" in story:
        return 1.15 * source
    if story in ("water along a joint", "leak along a pipe under the slab"):
        return source + 0.25 * extent**2
    if story in ("water at a wall base", "rain under a door"):
        return source + 0.4 * extent**2
    return max(0.785 * extent**2, 1.3 * source)


def _window(raster: Raster, supply: np.ndarray, around: float) -> tuple[slice, slice]:
    reach = int(np.ceil(around / CELL))
    rows, columns = np.nonzero(supply.any(axis=1))[0], np.nonzero(supply.any(axis=0))[0]
    return (
        slice(max(rows[0] - reach, 0), min(rows[-1] + reach + 1, raster.shape[0])),
        slice(max(columns[0] - reach, 0), min(columns[-1] + reach + 1, raster.shape[1])),
    )


def _slab(
    rng: np.random.Generator,
    raster: Raster,
    window: tuple[slice, slice],
    joint: LineString | None,
) -> Slab:
    """Screed or concrete that takes water unevenly, and faster along an open joint."""
    inside = raster.inside[window]
    spread = rng.uniform(0.3, 1.0)
    coarse = random_field(rng, inside.shape, rng.uniform(0.25, 0.6))
    fine = random_field(rng, inside.shape, 0.1)
    ease = np.exp(spread * (0.8 * coarse + 0.6 * fine))
    if joint is not None:
        ease = np.where(raster.mask(joint)[window], ease * rng.uniform(3, 8), ease)
    ease = np.clip(ease, 0.1, 4.0 if joint is None else 8.0)
    return Slab(
        theta=np.zeros(inside.shape),
        inside=inside,
        ease=ease,
        diffusivity=float(np.exp(rng.uniform(np.log(0.026), np.log(0.41)))),
        n=rng.uniform(4.0, 7.0),
    )


def _run(
    rng: np.random.Generator, slab: Slab, supply: np.ndarray, target: float, story: str
) -> None:
    """Wet until the front holds ``target`` m2, then dry; sometimes wet again."""
    rate = supply * 4.0 * slab.diffusivity / CELL**2 * 0.05
    open_air = np.full(slab.theta.shape, rng.uniform(0.0005, 0.003))
    again = rng.random() < 0.2
    _wet(slab, rate, open_air, 0.7 * target if again else target)
    peak = _reached(slab)
    harder = "dried" in story or story == "puddle"
    uneven = np.exp(0.5 * random_field(rng, slab.theta.shape, 0.4))
    _dry(slab, rng.uniform(0.01, 0.05) * uneven, (0.75 if harder else 0.9) * peak)
    if again:
        shifted = rate * (random_field(rng, rate.shape, 0.4) > 0)
        _wet(slab, shifted if shifted.any() else rate, open_air, target)


def _reached(slab: Slab) -> float:
    return float((slab.theta >= SEEN_WET).sum()) * CELL**2


def _wet(slab: Slab, rate: np.ndarray, loss: np.ndarray, target: float) -> None:
    for _ in range(MOST_SUPER_STEPS):
        if _reached(slab) >= target or slab.days > LONGEST:
            return
        slab.advance(rate, loss, longest=0.04 * target / slab.diffusivity)


def _dry(slab: Slab, loss: np.ndarray, keep: float) -> None:
    """Evaporation until the wet part has shrunk to ``keep`` m2 (or 25 steps)."""
    none = np.zeros(slab.theta.shape)
    for _ in range(25):
        if _reached(slab) <= keep:
            return
        slab.advance(none, loss, longest=0.05 / float(loss.max()))


def _source(
    rng: np.random.Generator, rooms: Rooms, lines: list[Thing], story: str, extent: float
) -> tuple[shapely.Geometry, LineString | None]:
    """Where the water enters, and an open joint it may follow."""
    if story == "leak at a pipe in the floor":
        thing = lines[int(rng.integers(len(lines)))]
        inside = thing.nodes[shapely.contains_xy(rooms.slab, thing.nodes)]
        nodes = inside if len(inside) else thing.nodes
        return Point(nodes[int(rng.integers(len(nodes)))]).buffer(0.12), None
    if story in ("water at a wall base", "water that ran along a wall and dried at its rim"):
        return _at_wall(rng, rooms, "ran along" in story, extent), None
    if story == "rain under a door":
        return rooms.doors[int(rng.integers(len(rooms.doors)))].buffer(0.12), None
    middle = _inside(rng, rooms)
    turn = rng.choice([0.0, np.pi / 2, rng.uniform(0, np.pi)], p=[0.4, 0.4, 0.2])
    way = np.array([np.cos(turn), np.sin(turn)])
    if story == "water along a joint":
        joint = LineString([middle - 50 * way, middle + 50 * way])
        wet = LineString([middle - 0.3 * extent * way, middle + 0.3 * extent * way])
        return wet.intersection(rooms.slab), joint.intersection(rooms.slab)
    if story == "leak along a pipe under the slab":
        crack = LineString([middle - 0.35 * extent * way, middle + 0.35 * extent * way])
        return crack.intersection(rooms.slab).buffer(0.08), None
    if story == "puddle":
        return _puddle(rng, middle, extent), None
    return Point(middle).buffer(0.12), None


def _inside(rng: np.random.Generator, rooms: Rooms) -> np.ndarray:
    x0, y0, x1, y1 = rooms.slab.bounds
    while True:
        place = rng.uniform((x0, y0), (x1, y1))
        if rooms.slab.contains(Point(place)):
            return place


def _at_wall(rng: np.random.Generator, rooms: Rooms, ran: bool, extent: float) -> shapely.Geometry:
    """Draw a strip at a wall; water that ran along it is wide here and narrow there."""
    lengths = np.array([wall.length for wall in rooms.walls])
    wall = rooms.walls[int(rng.choice(len(lengths), p=lengths / lengths.sum()))]
    length = min(wall.length, extent * (rng.uniform(1.0, 1.6) if ran else rng.uniform(0.3, 0.7)))
    start = rng.uniform(0, wall.length - length)
    part = substring(wall, start, start + length)
    if not ran:
        return part.buffer(0.12)
    steps = np.arange(0, length + 0.05, 0.1)
    width = np.exp(
        0.6 * np.convolve(rng.normal(0, 1, len(steps) + 6), np.ones(7) / 7**0.5, "valid")
    )
    width = np.clip(0.3 * width, 0.12, 0.9)
    pools = [part.interpolate(s).buffer(w) for s, w in zip(steps, width, strict=True)]
    return shapely.union_all(pools)


def _puddle(rng: np.random.Generator, middle: np.ndarray, extent: float) -> shapely.Geometry:
    """Draw a rounded blob whose radius wanders with the bearing."""
    bearing = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    waves = sum(
        rng.normal(0, 0.22 / k) * np.cos(k * bearing + rng.uniform(0, 2 * np.pi))
        for k in range(1, 6)
    )
    radius = 0.4 * extent * np.clip(1 + waves, 0.35, 1.7)
    stretch = rng.uniform(0.5, 1.0)
    ring = np.column_stack([radius * np.cos(bearing), stretch * radius * np.sin(bearing)])
    return shapely.make_valid(shapely.Polygon(ring + middle))
