"""What changed between visits, by their readings alone: the map of no visit enters.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from moisturemap.drying.change_map import ChangeMap, Floor, make_change_map
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.panel import make_panel
from moisturemap.drying.rises import Rise, find_rises, with_rises
from moisturemap.drying.series import VisitSeries
from moisturemap.floorplan import CellGrid, Domain, FloorPlan
from moisturemap.geostat import work_through
from moisturemap.mapping import FloorEmbedding


@dataclass(frozen=True)
class Changes:
    """What changed between visits.

    Attributes
    ----------
    floor : Floor
        On whose cells it is mapped.
    change, step, rate : ChangeMap or None
        As in ``DryingProgress``; of two visits at least.
    rises : tuple of Rise
        Between consecutive visits.
    """

    floor: Floor
    change: ChangeMap
    step: ChangeMap | None
    rate: ChangeMap | None
    rises: tuple[Rise, ...]


def floor_of(
    series: VisitSeries,
    parts: Sequence[Domain],
    grid: CellGrid,
    plan: FloorPlan,
    embeddings: Mapping[str, FloorEmbedding] | None = None,
) -> Floor:
    """Return what is the same on every visit.

    Parameters
    ----------
    series : VisitSeries
    parts : sequence of Domain
    grid : CellGrid
        Cells of the map of the latest visit.
    plan : FloorPlan
    embeddings : mapping of str to FloorEmbedding, optional
        By domain key, where they are at hand.
    """
    known = dict(embeddings or {})
    for domain in parts:
        if domain.key not in known:
            known[domain.key] = FloorEmbedding.of(domain.geometry)
    panels = {domain.key: make_panel(series, domain.key) for domain in parts}
    return Floor(grid, tuple(parts), known, panels, plan)


def find_changes(floor: Floor, series: VisitSeries, options: DryingOptions) -> Changes:
    """Map what changed between two or more visits.

    Parameters
    ----------
    floor : Floor
    series : VisitSeries
    options : DryingOptions

    Returns
    -------
    Changes
    """
    wanted = {"change": series.change_weights()}
    if len(series.clean) > 2:
        wanted["step"] = series.change_weights(-2)
    if series.timed:
        wanted["rate"] = series.rate_weights()
    made: list[ChangeMap] = []
    work_through(
        wanted.items(),
        lambda one: make_change_map(one[0], floor, series, one[1], options),
        made.append,
    )
    known = {one.name: one for one in made}
    step = known.get("step")
    rises = find_rises(floor, series, spacing_of_places(floor), options, step)
    if step is not None and step.known:
        step = with_rises(step, rises)
    return Changes(floor, known["change"], step, known.get("rate"), rises)


def spacing_of_places(floor: Floor) -> float:
    """Distance of the readings [m]."""
    return float(np.median([panel.spacing for panel in floor.panels.values()]))
