"""The study: one frozen bundle of the results of one visit."""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import xarray as xr

from moisturemap.anomalies import Anomalies
from moisturemap.drilling import DrillPlan
from moisturemap.mapping import MoistureSurface
from moisturemap.provenance import Provenance
from moisturemap.survey import CleanReadings, Survey, Visit
from moisturemap.zones import WetZones


@dataclass(frozen=True)
class Study:
    """Results of one visit of one survey."""

    survey: Survey
    visit: Visit
    clean: CleanReadings
    found: Anomalies
    moisture: MoistureSurface
    wet: WetZones
    drilling: DrillPlan
    provenance: Provenance
    notes: tuple[str, ...] = ()

    @property
    def readings(self) -> gpd.GeoDataFrame:
        """Every reading with its flag and reason."""
        return self.found.readings

    @property
    def surface(self) -> xr.Dataset:
        """``mean``, ``sd`` and ``p_wet`` on (y, x); NaN outside the rooms."""
        return self.moisture.dataset

    @property
    def zones(self) -> gpd.GeoDataFrame:
        """Wet zones as polygons."""
        return self.wet.zones

    @property
    def anomalies(self) -> gpd.GeoDataFrame:
        """Lines and spots that disturb readings."""
        return self.found.table

    @property
    def drill_plan(self) -> gpd.GeoDataFrame:
        """Proposed holes."""
        return self.drilling.holes

    @property
    def quality(self) -> str:
        """Whether the interval can be trusted here, and why not."""
        return self.moisture.quality
