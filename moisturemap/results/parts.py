"""Parts of a large floor, each small enough to be read on a map of its own."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import geopandas as gpd
import pandas as pd
import shapely
from shapely.geometry.base import BaseGeometry

from moisturemap.bundles import Study
from moisturemap.floorplan import FloorPlan, Room

WALL_M = 0.5
"""Lines this near to the rooms of a part belong to it, as the wall about them (our choice)."""

EDGE_M = 0.05
"""Tests this near to the rooms of a part stand on their edge (our choice)."""

MOST_ROOMS = 16
"""Rooms whose names and holes find room on a map across a page (our choice)."""


def parts_of(rooms: Sequence[Room], most: int = MOST_ROOMS) -> tuple[tuple[Room, ...], ...]:
    """Part rooms into groups of neighbours, each of at most so many; one group when all fit.

    The rooms are cut across their longer side into shares of like count, and each share again.

    Parameters
    ----------
    rooms : sequence of Room
    most : int
        Rooms in a part.

    Returns
    -------
    tuple of tuple of Room
        From the south-west on; within a part in the order given.
    """
    return _cut(tuple(rooms), math.ceil(len(rooms) / most))


def _cut(rooms: tuple[Room, ...], count: int) -> tuple[tuple[Room, ...], ...]:
    if count <= 1:
        return (rooms,)
    middles = {room.name: room.polygon.centroid for room in rooms}
    spread = [
        max(getattr(one, axis) for one in middles.values())
        - min(getattr(one, axis) for one in middles.values())
        for axis in ("x", "y")
    ]
    first, then = ("x", "y") if spread[0] >= spread[1] else ("y", "x")
    ordered = sorted(
        rooms,
        key=lambda room: (getattr(middles[room.name], first), getattr(middles[room.name], then)),
    )
    half = count // 2
    at = round(len(rooms) * half / count)
    kept = {room.name for room in ordered[:at]}
    lower = tuple(room for room in rooms if room.name in kept)
    upper = tuple(room for room in rooms if room.name not in kept)
    return (*_cut(lower, half), *_cut(upper, count - half))


def on_rooms(study: Study, rooms: Sequence[Room]) -> Study:
    """Return a study with only some of its rooms to be drawn; its surface stays that of the floor.

    Parameters
    ----------
    study : Study
    rooms : sequence of Room
        Of the study's plan. Zones and areas that reach beyond them are cut for the drawing.
    """
    plan = study.survey.plan
    names, shape = {room.name for room in rooms}, FloorPlan(tuple(rooms)).outline
    lines = tuple(line for line in plan.lines if line.geometry.distance(shape) < WALL_M)
    readings, table, wet = study.readings, study.anomalies, study.wet
    holes = study.drill_plan
    return replace(
        study,
        survey=replace(
            study.survey,
            plan=FloorPlan(tuple(rooms), lines),
            tests=_near(study.survey.tests, shape),
        ),
        found=replace(
            study.found,
            readings=readings[readings["room"].isin(names)],
            table=table[table.intersects(shape)],
        ),
        wet=replace(
            wet,
            zones=_within(wet.zones, shape),
            sure=_within(wet.sure, shape),
            possible=_within(wet.possible, shape),
        ),
        drilling=replace(study.drilling, holes=holes[holes["room"].isin(names)]),
    )


def _near(tests: pd.DataFrame, shape: BaseGeometry) -> pd.DataFrame:
    """Return tests in a shape or on its edge, and those of no known place."""
    placed = tests["x"].notna() & tests["y"].notna()
    x, y = (tests.loc[placed, one].to_numpy(float) for one in ("x", "y"))
    away = tests.index[placed][shapely.distance(shapely.points(x, y), shape) > EDGE_M]
    return tests.loc[~tests.index.isin(away)]


SLIVER_M2 = 1e-6
"""Of a zone that only touches a room this much lies in it by rounding [m2]."""


def _within(areas: gpd.GeoDataFrame, shape: BaseGeometry) -> gpd.GeoDataFrame:
    """Return areas cut to a shape; those that only touch it are left out."""
    if areas.empty:
        return areas
    cut = areas.geometry.intersection(shape)
    kept = areas.set_geometry(cut, crs=areas.crs)
    return kept[cut.area > SLIVER_M2]
