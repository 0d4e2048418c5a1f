"""The reading of dry floor: what wet floor is expected to fall to.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from moisturemap.drying.options import DryingOptions
from moisturemap.drying.series import VisitSeries
from moisturemap.mapping import MoistureSurface
from moisturemap.survey import agreeing

DRY_SHARE = 0.05
"""Share of the floor that must be surely below the wet level to tell the dry level."""

SURELY_DRY = 0.02
"""Chance of reading above the wet level below which floor counts as dry (our choice)."""


@dataclass(frozen=True)
class DryLevel:
    """What floor dries to in this room's air.

    Attributes
    ----------
    value, sd : float
        [reading units]
    how : str
        Where it comes from, in words.
    """

    value: float
    sd: float
    how: str


def find_dry_level(
    series: VisitSeries,
    levels: Sequence[MoistureSurface],
    reference: Sequence[float],
    options: DryingOptions,
) -> DryLevel | None:
    """Return the dry level: supplied, from dry references, or from the dry part of the floor.

    Its sd is how dry floor varies from place to place: the texture of one place is not known.
    None when nothing tells it.
    """
    if options.asymptote is not None:
        sd = 0.0 if options.asymptote_sd is None else options.asymptote_sd
        return DryLevel(options.asymptote, sd, "as supplied")
    own = [
        value - offset.value
        for one, offset in zip(series.clean, series.offsets, strict=True)
        for value in agreeing(one.visit.dry_reference, one.instrument.scale).values
    ]
    scale = series.clean[-1].instrument.scale
    read = np.asarray(own or agreeing(reference, scale).values, dtype=float)
    if read.size >= 3:
        sd = float(read.std(ddof=1)) if options.asymptote_sd is None else options.asymptote_sd
        return DryLevel(float(read.mean()), sd, "from readings on floor taken as dry")
    mean = levels[-1].dataset["mean"].to_numpy()
    dry = levels[-1].dataset["p_wet"].to_numpy() < SURELY_DRY
    for surface in levels[:-1]:
        dry &= surface.dataset["p_wet"].to_numpy() < 0.5
    if dry.sum() < max(20, DRY_SHARE * np.isfinite(mean).sum()):
        return None
    values = mean[dry]
    # half the floor that was dry on every visit, the driest: the rim of a wet zone is not dry
    middle = float(np.quantile(values, 0.4))
    spread = 1.4826 * float(np.median(np.abs(values - np.median(values))))
    sd = spread if options.asymptote_sd is None else options.asymptote_sd
    return DryLevel(middle, sd, "from the part of the floor that read low on every visit")
