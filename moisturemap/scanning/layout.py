"""Where to read: a grid in every room, the walls, and an order to walk it in."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Annotated

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiLineString

from moisturemap.checked import checked, one_of, within
from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.scanning.detection import grid_limits
from moisturemap.scanning.route import CORNERS, corner_of, in_order, way_of

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
        Places to be read a second time when the walk comes by again, for noise and drift.
    start : str
        Corner of the plan the walk begins at, one of ``CORNERS``.
    footprint_m : float or None
        Sd of the meter's response across a thin thing [m]; None where it is not known.
    rows : str
        ``"long"`` walks to and fro along the longer side of each room, ``"short"`` along the other.
    """

    spacing: float | None = None
    margin: float = 0.15
    edge: bool = True
    repeats: int = 10
    start: Annotated[str, one_of(*CORNERS)] = CORNERS[0]
    rows: Annotated[str, one_of("long", "short")] = "long"
    footprint_m: Annotated[float | None, within(0.01, 0.5, "m")] = None

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
    way : shapely.MultiLineString
        The way on foot from place to place, repeats included [m]: inside the rooms round their
        corners, from room to room through the doors of the plan.
    apart : tuple of (str, str)
        Rooms walked one after the other between which no doors lead: there the plan does not tell
        the way, and nothing is drawn or counted.
    limits : tuple of str
        What such a grid finds and can miss.
    """

    places: gpd.GeoDataFrame
    spacing: float
    way: MultiLineString
    apart: tuple[tuple[str, str], ...]
    limits: tuple[str, ...]

    @property
    def walk_m(self) -> float:
        """Length of the way [m]."""
        return float(self.way.length)

    @property
    def way_words(self) -> tuple[str, ...]:
        """Name the rooms between which the plan does not tell the way."""
        if not self.apart:
            return ()
        first, then = self.apart[0]
        more = f" and {len(self.apart) - 1} more" if len(self.apart) > 1 else ""
        return (
            f"The plan shows no door on the way from {first} to {then}{more}: the way there is "
            "neither drawn nor counted. Draw the doors on the plan.",
        )


def lay_out(
    plan: FloorPlan,
    options: LayoutOptions | None = None,
    read: Collection[tuple[float, float]] = (),
) -> ScanLayout:
    """Lay a grid of readings into every room and order it for walking to and fro.

    Parameters
    ----------
    plan : FloorPlan
    options : LayoutOptions, optional
    read : collection of (float, float)
        Places read before, to the centimetre [m]: they are left out, but for second readings.

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
    places = in_order(plan, rooms, corner_of(plan, options.start), options.repeats)
    places.insert(0, "order", np.arange(1, len(places) + 1))
    places = _not_read(places, read)
    way, apart = way_of(plan, places)
    frame = gpd.GeoDataFrame(places, geometry=shapely.points(places["x"], places["y"]))
    limits = (*_closer_at_services(plan, spacing), *grid_limits(spacing, options.footprint_m))
    return ScanLayout(frame[list(LAYOUT_COLUMNS)], spacing, way, apart, limits)


def _not_read(places: pd.DataFrame, read: Collection[tuple[float, float]]) -> pd.DataFrame:
    done = {(round(x, 2), round(y, 2)) for x, y in read}
    here = zip(places["x"].round(2), places["y"].round(2), strict=True)
    left = np.array([place not in done for place in here], dtype=bool)
    return places[left | (places["purpose"] == "repeat").to_numpy()].reset_index(drop=True)


def _closer_at_services(plan: FloorPlan, spacing: float) -> tuple[str, ...]:
    """Propose half the spacing in the rooms where the plan draws services."""
    lines = [one.geometry for one in plan.lines_of("known-service")]
    rooms = [r.name for r in plan.rooms if any(r.polygon.intersects(line) for line in lines)]
    if not rooms:
        return ()
    return (
        f"The plan draws services in {', '.join(rooms)}: read every {spacing / 2:.2g} m there, so "
        "that a pipe and water along it can be told apart.",
    )


def _room_places(room: Room, spacing: float, options: LayoutOptions) -> pd.DataFrame:
    grid = _grid(room, spacing, options)
    edge = _edge(room, grid, spacing, options.margin) if options.edge else grid.iloc[:0]
    places = pd.concat([grid, edge], ignore_index=True)
    if places.empty:
        point = room.polygon.representative_point()
        only = {"label": ["A1"], "x": [point.x], "y": [point.y], "purpose": "grid", "row": 0}
        places = pd.DataFrame(only)
    places["room"] = room.name
    return places


def _grid(room: Room, spacing: float, options: LayoutOptions) -> pd.DataFrame:
    """Return nodes in the room, row by row; rows run along the longer side unless told else."""
    west, south, east, north = room.polygon.bounds
    along_x = (east - west >= north - south) == (options.rows == "long")
    x, y = _nodes(west, east, spacing), _nodes(south, north, spacing)
    inner = room.polygon.buffer(-options.margin)
    rows = []
    for number, at in enumerate(y if along_x else x):
        along = x if along_x else y
        across = np.full(along.size, at)
        px, py = (along, across) if along_x else (across, along)
        inside = shapely.intersects_xy(inner, px, py)
        labels = [f"{_letters(number)}{one}" for one in np.flatnonzero(inside) + 1]
        named = {"label": labels, "x": px[inside], "y": py[inside], "purpose": "grid"}
        rows.append(pd.DataFrame({**named, "row": number}))
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
    named = {"label": labels, "x": xy[:, 0], "y": xy[:, 1], "purpose": "edge"}
    return pd.DataFrame({**named, "row": -1})
