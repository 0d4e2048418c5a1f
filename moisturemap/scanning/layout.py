"""Where to read: a grid in every room, the walls, and an order to walk it in."""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from moisturemap.checked import checked
from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.scanning.detection import grid_limits

MOST_READINGS = 100_000

LAYOUT_COLUMNS = ("order", "label", "room", "x", "y", "purpose", "geometry")
"""``order`` counts from 1 in walking order; ``label`` is row and number, e.g. ``B7``; ``purpose``
is "grid", "edge" or "repeat"."""


@dataclass(frozen=True, kw_only=True)
@checked
class LayoutOptions:
    """What a scan should be like.

    Attributes
    ----------
    spacing : float or None
        Between readings [m]; half a metre in rooms up to 100 m2 and a metre beyond when None
        (common practice).
    margin : float
        Least distance of a reading from a wall [m]: meters read wrong against an edge.
    edge : bool
        Whether a line of readings follows the walls.
    repeats : int
        Places to be read a second time at the end, for noise and drift.
    """

    spacing: float | None = None
    margin: float = 0.15
    edge: bool = True
    repeats: int = 10

    def __post_init__(self) -> None:
        """Refuse settings outside what is allowed."""
        if self.spacing is not None and not 0.05 <= self.spacing <= 10:
            raise OptionError(
                "a grid cannot be laid at this spacing", value=self.spacing, allowed="0.05 to 10 m"
            )
        if not 0 <= self.margin <= 2 or self.repeats < 0:
            raise OptionError(
                "a margin lies between 0 and 2 m and repeats are not negative",
                value=(self.margin, self.repeats),
            )


@dataclass(frozen=True)
class ScanLayout:
    """Places to read.

    Attributes
    ----------
    places : geopandas.GeoDataFrame
        Columns ``LAYOUT_COLUMNS``, in walking order.
    spacing : float
        Of the grid [m].
    walk_m : float
        Length of the walk inside the rooms, from place to place [m].
    limits : tuple of str
        What such a grid finds and can miss.
    """

    places: gpd.GeoDataFrame
    spacing: float
    walk_m: float
    limits: tuple[str, ...]


def lay_out(plan: FloorPlan, options: LayoutOptions | None = None) -> ScanLayout:
    """Lay a grid of readings into every room and order it for walking to and fro.

    Raises
    ------
    OptionError
        If the spacing would need more than ``MOST_READINGS`` places.
    """
    options = options or LayoutOptions()
    area = float(plan.outline.area)
    spacing = options.spacing or (0.5 if area <= 100 else 1.0)
    if area / spacing**2 > MOST_READINGS:
        raise OptionError(
            "this spacing needs too many readings",
            value=spacing,
            allowed=f"at least {(area / MOST_READINGS) ** 0.5:.2f} m",
        )
    rooms = [_room_places(room, spacing, options) for room in plan.rooms]
    places = pd.concat(rooms, ignore_index=True)
    walk = float(sum(_length(one) for one in rooms))
    places = _with_repeats(places, options.repeats)
    places.insert(0, "order", np.arange(1, len(places) + 1))
    frame = gpd.GeoDataFrame(places, geometry=shapely.points(places["x"], places["y"]))
    return ScanLayout(frame[list(LAYOUT_COLUMNS)], spacing, walk, grid_limits(spacing))


def _room_places(room: Room, spacing: float, options: LayoutOptions) -> pd.DataFrame:
    grid = _grid(room, spacing, options.margin)
    edge = _edge(room, grid, spacing, options.margin) if options.edge else grid.iloc[:0]
    places = pd.concat([grid, edge], ignore_index=True)
    if places.empty:
        point = room.polygon.representative_point()
        places = pd.DataFrame({"label": ["A1"], "x": [point.x], "y": [point.y], "purpose": "grid"})
    places["room"] = room.name
    return places


def _grid(room: Room, spacing: float, margin: float) -> pd.DataFrame:
    """Return nodes in the room, rows walked to and fro along the longer side."""
    west, south, east, north = room.polygon.bounds
    along_x = east - west >= north - south
    x, y = _nodes(west, east, spacing), _nodes(south, north, spacing)
    inner = room.polygon.buffer(-margin)
    rows = []
    for number, at in enumerate(y if along_x else x):
        along = x if along_x else y
        column = np.arange(1, along.size + 1)
        order = slice(None) if number % 2 == 0 else slice(None, None, -1)
        along, column = along[order], column[order]
        across = np.full(along.size, at)
        px, py = (along, across) if along_x else (across, along)
        inside = shapely.intersects_xy(inner, px, py)
        labels = [f"{_letters(number)}{one}" for one in column[inside]]
        rows.append(
            pd.DataFrame({"label": labels, "x": px[inside], "y": py[inside], "purpose": "grid"})
        )
    return pd.concat(rows, ignore_index=True)


def _nodes(low: float, high: float, spacing: float) -> NDArray[np.float64]:
    """Return nodes at the spacing, centred so that both walls are as far from the next node."""
    count = max(1, int((high - low) / spacing + 1e-9))
    start = low + ((high - low) - (count - 1) * spacing) / 2
    return np.round(start + spacing * np.arange(count), 3)


def _letters(number: int) -> str:
    """Name a row: A to Z, AA, AB, ..."""
    name = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        name = chr(65 + rest) + name
    return name


def _edge(room: Room, grid: pd.DataFrame, spacing: float, margin: float) -> pd.DataFrame:
    """Return places along the walls that no node of the grid stands near."""
    inner = room.polygon.buffer(-max(margin, 0.01), join_style="mitre")
    places = []
    for ring in shapely.get_rings(inner) if not inner.is_empty else []:
        count = max(4, round(ring.length / spacing))
        points = shapely.line_interpolate_point(ring, np.arange(count) * ring.length / count)
        places.append(shapely.get_coordinates(points))
    if not places:
        return grid.iloc[:0]
    xy = np.round(np.vstack(places), 3)
    if len(grid):
        nodes = shapely.multipoints(grid[["x", "y"]].to_numpy())
        xy = xy[shapely.distance(shapely.points(xy), nodes) > 0.5 * spacing]
    labels = [f"edge {k}" for k in range(1, len(xy) + 1)]
    return pd.DataFrame({"label": labels, "x": xy[:, 0], "y": xy[:, 1], "purpose": "edge"})


def _with_repeats(places: pd.DataFrame, count: int) -> pd.DataFrame:
    """Put evenly spread places of the grid once more behind the others."""
    grid = places[places["purpose"] == "grid"]
    chosen = np.unique(np.linspace(0, len(grid) - 1, min(count, len(grid))).round().astype(int))
    again = grid.iloc[chosen].assign(purpose="repeat") if count else grid.iloc[:0]
    return pd.concat([places, again], ignore_index=True)


def _length(places: pd.DataFrame) -> float:
    steps = np.diff(places[["x", "y"]].to_numpy(dtype=float), axis=0)
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum())
