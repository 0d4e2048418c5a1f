"""Where labels stand on a floor, so that none covers another, a hole or a mark.

Everything is worked out in inches on the page before anything is drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import GeometryCollection, box
from shapely.geometry.base import BaseGeometry

from moisturemap.figures.typeface import POINTS_PER_INCH, width_of, wrapped

LEADING = 1.25
"""Height of a line by its type size."""

SMALLEST_PT = 6.0
"""No text of a figure is smaller [pt]: the least that prints legibly (common practice)."""

PAD = 0.02
"""Free on each side of a label [in]."""

NAME_SIZES = (8.0, 7.0, 6.5, SMALLEST_PT)
MOST_NUMBERED = 12
"""Rooms named in the key; when most are too small to be named, none is (our choice)."""

FINE = 0.02
"""Step between the places of a drawing where a label that finds no room beside its mark is tried
[in]."""

GRID = 9
RINGS = (0.0, 0.07, 0.16, 0.28, 0.45, 0.7, 1.0, 1.5)
"""Further and further from its mark, a label is tried all round [in]."""

OFF_LINES, CLOSE = RINGS[1], RINGS[2]
"""So far off its mark a label is tried clear of lines too, and needs no line that leads to it
[in]."""

ROUND = np.deg2rad((45, 135, -45, -135, 0, 180, 90, -90, 22, 158, -22, -158, 67, 113, -67, -113))


@dataclass(frozen=True, slots=True)
class Label:
    """A label in its place.

    Attributes
    ----------
    text : str
    x, y : float
        Its middle, in the floor's metres.
    size : float
        Of its type [pt].
    weight : str
    led : bool
        True when it stands so far from its mark that a line should lead to it.
    mark : (float, float) or None
        Where its mark stands, for what is named beside one [m].
    """

    text: str
    x: float
    y: float
    size: float
    weight: str = "normal"
    led: bool = False
    mark: tuple[float, float] | None = None


@dataclass
class Floor:
    """The drawing area in inches, and what stands there already.

    Parameters
    ----------
    limits : (float, float, float, float)
        West, south, east, north of the drawing [m].
    scale : float
        Inches for each metre.
    """

    limits: tuple[float, float, float, float]
    scale: float
    taken: list[tuple[float, float, float, float]] = field(default_factory=list)
    lines: BaseGeometry = field(default_factory=GeometryCollection)
    off_lines: float = OFF_LINES

    def shun(self, *lines: BaseGeometry, off: float = OFF_LINES) -> None:
        """Keep names off lines [m] where they find room so far off their marks [in] or less."""
        self.off_lines = max(self.off_lines, off)
        self.lines = shapely.union_all([self.lines, *lines])
        shapely.prepare(self.lines)

    def occupy(self, x: float, y: float, width: float, height: float) -> None:
        """Keep labels off a box [in] round a place [m]."""
        at = self._inches(x, y)
        self.taken.append(_box(at, width, height))

    def beside(self, x: float, y: float, text: str, size: float, *, gap: float) -> Label:
        """Place a label beside a mark: the first free place round it, at least `gap` [in] off.

        Else the nearest free place of the drawing; where there is none it covers what stands there.
        """
        label = self.beside_if_free(x, y, text, size, gap=gap)
        label = self._nearest_free(x, y, text, size) if label is None else label
        if label is not None:
            return label
        width, height = extent(text.split("\n"), size, "bold")
        at = _round(self._inches(x, y), float(ROUND[0]), gap, (width, height))
        self.taken.append(_box(at, width, height))
        return Label(text, *self._metres(at), size, "bold")

    def beside_if_free(
        self, x: float, y: float, text: str, size: float, *, gap: float, reach: float = RINGS[-1]
    ) -> Label | None:
        """Place a label beside a mark where there is room, `reach` [in] off at most; else None."""
        width, height = extent(text.split("\n"), size, "bold")
        mark = self._inches(x, y)
        ways = (
            [] if self.lines.is_empty else [(one, True) for one in RINGS if one <= self.off_lines]
        )
        ways += [(one, False) for one in RINGS]
        for ring, clear in (one for one in ways if one[0] <= reach):
            for angle in ROUND:
                at = _round(mark, float(angle), gap + ring, (width, height))
                if self._is_free(at, width, height, clear=clear):
                    self.taken.append(_box(at, width, height))
                    led = ring > CLOSE
                    return Label(text, *self._metres(at), size, "bold", led, (x, y))
        return None

    def _nearest_free(self, x: float, y: float, text: str, size: float) -> Label | None:
        """Place a label at the free place of the drawing nearest to a mark, led to it."""
        width, height = extent(text.split("\n"), size, "bold")
        west, south, east, north = self.limits
        step = FINE / self.scale
        across, up = np.meshgrid(np.arange(west, east, step), np.arange(south, north, step))
        places = np.column_stack([across.ravel(), up.ravel()])
        half = np.array([width, height]) / 2.0 / self.scale
        frames = np.hstack([places - half, places + half])
        free = places[self._are_free(frames, self._taken_near(box(*self.limits)))]
        if not len(free):
            return None
        at_x, at_y = map(float, free[np.argmin(np.hypot(*(free - (x, y)).T))])
        self.taken.append(_box(self._inches(at_x, at_y), width, height))
        return Label(text, at_x, at_y, size, "bold", led=True, mark=(x, y))

    def inside(
        self, area: BaseGeometry, wordings: Sequence[tuple[Sequence[str], float, str]]
    ) -> Label | None:
        """Place a label inside an area, in its first wording (lines, size, weight) that fits.

        Returns None when none does.
        """
        west, south, east, north = area.bounds
        shapely.prepare(area)
        places = _by_room(area)
        near = self._taken_near(area)
        for lines, size, weight in wordings:
            width, height = extent(lines, size, weight)
            if width > (east - west) * self.scale or height > (north - south) * self.scale:
                continue
            half = np.array([width, height]) / 2.0 / self.scale
            frames = np.hstack([places - half, places + half])
            free = np.flatnonzero(self._are_free(frames, near))
            fits = free[shapely.covers(area, shapely.box(*frames[free].T))]
            if fits.size:
                x, y = (float(one) for one in places[fits[0]])
                self.taken.append(_box(self._inches(x, y), width, height))
                return Label("\n".join(lines), x, y, size, weight)
        return None

    def _taken_near(self, area: BaseGeometry) -> NDArray[np.float64]:
        """Return what is taken that reaches into the bounds of an area, as boxes [m]."""
        origin = np.tile(self.limits[:2], 2)
        boxes = np.array(self.taken).reshape(-1, 4) / self.scale + origin
        west, south, east, north = area.bounds
        reach_in = (boxes[:, 0] < east) & (boxes[:, 2] > west)
        near: NDArray[np.float64] = boxes[reach_in & (boxes[:, 1] < north) & (boxes[:, 3] > south)]
        return near

    def _are_free(
        self, frames: NDArray[np.float64], near: NDArray[np.float64]
    ) -> NDArray[np.bool_]:
        """Say which frames [m] lie in the drawing and overlap none of the boxes near [m]."""
        low, high = frames[:, None, :2], frames[:, None, 2:]
        both = ((low < near[:, 2:]) & (near[:, :2] < high)).all(axis=2)
        overlap = np.asarray(both, dtype=bool).any(axis=1)
        inside = (frames[:, :2] >= self.limits[:2]) & (frames[:, 2:] <= self.limits[2:])
        return np.asarray(inside.all(axis=1) & ~overlap, dtype=bool)

    def _is_free(
        self, at: tuple[float, float], width: float, height: float, *, clear: bool = False
    ) -> bool:
        """Return whether a label finds room; ``clear`` of the lines that names shun too."""
        west, south, east, north = _box(at, width, height)
        right, top = self._inches(*self.limits[2:])
        if west < 0 or south < 0 or east > right or north > top:
            return False
        if clear and shapely.intersects(
            self.lines, box(*self._metres((west, south)), *self._metres((east, north)))
        ):
            return False
        return not any(
            west < other[2] and other[0] < east and south < other[3] and other[1] < north
            for other in self.taken
        )

    def _inches(self, x: float, y: float) -> tuple[float, float]:
        return (x - self.limits[0]) * self.scale, (y - self.limits[1]) * self.scale

    def _metres(self, at: tuple[float, float]) -> tuple[float, float]:
        return at[0] / self.scale + self.limits[0], at[1] / self.scale + self.limits[1]


def extent(lines: Sequence[str], size: float, weight: str) -> tuple[float, float]:
    """Return width and height of lines of text [in]."""
    width = max(width_of(line, size, weight) for line in lines)
    return width + 2 * PAD, len(lines) * size * LEADING / POINTS_PER_INCH + 2 * PAD


WRAPPED_AT, LEAST_LAST = (0.9, 0.75, 0.6), 0.4
"""Shares of the width of a room at which its name is wrapped, and length of the last of three lines
and more against the longest, below which it looks left over (our choice)."""


OFF_WALLS_IN = 0.03
"""Room names keep so far off the walls where they can [in]."""


def name_wordings(name: str, width: float) -> list[tuple[list[str], float, str]]:
    """Return a name in one line, then wrapped in a width [in], from large type to small."""
    made: list[tuple[list[str], float, str]] = []
    for size in NAME_SIZES:
        made.append(([name], size, "normal"))
        for share in WRAPPED_AT:
            lines = wrapped(name, max(share * width - 2 * PAD, 0.15), size)
            broken = any(word not in name.split() for line in lines for word in line.split())
            lonely = len(lines[-1]) < LEAST_LAST * max(map(len, lines))
            if 1 < len(lines) <= 4 and not broken and not (lonely and len(lines) > 2):
                made.append((lines, size, "normal"))
    return made


def name_rooms(
    floor: Floor,
    rooms: Iterable[tuple[str, BaseGeometry]],
    drawn: Sequence[BaseGeometry] = (),
) -> tuple[list[Label], dict[str, str]]:
    """Write each room's name in it, or a number where the name finds no room.

    Parameters
    ----------
    floor : Floor
    rooms : iterable of (str, geometry)
        Names and outlines [m].
    drawn : sequence of geometry
        What names keep off: first what a number keeps off too, such as wet zones and services, then
        what gives way to a name, such as hatching.

    Returns
    -------
    labels : list of Label
    numbered : dict of str to str
        By number, each room whose name has to stand in the key; "" with a remark when there are
        too many to be named at all.
    """
    labels: list[Label] = []
    numbered: dict[str, str] = {}
    rooms = list(rooms)
    for name, area in rooms:
        number = f"({len(numbered) + 1})"
        label = _name_room(floor, name, number, area, drawn)
        if label is None:
            return [], _unnamed(len(rooms))
        labels.append(label)
        if label.text == number:
            numbered[number] = name
    if len(numbered) > MOST_NUMBERED and 2 * len(numbered) > len(rooms):
        return [], _unnamed(len(rooms))
    return labels, numbered


def _unnamed(count: int) -> dict[str, str]:
    return {"": f"the {count} rooms are too small here to be named"}


def _name_room(
    floor: Floor, name: str, number: str, area: BaseGeometry, drawn: Sequence[BaseGeometry]
) -> Label | None:
    """Write a name in its room, or its number: off what is drawn and off the walls if possible."""
    west, _, east, _ = area.bounds
    names = name_wordings(name, (east - west) * floor.scale)
    numbers = [([number], size, "normal") for size in NAME_SIZES]
    off_walls = area.buffer(-OFF_WALLS_IN / floor.scale)
    ways = [(off_walls, names), (area, names), (area, numbers)]
    if any(one.intersects(area) for one in drawn):
        pale = area.difference(shapely.union_all(drawn))
        clear = area.difference(drawn[0])
        ways = [
            (off_walls.intersection(pale), names),
            (off_walls.intersection(clear), names),
            (clear, names),
            (clear, numbers),
            *ways[1:],
        ]
    for place, wordings in ways:
        label = floor.inside(place, wordings)
        if label is not None:
            return label
    at = area.representative_point()
    return floor.beside_if_free(at.x, at.y, number, SMALLEST_PT, gap=0.0, reach=0.7)


def _by_room(area: BaseGeometry) -> NDArray[np.float64]:
    """Return places in an area (n, 2), those with most room round them first."""
    west, south, east, north = area.bounds
    across, up = np.meshgrid(
        np.linspace(west, east, 2 * GRID + 1)[1:-1], np.linspace(south, north, 2 * GRID + 1)[1:-1]
    )
    points = shapely.points(across.ravel(), up.ravel())
    points = points[shapely.contains(area, points)]
    away = shapely.distance(points, shapely.boundary(area))
    places: NDArray[np.float64] = shapely.get_coordinates(points[np.argsort(-away, kind="stable")])
    return places


def _round(
    mark: tuple[float, float], angle: float, gap: float, size: tuple[float, float]
) -> tuple[float, float]:
    """Return the middle of a box whose near side lies `gap` from a mark in a direction."""
    across, up = math.cos(angle), math.sin(angle)
    return mark[0] + across * (gap + size[0] / 2), mark[1] + up * (gap + size[1] / 2)


def _box(at: tuple[float, float], width: float, height: float) -> tuple[float, float, float, float]:
    return at[0] - width / 2, at[1] - height / 2, at[0] + width / 2, at[1] + height / 2
