"""One scale of colours for each material: timber and screed read differently at one moisture."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap, ListedColormap
from numpy.typing import NDArray

from moisturemap.bundles import Study
from moisturemap.figures import floor_layers as layers
from moisturemap.figures.key import Entry, Heading, moisture_scale
from moisturemap.figures.style import band_colours
from moisturemap.floorplan import FloorPlan
from moisturemap.mapping import CellValues
from moisturemap.mapping.bands import band_levels, bands

Array = NDArray[np.float64]

OTHER_RAMP = ("#f4f2ee", "#b9b2a8", "#7d746a", "#453f3a")
"""Of materials that the wet level does not hold for, low to high: unlike the blue, and no green."""


@dataclass(frozen=True, eq=False)
class MaterialScale:
    """The floor drawn on one scale.

    Attributes
    ----------
    cells : CellValues
        NaN where another scale holds.
    levels : ndarray, shape (k + 1,)
        Limits of its bands [reading units]; empty where nothing is mapped.
    rooms : tuple of str
        Named in the key; empty for the scale of the wet level.
    """

    cells: CellValues
    levels: Array
    rooms: tuple[str, ...] = ()

    @property
    def colours(self) -> ListedColormap:
        """One colour for each band."""
        count = len(self.levels) - 1
        if not self.rooms:
            return band_colours(count)
        ramp = LinearSegmentedColormap.from_list("other", OTHER_RAMP)
        return ListedColormap([ramp(0.5 if count == 1 else i / (count - 1)) for i in range(count)])

    def draw(self, ax: Axes, plan: FloorPlan) -> None:
        """Fill its bands."""
        if self.levels.size:
            table = bands(self.cells, plan, self.levels)
            layers.draw_bands(ax, table, self.levels, self.colours)

    def entries(self, unit: str, wet_level: float | None) -> list[Entry]:
        """Return its heading and bands for a key."""
        head = f"Relative reading{f' [{unit}]' if unit else ''}"
        if self.rooms:
            head = f"Relative reading in {', '.join(self.rooms)}: another material, another scale"
        if not self.levels.size:
            return [] if self.rooms else [Heading(head)]
        level = None if self.rooms else wet_level
        return [Heading(head), replace(moisture_scale(self.levels, level), colours=self.colours)]


def material_scales(study: Study) -> tuple[MaterialScale, ...]:
    """Return that of the wet level, and one for the rooms it does not hold for."""
    cells, step = study.moisture.cells(), study.clean.step
    others = [
        index
        for index, domain in enumerate(cells.domains)
        if domain.key in study.moisture.unlevelled
    ]
    apart = np.isin(cells.grid.domain, others)
    if not others or len(others) == len(cells.domains):
        return (MaterialScale(cells, band_levels(cells.values, least=step)),)
    parts = (
        (replace(cells, values=np.where(where, cells.values, np.nan)), rooms)
        for where, rooms in ((~apart, ()), (apart, study.unlevelled_rooms))
    )
    return tuple(
        MaterialScale(part, band_levels(part.values, least=step), rooms) for part, rooms in parts
    )
