"""What the plan shows where the scan flags something."""

from __future__ import annotations

from shapely.geometry.base import BaseGeometry

from moisturemap.anomalies.assemble import Anomaly
from moisturemap.floorplan import FloorPlan, PlanLine

BESIDE_M = 0.3
"""A drawn service this near to a flagged line or spot may be what it is (our choice: drawings and
grids are seldom truer) [m]."""
LEAST_ALONG = 0.5
"""Share of a flagged line that a drawn service must run beside (our choice)."""


def drawn_words(anomaly: Anomaly, plan: FloorPlan) -> str:
    """Name the known service beside an anomaly, as the end of its sentence; "" for none.

    Parameters
    ----------
    anomaly : Anomaly
        A line or spot; a pattern and a single reading that stands alone get no words.
    plan : FloorPlan
    """
    if anomaly.kind not in ("line", "spot"):
        return ""
    beside = [one for one in plan.lines_of("known-service") if _is_beside(anomaly, one)]
    if not beside:
        return ""
    nearest = min(beside, key=lambda one: _apart(anomaly, one))
    name = nearest.name or "a service"
    return f"; the plan shows {name} {_apart(anomaly, nearest):.1f} m beside it"


def is_drawn(line: BaseGeometry, plan: FloorPlan) -> bool:
    """Whether a known service of the plan runs along a flagged line.

    Parameters
    ----------
    line : shapely geometry
    plan : FloorPlan
    """
    return any(is_along(line, one) for one in plan.lines_of("known-service"))


def is_along(line: BaseGeometry, service: PlanLine) -> bool:
    """Whether a service runs along a flagged line."""
    along = line.intersection(service.geometry.buffer(BESIDE_M)).length
    return bool(along >= LEAST_ALONG * line.length)


def _is_beside(anomaly: Anomaly, service: PlanLine) -> bool:
    if anomaly.kind == "spot":
        return bool(service.geometry.buffer(BESIDE_M).intersects(anomaly.geometry))
    return is_along(anomaly.geometry, service)


def _apart(anomaly: Anomaly, service: PlanLine) -> float:
    """Return how far the middle of an anomaly lies from a service [m]."""
    if anomaly.kind == "spot":
        return float(service.geometry.distance(anomaly.geometry))
    middle = anomaly.geometry.interpolate(0.5, normalized=True)
    return float(service.geometry.distance(middle))
