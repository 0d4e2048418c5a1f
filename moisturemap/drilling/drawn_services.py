"""Services the plan draws by points alone, or nowhere in the floor.

Method: ``docs/method/drilling.md``.
"""

from __future__ import annotations

import re
from collections import defaultdict

from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from moisturemap.floorplan import FloorPlan, PlanLine

NEAR_M = 0.3
"""A point so near a drawn service is a part of it [m]; our choice."""

LEAST_INSIDE_M = 0.05
"""Less of a line than this lies in the floor by the rounding of its wall [m]; our choice."""

MOST_NAMED = 4
"""Services named in a sentence; of more, how many."""

_END_WORDS = re.compile(
    r"\b(?:ends?|start|begin(?:s|ning)?|from|to|enters?|leaves?|in|out|exits?|goes|comes|rises?"
    r"|down|up|here|near|far|first|second|other|one|two|anfang|ende|von|bis|eintritt|austritt"
    r"|début|fin|entrée|sortie|[a-z]|\d+[a-z]?)\b|[^\w\s]|_",
    re.IGNORECASE,
)
"""What tells one end of a service from the other."""


def between_ends(plan: FloorPlan) -> list[tuple[str, LineString]]:
    """Return the straight way between the two points by which alone a service is known.

    The names of two such points differ in words for an end or a number alone ("water, end A").

    Parameters
    ----------
    plan : FloorPlan

    Returns
    -------
    list of (str, LineString)
        Common name, and the way [m].
    """
    called: dict[str, list[Point]] = defaultdict(list)
    for line in _points_alone(plan):
        if line.recognised and isinstance(line.geometry, Point):
            name = " ".join(_END_WORDS.sub(" ", line.name).split())
            called[name.casefold()].append(line.geometry)
    return [
        (name, LineString(ends))
        for name, ends in called.items()
        if len(ends) == 2 and ends[0].distance(ends[1]) > 0.0
    ]


def service_warnings(plan: FloorPlan) -> list[str]:
    """Say which services have no course on the plan, and whether all lie outside the rooms.

    Parameters
    ----------
    plan : FloorPlan
    """
    services = plan.lines_of("known-service")
    floor = plan.outline.buffer(LEAST_INSIDE_M)
    if services and not any(_inside(line, plan, floor) for line in services):
        return [
            f"All known services that the plan draws lie outside its rooms: {_named(services)}."
            " See that unit, origin and turn of their drawing are those of the rooms: as drawn,"
            " holes keep clear of nothing in the floor."
        ]
    alone = [line for line in _points_alone(plan) if _inside(line, plan, floor)]
    if not alone:
        return []
    return [
        f"Known services drawn as points alone: {_named(alone)}. Holes keep clear of the points,"
        " and of the straight way between two of one name, not of a course nobody drew: find it"
        " with a locator and draw it before any drilling."
    ]


def _points_alone(plan: FloorPlan) -> list[PlanLine]:
    """Return the points of services that lie at no line or area of one."""
    services = plan.lines_of("known-service")
    drawn = [one.geometry for one in services if one.geometry.geom_type != "Point"]
    return [
        line
        for line in services
        if line.geometry.geom_type == "Point"
        and all(line.geometry.distance(one) > NEAR_M for one in drawn)
    ]


def _inside(line: PlanLine, plan: FloorPlan, floor: BaseGeometry) -> bool:
    """Whether any of a service lies in the floor, and not merely at its edge."""
    if line.geometry.geom_type == "Point":
        return bool(line.geometry.intersects(floor))
    within = line.geometry.intersection(plan.outline)
    return bool(within.area > 0.0 or within.length > LEAST_INSIDE_M)


def _named(lines: list[PlanLine] | tuple[PlanLine, ...]) -> str:
    names = list(dict.fromkeys(line.name or "without a name" for line in lines))
    if len(names) > MOST_NAMED:
        return f"{', '.join(names[:MOST_NAMED])} and {len(names) - MOST_NAMED} more"
    return ", ".join(names)
