"""Confirming sweeps: short rows of readings across what a scan could not tell.

A thing answers over the footprint of the scanner plus its own size, wet floor over decimetres; on a
coarse grid neither neighbour row may see which. A few readings close together across it do. They
come back in the same survey, with the other readings, and the next study settles it. Method:
docs/method/anomalies.md.
"""

from __future__ import annotations

import itertools

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from moisturemap.anomalies import Anomalies, read_sweeps
from moisturemap.floorplan import FloorPlan, Room, walls
from moisturemap.floorplan.wall import Wall
from moisturemap.survey import DOUBTED

Array = NDArray[np.float64]
Course = tuple[Array, Array]

SWEEP_COLUMNS = (
    "sweep",
    "anomaly",
    "room",
    "readings",
    "apart_m",
    "from_x",
    "from_y",
    "to_x",
    "to_y",
    "set_out",
    "sentence",
    "geometry",
)
"""``sweep`` is "W1", "W2", ...; ``readings`` so many, ``apart_m`` apart, from ``from_x, from_y`` to
``to_x, to_y`` [m]; ``set_out`` says by tape where it starts and ends; geometry is the line."""

READINGS, APART_M = 12, 0.1
"""Readings of a sweep and the distance between them [m]: 0.55 m to each side, where a band of water
of sd 0.35 m still shows and a pipe does not (our choice, tried on invented floors). An even number,
so that none falls on the very place that is to be settled: there it would only be a repeat."""

LONG_M = 1.5
"""A straight line at least this long gets two sweeps, at a third and at two thirds of it [m]."""

LEG_M = 0.8
"""Of a bent line each leg at least this long gets one [m]."""

LONG_AT, SHORT_AT = (1 / 3, 2 / 3), (1 / 2,)
"""Shares of a long line, and of a short one or a leg, at which it is swept."""

LEAST = 5
"""A sweep of fewer readings, cut off by walls, tells too little."""

WALL_GAP_M = 0.05
"""Readings stand at least this far from a wall [m]."""

READ_M = 0.35
"""What it crosses may since be placed a little differently: a sweep was read where one more along
it than across passes its middle this near [m]."""

PARALLEL_DEG = 30.0
"""Walls nearer in direction than this do not fix a place together."""


def confirming_sweeps(found: Anomalies, plan: FloorPlan) -> gpd.GeoDataFrame:
    """Propose sweeps across what is contested, and lines that may be a narrow band of wet floor.

    What was swept already and stays open is not swept again, but for sweeps that are doubted: on
    invented floors readings elsewhere along it settled one in ten.

    Parameters
    ----------
    found : Anomalies
        Its readings tell which sweeps have been read.
    plan : FloorPlan

    Returns
    -------
    geopandas.GeoDataFrame
        Columns ``SWEEP_COLUMNS``; empty where nothing is contested, or no sweep is left to read.
    """
    rows: list[dict[str, object]] = []
    trusted = found.readings[found.readings["flag"] != DOUBTED]
    read = read_sweeps(trusted[["x", "y"]].to_numpy(dtype=float))
    open_ = (found.table["standing"] == "contested") | ~found.table["confirmed"].astype(bool)
    for one in found.table[open_].itertuples():
        for middle, way in _courses(one.geometry):
            laid = _laid(plan, middle, way)
            if laid is not None and not _was_read(laid[0], read):
                rows.append(_row(f"W{len(rows) + 1}", str(one.anomaly), *laid))
    if not rows:
        empty: dict[str, list[object]] = {name: [] for name in SWEEP_COLUMNS}
        return gpd.GeoDataFrame(empty, geometry="geometry")
    return gpd.GeoDataFrame(rows, columns=list(SWEEP_COLUMNS), geometry="geometry")


def sweep_places(sweep: LineString) -> Array:
    """Places of the readings of a sweep, from its start to its end, shape (k, 2) [m]."""
    count = round(sweep.length / APART_M) + 1
    steps = sweep.interpolate(np.linspace(0.0, sweep.length, count))
    return np.asarray(shapely.get_coordinates(steps))


