"""A scan before and after it is walked: its layout, and remarks on what came back."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import geopandas as gpd

from moisturemap.floorplan import FloorPlan
from moisturemap.scanning import Remark, ScanLayout


@dataclass(frozen=True)
class LaidOut:
    """A layout with the plan it is for, and the sweeps that would settle an earlier scan.

    ``sweeps`` has ``scanning.SWEEP_COLUMNS``; None where the floor was not scanned before.
    """

    plan: FloorPlan
    layout: ScanLayout
    sweeps: gpd.GeoDataFrame | None = None


@dataclass(frozen=True)
class SurveyCheck:
    """Remarks on one visit, most serious first; ``unusable`` where no map can be made of it.

    ``units`` are those the survey is printed in unless asked otherwise.
    """

    survey: str
    visit: str
    count: int
    remarks: tuple[Remark, ...]
    unusable: bool = False
    units: str = "metric"

    def as_dict(self) -> dict[str, Any]:
        """Return plain types for JSON."""
        return asdict(self)
