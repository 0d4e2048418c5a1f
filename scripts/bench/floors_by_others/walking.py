"""Where the operator reads: grids aligned or turned, jittered, with furniture in the way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon, box

from .rooms import Rooms

WALL_GAP = 0.08  # m, half a meter's body


@dataclass(frozen=True)
class Walk:
    """Places (n, 2) in the order they were read, and what stood in the way."""

    places: np.ndarray
    furniture: tuple[Polygon, ...]
    angle: float


def draw_walk(rng: np.random.Generator, rooms: Rooms, spacing: float) -> Walk:
    """Row by row, room by room."""
    angle = (
        0.0 if rng.random() < 0.65 else float(rng.choice([rng.uniform(3, 12), rng.uniform(12, 78)]))
    )
    jitter = float(rng.choice([0.0, 0.03, 0.08, 0.15], p=[0.35, 0.3, 0.2, 0.15])) * spacing
    snake = bool(rng.random() < 0.6)
    furniture = _furniture(rng, rooms, spacing)
    places = []
    for room in rooms.polygons:
        free = room.buffer(-WALL_GAP)
        if furniture:
            free = free.difference(shapely.union_all(furniture))
        places.append(_rows(rng, room, free, spacing, np.radians(angle), jitter, snake))
    return Walk(places=np.concatenate(places), furniture=furniture, angle=angle)


def _furniture(rng: np.random.Generator, rooms: Rooms, spacing: float) -> tuple[Polygon, ...]:
    found = []
    for _ in range(int(rng.choice([0, 1, 2, 3], p=[0.5, 0.25, 0.15, 0.1]))):
        room = rooms.polygons[int(rng.integers(len(rooms.polygons)))]
        x0, y0, x1, y1 = room.bounds
        w, h = rng.uniform(1.0, 3.5, 2) * spacing
        w, h = min(w, 0.3 * (x1 - x0)), min(h, 0.3 * (y1 - y0))
        x, y = rng.uniform(x0, x1 - w), rng.uniform(y0, y1 - h)
        found.append(box(x, y, x + w, y + h))
    return tuple(found)


def _rows(
    rng: np.random.Generator,
    room: Polygon,
    free: shapely.Geometry,
    spacing: float,
    turn: float,
    jitter: float,
    snake: bool,
) -> np.ndarray:
    """Lay rows of a square grid turned by ``turn`` (rad), the first a little off the wall."""
    x0, y0, x1, y1 = room.bounds
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    along, across = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    if turn == 0:
        first = np.array([x0, y0]) + np.clip(rng.uniform(0.3, 0.7) * spacing, 0.1, 0.4)
        columns, rows = int((x1 - x0) / spacing) + 1, int((y1 - y0) / spacing) + 1
    else:
        reach = int(np.hypot(x1 - x0, y1 - y0) / 2 / spacing) + 1
        first = middle - reach * spacing * (along + across) + rng.uniform(0, spacing, 2)
        columns = rows = 2 * reach + 1
    places = []
    for row in range(rows):
        line = first + row * spacing * across + spacing * np.arange(columns)[:, None] * along
        line = line + rng.uniform(-jitter, jitter, line.shape)
        line = line[shapely.contains_xy(free, line)]
        places.append(line[::-1] if snake and row % 2 else line)
    return np.round(np.concatenate(places), 2)