def _was_read(sweep: LineString, read: list[LineString]) -> bool:
    middle, way = sweep.centroid, _way(sweep)
    return any(
        one.distance(middle) <= READ_M and abs(_way(one) @ way) >= np.sqrt(0.5) for one in read
    )


def _way(sweep: LineString) -> Array:
    first, last = np.asarray(sweep.coords)[[0, -1]]
    return np.asarray((last - first) / np.hypot(*(last - first)))


def _courses(shape: BaseGeometry) -> list[Course]:
    """Middle and direction of each sweep across a line, or of two crossing at a spot."""
    if shape.geom_type != "LineString":
        place = np.array([shape.centroid.x, shape.centroid.y])
        return [(place, way) for way in np.eye(2)]
    corners = shapely.get_coordinates(shape)
    legs = [leg for leg in itertools.pairwise(corners) if _long(leg) >= LEG_M]
    legs = legs or [(corners[0], corners[-1])]
    alone = len(legs) == 1 and _long(legs[0]) >= LONG_M
    return [_across(leg, share) for leg in legs for share in (LONG_AT if alone else SHORT_AT)]


def _across(leg: tuple[Array, Array], share: float) -> Course:
    first, last = leg
    along = (last - first) / _long(leg)
    return first + share * (last - first), np.array([-along[1], along[0]])


def _long(leg: tuple[Array, Array]) -> float:
    return float(np.hypot(*(leg[1] - leg[0])))


def _laid(plan: FloorPlan, middle: Array, way: Array) -> tuple[LineString, Room] | None:
    """Sweep about a place, cut off at the walls of its room; None where too short."""
    room = plan.room_at(float(middle[0]), float(middle[1]))
    if room is None or not shapely.contains_xy(room.polygon, *middle):
        return None
    inner = room.polygon.buffer(-WALL_GAP_M)
    half = READINGS // 2
    steps = np.arange(READINGS) - half + 0.5
    places = middle + APART_M * steps[:, None] * way
    good = shapely.contains_xy(inner, places[:, 0], places[:, 1])
    first = half - int(np.argmin(np.append(good[:half][::-1], False)))
    last = half - 1 + int(np.argmin(np.append(good[half:], False)))
    if last - first + 1 < LEAST:
        return None
    return LineString([places[first], places[last]]), room


def _row(name: str, anomaly: str, line: LineString, room: Room) -> dict[str, object]:
    (x0, y0), (x1, y1) = line.coords
    count = round(line.length / APART_M) + 1
    pair = _two_walls(room, line)
    set_out = f"from {_by_tape(pair, x0, y0)} to {_by_tape(pair, x1, y1)}"
    return {
        "sweep": name,
        "anomaly": anomaly,
        "room": room.name,
        "readings": count,
        "apart_m": APART_M,
        "from_x": round(x0, 3),
        "from_y": round(y0, 3),
        "to_x": round(x1, 3),
        "to_y": round(y1, 3),
        "set_out": set_out,
        "sentence": f"Across {anomaly} in {room.name}: {count} readings {APART_M:.2f} m apart, "
        f"{set_out}. Sharp within three of them: something embedded; a slow rise: wet floor.",
        "geometry": line,
    }


def _two_walls(room: Room, line: LineString) -> list[Wall]:
    """Return the nearest walls of a room that are not parallel: both ends are measured off them."""
    near = sorted(walls(room), key=lambda wall: wall.line.distance(line.centroid))
    second = next((wall for wall in near[1:] if _turned(near[0], wall)), None)
    return [near[0]] if second is None else [near[0], second]


def _by_tape(pair: list[Wall], x: float, y: float) -> str:
    """Say where a place is by its distances from walls."""
    place = Point(x, y)
    return " and ".join(f"{wall.line.distance(place):.2f} m off the {wall.name}" for wall in pair)


def _turned(one: Wall, other: Wall) -> bool:
    angles = []
    for wall in (one, other):
        (x0, y0), (x1, y1) = wall.line.coords[0], wall.line.coords[-1]
        angles.append(np.degrees(np.arctan2(y1 - y0, x1 - x0)))
    apart = abs(angles[0] - angles[1]) % 180.0
    return bool(min(apart, 180.0 - apart) > PARALLEL_DEG)
