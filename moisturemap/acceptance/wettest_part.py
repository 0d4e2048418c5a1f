"""The part of a wet zone that reads wettest, whatever wet level the zone was drawn by.

A level stated too low makes one zone of the whole floor, and a test at its rim says nothing of its
middle. Method: ``docs/method/acceptance.md``, rule 10.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from moisturemap.zones import MappedVisit

DRIEST_SHARE = 0.05
"""Quantile of the mapped floor of a domain that stands for its driest; project choice."""


def wettest_parts(study: MappedVisit | None) -> Mapping[str, BaseGeometry]:
    """Return the cells of each zone that read at least half-way from the driest floor to its peak.

    Parameters
    ----------
    study : MappedVisit or None

    Returns
    -------
    mapping of str to shapely geometry
        Squares of these cells by zone; zones without a mapped cell are left out.
    """
    if study is None or study.wet.zones.empty:
        return {}
    moisture = study.moisture
    grid, mean = moisture.grid, moisture.dataset["mean"].to_numpy()
    (x, y), half = np.meshgrid(grid.x, grid.y), 0.5 * grid.spacing
    keys = [domain.key for domain in moisture.domains]
    found = {}
    for zone in study.wet.zones.itertuples():
        own = np.isfinite(mean) & (grid.domain == keys.index(zone.domain))
        inside = own & shapely.intersects_xy(zone.geometry, x, y)
        if not inside.any():
            continue
        bar = 0.5 * (np.quantile(mean[own], DRIEST_SHARE) + mean[inside].max())
        top = inside & (mean >= bar)
        squares = shapely.box(x[top] - half, y[top] - half, x[top] + half, y[top] + half)
        found[str(zone.zone)] = shapely.union_all(squares)
    return found
