"""Draws the things of a floor: pipes, loops, ducts, cables, mesh, plates, boxes, wire."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry import LineString, Polygon, box

from .raster import CELL, random_field
from .rooms import Rooms
from .things import NODE, Thing


@dataclass(frozen=True)
class Make:
    """A make of line: diameters (m), covers (m) and strength against 15 mm copper."""

    diameters: tuple[float, ...]
    cover: tuple[float, float]
    strength: float


LINES = {
    "copper pipe": Make((0.010, 0.015, 0.022, 0.028), (0.020, 0.070), 1.0),
    "steel pipe": Make((0.017, 0.021, 0.027), (0.025, 0.070), 1.1),
    "plastic pipe with water": Make((0.016, 0.020, 0.025), (0.020, 0.070), 0.45),
    "plastic pipe, empty": Make((0.016, 0.025), (0.030, 0.070), 0.06),
    "cable": Make((0.010, 0.012), (0.015, 0.060), 0.35),
    "armoured cable": Make((0.014, 0.020), (0.030, 0.070), 0.8),
    "steel duct": Make((0.050, 0.075), (0.030, 0.080), 0.9),
    "plastic duct, empty": Make((0.050, 0.110), (0.030, 0.080), -0.12),
}
SIZE_POWER = 0.6  # strength grows as (diameter / 15 mm) to this power
PLATE_STRENGTH = 9.0  # metres of 15 mm copper a square metre of sheet is worth
MESH_NODE = 0.04  # m
MESH_STRENGTH = 0.35  # of a 6 mm wire
KINDS = {
    "line": 0.46,
    "heating loop": 0.1,
    "mesh": 0.12,
    "plate": 0.12,
    "floor box": 0.08,
    "post bases": 0.06,
    "tie wire": 0.06,
}


def draw_things(rng: np.random.Generator, rooms: Rooms, count: int) -> list[Thing]:
    """``count`` things (a mesh or a loop at most once)."""
    things: list[Thing] = []
    kinds, odds = list(KINDS), np.array(list(KINDS.values()))
    while len(things) < count:
        kind = str(rng.choice(kinds, p=odds / odds.sum()))
        if kind in ("mesh", "heating loop"):
            odds[kinds.index(kind)] = 0.0
        thing = DRAW[kind](rng, rooms)
        if len(thing.nodes):
            things.append(thing)
    return things


def _room(rng: np.random.Generator, rooms: Rooms) -> Polygon:
    sizes = np.array([room.area for room in rooms.polygons])
    return rooms.polygons[int(rng.choice(len(sizes), p=sizes / sizes.sum()))]


def _place(rng: np.random.Generator, room: Polygon, gap: float) -> np.ndarray:
    x0, y0, x1, y1 = room.bounds
    inner = room.buffer(-gap)
    inner = room if inner.is_empty else inner
    while True:
        place = rng.uniform((x0, y0), (x1, y1))
        if inner.contains(shapely.Point(place)):
            return place


def _wander(rng: np.random.Generator, along: np.ndarray, mean: float, sd: float) -> np.ndarray:
    """Cover that drifts along a line: a slope and two slow waves, never under 3 mm."""
    if not len(along):
        return along
    span = max(float(along[-1]), 1.0)
    waves = rng.normal(0, 0.6, 2) @ np.sin(
        2 * np.pi * (along / rng.uniform(1.5, 5.0, (2, 1)) + rng.uniform(0, 1, (2, 1)))
    )
    slope = rng.normal(0, 1.0) * (along / span - 0.5)
    return np.maximum(mean + sd * (waves + slope), 0.003)


def _along(geometry: shapely.Geometry, node: float = NODE) -> tuple[np.ndarray, np.ndarray]:
    """Return nodes (k, 2) along a line or several, and their distance (k,) along it, m."""
    parts = [part for part in shapely.get_parts(geometry) if part.geom_type == "LineString"]
    nodes, along, start = [np.empty((0, 2))], [np.empty(0)], 0.0
    for part in parts:
        steps = np.arange(node / 2, part.length, node)
        nodes.append(shapely.get_coordinates(shapely.line_interpolate_point(part, steps)))
        along.append(start + steps)
        start += part.length
    return np.concatenate(nodes), np.concatenate(along)


def _run(rng: np.random.Generator, rooms: Rooms) -> LineString:
    """Course of a pipe or cable: straight along a wall, across, with bends, or aslant."""
    x0, y0, x1, y1 = rooms.slab.bounds
    a, b = _place(rng, _room(rng, rooms), 0.15), _place(rng, _room(rng, rooms), 0.15)
    course = rng.choice(
        ["straight", "bend", "two bends", "aslant", "stub"], p=[0.4, 0.25, 0.1, 0.15, 0.1]
    )
    swap = rng.random() < 0.5
    if swap:
        a, b, (x0, y0, x1, y1) = a[::-1], b[::-1], (y0, x0, y1, x1)
    if course == "straight":
        path = [(x0, a[1]), (x1, a[1])]
    elif course == "bend":
        path = [(x0, a[1]), (b[0], a[1]), (b[0], y1 if rng.random() < 0.5 else y0)]
    elif course == "two bends":
        path = [(x0, a[1]), (a[0], a[1]), (a[0], b[1]), (x1, b[1])]
    elif course == "stub":
        path = [(x0, a[1]), (a[0], a[1])]
    else:
        path = [(x0, rng.uniform(y0, y1)), (x1, rng.uniform(y0, y1))]
    line = LineString([point[::-1] for point in path] if swap else path)
    return line if course in ("straight", "aslant", "stub") else _rounded(line)


def _rounded(line: LineString) -> LineString:
    """Give the course bends of 0.1 m radius in place of sharp corners."""
    corners = shapely.get_coordinates(line)
    path = [corners[0]]
    for before, corner, after in zip(corners[:-2], corners[1:-1], corners[2:], strict=True):
        into, out = before - corner, after - corner
        cut = min(0.1, 0.5 * np.hypot(*into), 0.5 * np.hypot(*out))
        if cut < 1e-6:
            continue
        a, b = corner + cut * into / np.hypot(*into), corner + cut * out / np.hypot(*out)
        t = np.linspace(0, 1, 6)[:, None]
        path.extend((1 - t) ** 2 * a + 2 * t * (1 - t) * corner + t**2 * b)
    return LineString([*path, corners[-1]])


def _line(rng: np.random.Generator, rooms: Rooms) -> Thing:
    kind = str(rng.choice(list(LINES), p=[0.25, 0.1, 0.22, 0.05, 0.15, 0.06, 0.08, 0.09]))
    make = LINES[kind]
    size = float(rng.choice(make.diameters))
    geometry = _run(rng, rooms).intersection(rooms.slab.buffer(0.1))
    cover = float(rng.uniform(*make.cover))
    nodes, along = _along(geometry)
    pair = kind.endswith(("pipe", "water")) and rng.random() < 0.3
    strength = make.strength * (size / 0.015) ** SIZE_POWER
    if pair:  # flow and return side by side
        geometry = shapely.union_all([geometry, shapely.affinity.translate(geometry, 0.06, 0.06)])
        nodes, along = _along(geometry)
        kind += ", pair"
    return Thing(
        kind=kind,
        geometry=geometry,
        size=size,
        depth=cover,
        nodes=nodes,
        cover=_wander(rng, along, cover, rng.uniform(0.002, 0.010)),
        weight=np.full(len(nodes), strength * NODE),
    )


def _loop(rng: np.random.Generator, rooms: Rooms) -> Thing:
    whole = rng.random() < 0.5
    area = rooms.slab if whole else _room(rng, rooms)
    pitch = float(rng.choice([0.10, 0.15, 0.20, 0.30]))
    x0, y0, x1, y1 = area.buffer(-0.15).bounds
    x1 = x0 + (x1 - x0) * (1.0 if whole else rng.uniform(0.25, 0.5))
    rows = np.arange(y0, y1, pitch)
    path = [(x, y) for i, y in enumerate(rows) for x in ((x0, x1) if i % 2 == 0 else (x1, x0))]
    geometry = LineString(path).intersection(area.buffer(-0.1))
    nodes, along = _along(geometry)
    cover = float(rng.uniform(0.030, 0.065))
    size = float(rng.choice([0.016, 0.020]))
    strength = LINES["plastic pipe with water"].strength * (size / 0.015) ** SIZE_POWER
    return Thing(
        kind="heating loop",
        geometry=geometry,
        size=size,
        depth=cover,
        nodes=nodes,
        cover=_wander(rng, along, cover, 0.006),
        weight=np.full(len(nodes), strength * NODE),
    )


def _mesh(rng: np.random.Generator, rooms: Rooms) -> Thing:
    pitch = float(rng.choice([0.10, 0.15, 0.20]))
    room = _room(rng, rooms)
    area = rooms.slab if rng.random() < 0.5 else room.intersection(_patch(rng, room, 1.5, 4.0))
    x0, y0, x1, y1 = area.bounds
    wires = [LineString([(x, y0), (x, y1)]) for x in np.arange(x0 + 0.05, x1, pitch)]
    wires += [LineString([(x0, y), (x1, y)]) for y in np.arange(y0 + 0.05, y1, pitch)]
    geometry = shapely.MultiLineString(wires).intersection(area.buffer(-0.03))
    nodes, _ = _along(geometry, MESH_NODE)
    cover = float(rng.uniform(0.040, 0.090))
    depth = np.full(len(nodes), cover)
    if len(nodes):
        sag = random_field(rng, _cells(area), 0.7)
        where = ((nodes - (x0, y0)) / CELL).astype(int)
        depth += 0.006 * sag[where[:, 1], where[:, 0]]
        if rng.random() < 0.6:  # lifted or badly chaired: shallow over a metre or two
            middle, wide = _place(rng, room, 0.1), rng.uniform(0.4, 1.0)
            lift = np.exp(-0.5 * (np.hypot(*(nodes - middle).T) / wide) ** 2)
            depth -= (cover - rng.uniform(0.010, 0.025)) * lift
    wire = float(rng.choice([0.005, 0.006, 0.008]))
    strength = MESH_STRENGTH * (wire / 0.006) ** SIZE_POWER
    return Thing(
        kind="mesh",
        geometry=geometry,
        size=pitch,
        depth=cover,
        nodes=nodes,
        cover=np.maximum(depth, 0.005),
        weight=np.full(len(nodes), strength * MESH_NODE),
    )


def _cells(area: shapely.Geometry) -> tuple[int, int]:
    x0, y0, x1, y1 = area.bounds
    return int((y1 - y0) / CELL) + 2, int((x1 - x0) / CELL) + 2


def _patch(rng: np.random.Generator, room: Polygon, least: float, most: float) -> Polygon:
    x, y = _place(rng, room, 0.1)
    w, h = rng.uniform(least, most, 2) / 2
    return box(x - w, y - h, x + w, y + h)


def _sheet(kind: str, shape: Polygon, cover: float, strength: float) -> Thing:
    x0, y0, x1, y1 = shape.bounds
    x, y = np.meshgrid(np.arange(x0, x1, NODE) + NODE / 2, np.arange(y0, y1, NODE) + NODE / 2)
    keep = shapely.contains_xy(shape, x, y)
    nodes = np.column_stack([x[keep], y[keep]])
    return Thing(
        kind=kind,
        geometry=shape,
        size=max(x1 - x0, y1 - y0),
        depth=cover,
        nodes=nodes,
        cover=np.full(len(nodes), cover),
        weight=np.full(len(nodes), strength * NODE**2),
    )


def _turned(rng: np.random.Generator, shape: Polygon) -> Polygon:
    angle = float(rng.choice([0.0, 0.0, rng.uniform(0, 90)]))
    return shapely.affinity.rotate(shape, angle)


def _plate(rng: np.random.Generator, rooms: Rooms) -> Thing:
    shape = _turned(rng, _patch(rng, _room(rng, rooms), 0.1, 0.6))
    return _sheet("metal plate", shape, rng.uniform(0.010, 0.060), PLATE_STRENGTH)


def _box(rng: np.random.Generator, rooms: Rooms) -> Thing:
    x, y = _place(rng, _room(rng, rooms), 0.3)
    half = rng.uniform(0.10, 0.16)
    shape = box(x - half, y - half, x + half, y + half)
    return _sheet("floor box", shape, rng.uniform(0.003, 0.010), PLATE_STRENGTH)


def _posts(rng: np.random.Generator, rooms: Rooms) -> Thing:
    """Draw a row of post base plates under the screed, equally spaced."""
    room = _room(rng, rooms)
    x, y = _place(rng, room, 0.3)
    apart, half = rng.uniform(1.0, 2.5), rng.uniform(0.06, 0.12)
    step = (apart, 0.0) if rng.random() < 0.5 else (0.0, apart)
    bases = [
        box(
            x + i * step[0] - half,
            y + i * step[1] - half,
            x + i * step[0] + half,
            y + i * step[1] + half,
        )
        for i in range(int(rng.integers(1, 5)))
    ]
    inside = [base for base in bases if room.contains(base)] or bases[:1]
    cover = rng.uniform(0.010, 0.040)
    sheets = [_sheet("post bases", base, cover, PLATE_STRENGTH) for base in inside]
    return Thing(
        kind="post bases",
        geometry=shapely.union_all(inside),
        size=2 * half,
        depth=float(cover),
        nodes=np.concatenate([sheet.nodes for sheet in sheets]),
        cover=np.concatenate([sheet.cover for sheet in sheets]),
        weight=np.concatenate([sheet.weight for sheet in sheets]),
    )


def _wire(rng: np.random.Generator, rooms: Rooms) -> Thing:
    """Draw ends of tie wire and lost nails: short, shallow, in one or a few places."""
    room = _room(rng, rooms)
    pieces = []
    for _ in range(int(rng.integers(1, 6))):
        start, turn = _place(rng, room, 0.05), rng.uniform(0, 2 * np.pi)
        end = start + rng.uniform(0.05, 0.2) * np.array([np.cos(turn), np.sin(turn)])
        pieces.append(LineString([start, end]))
    geometry = shapely.MultiLineString(pieces)
    nodes, _ = _along(geometry)
    cover = float(rng.uniform(0.003, 0.020))
    return Thing(
        kind="tie wire",
        geometry=geometry,
        size=0.0015,
        depth=cover,
        nodes=nodes,
        cover=np.full(len(nodes), cover),
        weight=np.full(len(nodes), 0.4 * NODE),
    )


DRAW = {
    "line": _line,
    "heating loop": _loop,
    "mesh": _mesh,
    "plate": _plate,
    "floor box": _box,
    "post bases": _posts,
    "tie wire": _wire,
}
