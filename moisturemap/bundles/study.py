"""One visit of one survey, gone the whole main path."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from html import escape
from importlib import import_module
from typing import Any

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


@dataclass(frozen=True, repr=False)
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

    @cached_property
    def sweeps(self) -> gpd.GeoDataFrame:
        """Confirming sweeps across what the grid cannot tell."""
        return confirming_sweeps(self.found, self.survey.plan)

    @property
    def drill_plan(self) -> gpd.GeoDataFrame:
        """Proposed holes."""
        return self.drilling.holes

    def plot(self, **options: Any) -> Any:
        """Draw the map; `options` are those of ``moisturemap.figures.MapOptions``.

        Returns
        -------
        matplotlib.figure.Figure

        Raises
        ------
        OptionError
            For an option with a value it cannot mean.
        """
        # Figures lie above and know studies; asked by name, so that nothing here depends on them.
        drawing = import_module("moisturemap.figures")
        return drawing.map_figure(self, drawing.MapOptions(**options))

    def facts(self) -> dict[str, str]:
        """Return the study in a few lines, by name."""
        level, quantity = self.wet.level.value, self.moisture.quantity
        started = "" if self.visit.started is None else f", {self.visit.started:%Y-%m-%d %H:%M}"
        flags = self.readings["flag"].value_counts()
        rooms = len(self.survey.plan.rooms)
        ny, nx = self.moisture.grid.shape
        area = self.survey.plan.outline.area
        zones = ", ".join(f"{one.zone} {one.area_m2:.1f} m2" for one in self.zones.itertuples())
        return {
            "survey": f"{self.survey.name}, {rooms} room{'s' if rooms != 1 else ''}, {area:.1f} m2",
            "visit": f"{self.visit.id}{started}, {self.clean.instrument.id}",
            "readings": f"{len(self.readings)}: " + ", ".join(f"{n} {k}" for k, n in flags.items()),
            "surface": f"{ny} x {nx} cells, {quantity.label}"
            + (f" [{quantity.unit}]" if quantity.unit else ", no unit"),
            "wet level": "none" if level is None else f"{level:.3g} ({self.wet.level.how})",
            "zones": zones or "none",
            "anomalies": ", ".join(map(str, self.anomalies["anomaly"])) or "none",
            "drill plan": ", ".join(map(str, self.drill_plan["hole"])) or "none",
        }

    def __repr__(self) -> str:
        width = max(map(len, self.facts()))
        lines = [f"  {name:<{width}}  {_cut(text)}" for name, text in self.facts().items()]
        return "\n".join(["<moisturemap.Study>", *lines])

    def _repr_html_(self) -> str:
        rows = "".join(
            f'<tr><th style="text-align:left">{escape(name)}</th>'
            f'<td style="text-align:left">{escape(_cut(text))}</td></tr>'
            for name, text in self.facts().items()
        )
        return f"<table><caption>moisturemap.Study</caption>{rows}</table>"


LONGEST = 100
"""Characters of a line of a study shown in a console or notebook (our choice)."""


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
