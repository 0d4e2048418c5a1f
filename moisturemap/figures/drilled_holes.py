"""Holes that are drilled already: drawn wherever new ones are, so that nobody drills beside one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import geopandas as gpd
from matplotlib.axes import Axes
from shapely.geometry import Point

from moisturemap.bundles import Study
from moisturemap.drilling.draft import DRILLED_METHODS
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.key import Row
from moisturemap.figures.labels import SMALLEST_PT, Floor, Label
from moisturemap.figures.samples import MARKERS
from moisturemap.figures.style import INK
from moisturemap.floorplan import Room

DRILLED = Row("drilled", "drilled already")
"""In the key."""

WIDE_IN = 0.11
"""Width of the sign [in]."""


@dataclass(frozen=True, slots=True)
class DrilledHole:
    """A place that was drilled, with the names of all holes there [m]."""

    names: str
    x: float
    y: float


def drilled_already(study: Study, room: Room | None = None) -> list[DrilledHole]:
    """Return where holes of calibrated tests were drilled: tests at depth, and holes told done.

    Parameters
    ----------
    study : Study
    room : Room, optional
        Only those in it.
    """
    tests, plan = study.survey.tests, study.drill_plan
    deep = tests["method"].isin(DRILLED_METHODS) | (tests["depth_mm"].astype(float) > 0.0)
    rows = [*tests[deep].to_dict("records")]
    if len(plan):
        rows += plan[plan["status"] == "done"].to_dict("records")
    names: dict[tuple[float, float], list[str]] = {}
    for row in rows:
        x, y = float(row["x"]), float(row["y"])
        if x == x and y == y and (room is None or room.polygon.covers(Point(x, y))):
            names.setdefault((round(x, 2), round(y, 2)), []).append(str(row["hole"]))
    return [
        DrilledHole(", ".join(one for one in dict.fromkeys(told) if one), *at)
        for at, told in names.items()
    ]


def proposed(plan: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return the holes of a plan that are still to be drilled."""
    return plan[plan["status"] != "done"]


def keep_off_drilled(
    floor: Floor, drilled: Iterable[DrilledHole]
) -> list[tuple[float, float, float]]:
    """Keep labels off the signs of drilled holes; return these: x, y [m] and width [in]."""
    signs = [(hole.x, hole.y, WIDE_IN) for hole in drilled]
    for x, y, width in signs:
        floor.occupy(x, y, width, width)
    return signs


def name_drilled(floor: Floor, drilled: Iterable[DrilledHole]) -> list[Label]:
    """Return the names of drilled holes beside their signs, where each finds room close by."""
    found = [
        floor.beside_if_free(one.x, one.y, one.names, SMALLEST_PT, gap=WIDE_IN / 2)
        for one in drilled
        if one.names
    ]
    return [label for label in found if label is not None]


def draw_drilled(ax: Axes, drilled: Sequence[DrilledHole], labels: Sequence[Label]) -> None:
    """Draw drilled holes below the proposed ones, with their names."""
    for hole in drilled:
        ax.plot(hole.x, hole.y, linestyle="none", zorder=9.5, **MARKERS["drilled"])  # type: ignore[arg-type]
        ax.plot(hole.x, hole.y, linestyle="none", zorder=9.6, **MARKERS["drilled-cross"])  # type: ignore[arg-type]
    for label in labels:
        if label.mark is not None:
            layers.draw_leader(ax, label, *label.mark, INK)
    layers.write_labels(ax, labels, INK)
