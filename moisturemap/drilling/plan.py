"""The drill plan: where to drill, why, how deep, how to set it out."""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

PURPOSES = (
    "wettest",
    "zone",
    "calibration",
    "coverage",
    "perimeter",
    "dry-reference",
    "beside-anomaly",
    "read-high",
)

PURPOSE_WORDS = {
    "wettest": "may read highest",
    "zone": "wet zone",
    "calibration": "calibration",
    "coverage": "coverage",
    "perimeter": "exterior wall",
    "dry-reference": "reads low",
    "beside-anomaly": "beside an anomaly",
    "read-high": "high in another scan",
    "pinned": "wanted",
}
"""What a reader calls each purpose, on every door: relative readings prove no floor wet or dry."""


def purpose_words(purpose: str) -> str:
    """Return what a reader calls a purpose of ``PURPOSES``, or one that files name otherwise."""
    return PURPOSE_WORDS.get(purpose, purpose.replace("-", " "))


HOLE_COLUMNS = (
    "hole",
    "room",
    "domain",
    "purpose",
    "why",
    "expected",
    "x",
    "y",
    "depth_mm",
    "depth_note",
    "set_out",
    "from_a",
    "distance_a_m",
    "from_b",
    "distance_b_m",
    "status",
    "geometry",
)
"""``hole`` is "H1", ... or "P1", ... for a pin test in timber; ``expected`` is the mapped
relative reading there, NaN in a room nobody read; ``depth_mm`` is the stop setting, NaN when none
can be given, and ``depth_note`` how it follows or why not; ``from_a`` names a wall or corner;
``set_out`` is the sentence for the person with the tape; ``status`` is "proposed",
"pinned", "issued" (its name and place are settled) or "done"."""


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
    unreached : tuple of str
        Of each wet zone without a hole, and each room where none can stand, why and what to do;
        they head the statements.
    warnings : tuple of str
        What no short form may leave out: floor heating (the first caution), then holes near a
        service or where readings rise as over one, pins refused and lines of the plan nobody
        knows, which are among the statements.
    blocked : tuple of (str, str)
        Issued holes that lie on a service or thing found or drawn since, with the warning.
    """

    holes: gpd.GeoDataFrame
    count_rule: str
    cautions: tuple[str, ...]
    statements: tuple[str, ...] = ()
    unreached: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    blocked: tuple[tuple[str, str], ...] = ()


def drill_plan_table(plan: DrillPlan) -> pd.DataFrame:
    """Return the holes as a plain table for CSV: ``HOLE_COLUMNS`` without the geometry.

    Parameters
    ----------
    plan : DrillPlan
    """
    return pd.DataFrame(plan.holes.drop(columns="geometry"))


def no_holes() -> DrillPlan:
    """Return the plan of a floor for which none was asked."""
    holes = gpd.GeoDataFrame([], columns=list(HOLE_COLUMNS), geometry="geometry")
    return DrillPlan(holes, "", (), ("No holes were planned, as asked.",))
