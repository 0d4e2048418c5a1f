"""How much floor above the wet level left the map with things: a leak may lie under one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from scipy.spatial import cKDTree

from moisturemap.anomalies import ANOMALY_KINDS
from moisturemap.scanning import scan_spacing
from moisturemap.zones import MappedVisit


@dataclass(frozen=True)
class SetAside:
    """Readings above the wet level that were set aside as things.

    Attributes
    ----------
    readings : int
    area_m2 : float
        Floor they stand for: a square of the spacing each, less where sweeps read closer [m2].
    anomalies : tuple of str
        Over which things they lie.
    """

    readings: int
    area_m2: float
    anomalies: tuple[str, ...]

    @property
    def sentence(self) -> str:
        """What it means, in one sentence; "" where there is none."""
        if not self.readings:
            return ""
        count = "1 reading" if self.readings == 1 else f"{self.readings} readings"
        return (
            f"{count} above the wet level, some {self.area_m2:.1f} m2 of floor, left the map as "
            f"things ({', '.join(self.anomalies)}): a leak may lie under one of them; a hole "
            "beside a long thing, outside its clearance, tells whether it leaks."
        )

    def as_dict(self) -> dict[str, Any]:
        """Return plain types for JSON."""
        return {
            "readings": self.readings,
            "area_m2": round(self.area_m2, 2),
            "anomalies": list(self.anomalies),
            "sentence": self.sentence,
        }


def set_aside_above_level(mapped: MappedVisit) -> SetAside:
    """Count the readings above the wet level that left the map as things.

    Parameters
    ----------
    mapped : MappedVisit
        Or a study.
    """
    level, readings = mapped.wet.level.value, mapped.readings
    if level is None:
        return SetAside(0, 0.0, ())
    hidden = readings[readings["flag"].isin(ANOMALY_KINDS) & (readings["value"] > level)]
    spacing = scan_spacing(mapped.clean.locations) or 0.0
    names = tuple(sorted({str(name) for name in hidden["anomaly"] if name}))
    return SetAside(len(hidden), _floor_of(hidden, mapped, spacing), names)


def _floor_of(hidden: pd.DataFrame, mapped: MappedVisit, spacing: float) -> float:
    """Floor some readings stand for: each place a square as wide as its neighbour is near [m2]."""
    places = hidden.drop_duplicates("location")[["x", "y"]].to_numpy(dtype=float)
    if not len(places):
        return 0.0
    every = mapped.clean.locations[["x", "y"]].to_numpy(dtype=float)
    found = np.asarray(cKDTree(every).query(places, k=min(2, len(every)))[0])
    apart = found.reshape(len(places), -1)[:, -1]
    near = np.where(apart > 0, np.minimum(apart, spacing), spacing)
    return float((near**2).sum())
