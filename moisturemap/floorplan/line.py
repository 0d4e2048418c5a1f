"""Lines of the plan that matter: walls, joints, known services."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import shapely
from shapely.geometry import Polygon
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

NOTED_IN = "holes keep clear of this place, not of a course nobody drew"
NOT_KEPT_CLEAR = "what it shows is not kept clear of"
"""End of a note on something drawn that no reader understands."""

_UNKNOWN = "(kind not known)"


@dataclass(frozen=True, slots=True)
class PlanLine:
    """A wall, joint, service, door, keep-clear area or power point of the plan [m]."""

    kind: str
    geometry: BaseGeometry
    name: str = ""

    @property
    def recognised(self) -> bool:
        """False for what a drawing shows without a kind that is known: it counts as a service."""
        return not self.name.endswith(_UNKNOWN)


MOST_ENCLOSED_M = 4.0
"""A closed line of a service up to this far across is the outline of a duct, tank or chamber; a
larger one is a pipe laid as a ring (our choice) [m]."""


def with_what_it_encloses(geometry: BaseGeometry) -> BaseGeometry:
    """Return what a service covers [m]: of a closed line that is an outline, also its inside.

    Parameters
    ----------
    geometry : shapely geometry
    """
    parts = list(getattr(geometry, "geoms", [geometry]))
    if not any(map(_is_outline, parts)):
        return geometry
    return shapely.union_all([Polygon(one) if _is_outline(one) else one for one in parts])


def _is_outline(part: BaseGeometry) -> bool:
    if part.geom_type != "LineString" or not part.is_ring or len(part.coords) < 4:
        return False
    west, south, east, north = part.bounds
    return bool(max(east - west, north - south) <= MOST_ENCLOSED_M)


def unknown_service(geometry: BaseGeometry, word: str = "") -> PlanLine:
    """Return what a drawing shows under a word nobody knows, as a service to keep clear of.

    Parameters
    ----------
    geometry : shapely geometry
    word : str
        Kind, layer or name as drawn; "" for none.
    """
    shown = " ".join(word.split())[:40]
    return PlanLine("known-service", geometry, f"'{shown}' {_UNKNOWN}" if shown else _UNKNOWN)


def unknown_words(lines: Iterable[PlanLine]) -> str:
    """Name what counts as a service because its kind is not known, in a sentence; "" for none.

    Parameters
    ----------
    lines : iterable of PlanLine
    """
    names = [line.name for line in lines if not line.recognised]
    found = list(dict.fromkeys(name.removesuffix(_UNKNOWN).strip() for name in names))
    if not found:
        return ""
    shown = ", ".join(one or "of a line that states none" for one in found[:6])
    if len(found) > 6:
        shown += f" and {len(found) - 6} more"
    if len(found) == 1:
        return f"Kind {shown} is not known: kept clear of as a service. State its kind in the plan."
    return f"Kinds {shown} are not known: kept clear of as services. State their kinds in the plan."
