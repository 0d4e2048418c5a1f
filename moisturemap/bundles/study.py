"""One visit of one survey, gone the whole main path."""

from __future__ import annotations

from dataclasses import dataclass, field

import geopandas as gpd
import xarray as xr

from moisturemap.anomalies import Anomalies, DetectOptions
from moisturemap.checked import checked
from moisturemap.drilling import DrillOptions, DrillPlan
from moisturemap.floorplan import Domain
from moisturemap.mapping import MappingOptions, MoistureSurface
from moisturemap.provenance import Provenance
from moisturemap.survey import CleanReadings, Survey, Visit
from moisturemap.zones import WetZones, ZoneOptions


@dataclass(frozen=True)
@checked
class StudyOptions:
    """What the user may choose about a study.

    Attributes
    ----------
    instrument : str or None
        Relative instrument to map when a visit used several; None takes the one read most.
    spacing : float or None
        Side of a map cell [m]; None chooses one that gives at most `max_cells` cells.
    max_cells : int
    detect, mapping, zones, drilling
        Options of the rooms.
    """

    instrument: str | None = None
    spacing: float | None = None
    max_cells: int = 20_000
    detect: DetectOptions = field(default_factory=DetectOptions)
    mapping: MappingOptions = field(default_factory=MappingOptions)
    zones: ZoneOptions = field(default_factory=ZoneOptions)
    drilling: DrillOptions = field(default_factory=DrillOptions)


@dataclass(frozen=True)
class Study:
    """Results of one visit of one survey.

    Attributes
    ----------
    survey : Survey
    visit : Visit
    domains : tuple of Domain
    clean : CleanReadings
    found : Anomalies
    moisture : MoistureSurface
    wet : WetZones
    drilling : DrillPlan
    provenance : Provenance
        Fingerprints of the files read, options and versions: enough to make it again.
    """

    survey: Survey
    visit: Visit
    domains: tuple[Domain, ...]
    clean: CleanReadings
    found: Anomalies
    moisture: MoistureSurface
    wet: WetZones
    drilling: DrillPlan
    provenance: Provenance

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

    @property
    def notes(self) -> tuple[str, ...]:
        """What was understood, mended or assumed on the way, in sentences."""
        return (
            *self.survey.plan.notes,
            *self.survey.notes,
            *self.clean.notes,
            *self.moisture.notes,
        )
