"""A scan before and after it is walked: its layout, and remarks on what came back."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from moisturemap.floorplan import FloorPlan
from moisturemap.scanning import Remark, ScanLayout


@dataclass(frozen=True)
class LaidOut:
    """A layout with the plan it is for."""

    plan: FloorPlan
    layout: ScanLayout


@dataclass(frozen=True)
class SurveyCheck:
    """Remarks on one visit, most serious first; ``unusable`` where no map can be made of it."""

    survey: str
    visit: str
    count: int
    remarks: tuple[Remark, ...]
    unusable: bool = False

    def as_dict(self) -> dict[str, Any]:
        """Return plain types for JSON."""
        return asdict(self)
