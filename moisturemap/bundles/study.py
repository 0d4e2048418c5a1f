"""One visit of one survey, gone the whole main path."""

from __future__ import annotations

from dataclasses import dataclass, field

import geopandas as gpd

from moisturemap.checked import checked
from moisturemap.drilling import DrillOptions, DrillPlan
from moisturemap.provenance import Provenance
from moisturemap.scanning import confirming_sweeps
from moisturemap.zones import MappedVisit, VisitOptions


@dataclass(frozen=True)
@checked
class StudyOptions(VisitOptions):
    """What the user may choose about a study: of the map, and of the drill plan.

    Attributes
    ----------
    drilling : DrillOptions
    """

    drilling: DrillOptions = field(default_factory=DrillOptions)


@dataclass(frozen=True)
class Study(MappedVisit):
    """A mapped visit with its drill plan.

    Attributes
    ----------
    drilling : DrillPlan
    provenance : Provenance
        Fingerprints of the files read, options and versions: enough to make it again.
    """

    drilling: DrillPlan
    provenance: Provenance

    @property
    def sweeps(self) -> gpd.GeoDataFrame:
        """Confirming sweeps across what is contested."""
        return confirming_sweeps(self.found, self.survey.plan)

    @property
    def drill_plan(self) -> gpd.GeoDataFrame:
        """Proposed holes."""
        return self.drilling.holes
