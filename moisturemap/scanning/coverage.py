"""How well the readings cover the rooms: spacing, gaps, rooms left out, walls."""

from __future__ import annotations

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.scanning.remark import Remark
from moisturemap.survey import CleanReadings

GAP_SPACINGS = 1.3
"""A place farther than this many spacings from every reading is a gap: one node left out of a
square grid is one spacing away from its neighbours and is no gap (our choice)."""

FEW = 3
"""A room with fewer places read than this gets no surface of its own."""

WALL_REACH_M = 0.5
"""A wall is read where a reading lies this near, or three quarters of the spacing if more [m]
(perimeter readings: common practice)."""

WALL_SHARE = 0.8
"""Share of the walls of a room that ought to be read (our choice)."""

_CELLS_PER_SPACING = 5
_MOST_CELLS = 200_000


def scan_spacing(locations: pd.DataFrame) -> float | None:
    """Return the median distance from a location to its nearest [m]; None below two locations."""
    places = locations[["x", "y"]].to_numpy(dtype=float)
    if len(places) < 2:
        return None
    distance = np.asarray(cKDTree(places).query(places, k=2)[0])
    return float(np.median(distance[:, 1]))


def remarks_on_coverage(clean: CleanReadings, plan: FloorPlan) -> list[Remark]:
    """Name rooms hardly read, gaps and walls left out."""
    remarks: list[Remark] = []
    spacing = scan_spacing(clean.locations)
    counts = clean.locations["room"].value_counts()
    for room in plan.rooms:
        count = int(counts.get(room.name, 0))
        if count == 0:
            remarks.append(Remark("problem", f"No reading was taken in {room.name}.", room.name))
        elif count < FEW:
            remarks.append(
                Remark(
                    "warning",
                    f"Only {count} {_places(count)} read in {room.name}: too few for a map of it.",
                    room.name,
                )
            )
        elif spacing is not None:
            places = clean.locations[["x", "y"]].to_numpy(dtype=float)
            remarks += _gaps(room, places, spacing)
            remarks += _walls(room, places, spacing)
    return remarks


def _places(count: int) -> str:
    return "place was" if count == 1 else "places were"


def _gaps(room: Room, places: NDArray[np.float64], spacing: float) -> list[Remark]:
    """Name the largest empty circles of a room, one after the other, none inside another."""
    cells = _cells(room, spacing)
    if not cells.size:
        return []
    distance = np.asarray(cKDTree(places).query(cells)[0])
    limit = GAP_SPACINGS * spacing
    remarks = []
    while distance.size and distance.max() > limit:
        k = int(distance.argmax())
        x, y = cells[k]
        remarks.append(
            Remark(
                "warning",
                f"Gap in {room.name}: no reading within {distance[k]:.1f} m of x {x:.1f} m, "
                f"y {y:.1f} m, though readings stand {spacing:.2g} m apart elsewhere.",
                room.name,
            )
        )
        keep = np.hypot(*(cells - cells[k]).T) > max(2 * limit, distance[k] * 1.5)
        cells, distance = cells[keep], distance[keep]
        if len(remarks) == 5:
            break
    return remarks


def _cells(room: Room, spacing: float) -> NDArray[np.float64]:
    """Return the middle of a room as cells; the strip along its walls is judged as wall."""
    middle = room.polygon.buffer(-0.75 * spacing)
    area = room.polygon if middle.is_empty else middle
    west, south, east, north = area.bounds
    side = max(
        spacing / _CELLS_PER_SPACING, float(np.sqrt((east - west) * (north - south) / _MOST_CELLS))
    )
    x, y = np.meshgrid(np.arange(west, east + side, side), np.arange(south, north + side, side))
    shapely.prepare(area)
    inside = shapely.intersects_xy(area, x.ravel(), y.ravel())
    cells: NDArray[np.float64] = np.column_stack([x.ravel(), y.ravel()])[inside]
    return cells


def _walls(room: Room, places: NDArray[np.float64], spacing: float) -> list[Remark]:
    reach = max(WALL_REACH_M, 0.75 * spacing)
    ring = shapely.get_exterior_ring(room.polygon)
    count = max(8, int(ring.length / 0.1))
    points = shapely.line_interpolate_point(ring, np.arange(count) * ring.length / count)
    distance, _ = cKDTree(places).query(shapely.get_coordinates(points))
    share = float(np.mean(distance <= reach))
    if share >= WALL_SHARE:
        return []
    return [
        Remark(
            "warning",
            f"Along {1 - share:.0%} of the walls of {room.name} no reading was "
            f"taken within {reach:.1f} m: water often stands at the edge.",
            room.name,
        )
    ]
