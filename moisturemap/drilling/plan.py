"""The drill plan: where to drill, why, how deep, how to set it out."""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd

PURPOSES = ("wettest", "zone", "calibration", "coverage", "perimeter", "dry-reference",
            "beside-anomaly")  # fmt: skip

HOLE_COLUMNS = (
    "hole", "room", "domain", "purpose", "why", "expected", "x", "y", "depth_mm", "set_out",
    "from_a", "distance_a_m", "from_b", "distance_b_m", "status", "geometry",
)  # fmt: skip
"""``hole`` is "H1", ...; ``expected`` is the mapped relative reading there; ``from_a`` names a wall
or corner; ``set_out`` is the sentence for the person with the tape; ``status`` is "proposed",
"pinned" or "done"."""


@dataclass(frozen=True)
class DrillPlan:
    """Proposed holes.

    Attributes
    ----------
    holes : geopandas.GeoDataFrame
        Columns ``HOLE_COLUMNS``.
    count_rule : str
        How many holes and by which document, with "verify".
    cautions : tuple of str
        To be cleared by a named person before any drilling.
    statements : tuple of str
        What the plan can miss, what n passing holes would and would not show, what was not
        possible.
    """

    holes: gpd.GeoDataFrame
    count_rule: str
    cautions: tuple[str, ...]
    statements: tuple[str, ...] = ()
