"""Lines of the plan that matter: walls, joints, known services."""

from __future__ import annotations

from dataclasses import dataclass

from shapely.geometry.base import BaseGeometry

LINE_KINDS = (
    "exterior-wall",
    "interior-wall",
    "movement-joint",
    "day-joint",
    "known-service",
    "door",
    "keep-clear",
    "power-point",
)
"""What a line (or point, or area) of the plan may be."""


@dataclass(frozen=True, slots=True)
class PlanLine:
    """A wall, joint, service, door, keep-clear area or power point of the plan [m]."""

    kind: str
    geometry: BaseGeometry
    name: str = ""
