"""What changed between visits, found while the latest of them is mapped."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from moisturemap.bundles import Study
from moisturemap.drying import Changes, DryingOptions, Floor, VisitSeries, find_changes, floor_of
from moisturemap.errors import MoistureMapError
from moisturemap.floorplan import Domain, domains, make_grid
from moisturemap.geostat import beside, copies_work
from moisturemap.survey import CleanReadings, Survey, Visit, clean_readings, why_unusable
from moisturemap.zones import LevelOptions, cells_for, stated_level

CELLS = ("x", "y", "domain")

Cleaned = Callable[[Sequence[Domain], CleanReadings], tuple[list[CleanReadings], tuple[str, ...]]]
"""Cleans the visits before the latest, given the parts of the floor and the latest."""


@dataclass(frozen=True)
class EarlyChanges:
    """Visits compared before the latest is mapped, where its wet level is stated.

    Attributes
    ----------
    clean : list of CleanReadings
        Oldest first, as the survey lists them.
    left_out : tuple of str
        Which visits are not compared, and why.
    series : VisitSeries
        The same in order of time.
    floor : Floor
    level : float
        Stated wet level [reading units].
    changes : Changes or None
        None until they are found.
    """

    clean: list[CleanReadings]
    left_out: tuple[str, ...]
    series: VisitSeries
    floor: Floor
    level: float
    changes: Changes | None = None

    def hold(self, latest: Study) -> bool:
        """Whether the latest visit was mapped from these readings, cells and level."""
        mine, cells = self.clean[-1], latest.moisture.grid
        return (
            self.level == latest.wet.level.value
            and mine.visit == latest.clean.visit
            and mine.locations.equals(latest.clean.locations)
            and all(
                np.array_equal(getattr(self.floor.grid, one), getattr(cells, one)) for one in CELLS
            )
        )

    def with_latest(
        self, make: Callable[[], Study], options: DryingOptions, look: Callable[[], None]
    ) -> tuple[Study, EarlyChanges | None]:
        """Map the latest visit, and beside it what changed; None where the map does not fit to it.

        Parameters
        ----------
        make : callable
            Maps the latest visit.
        options : DryingOptions
        look : callable
            Called while the changes are waited for; may raise ``Cancelled``.
        """
        with beside(lambda: find_changes(self.floor, self.series, options)) as found:
            latest = make()
            if not self.hold(latest):
                return latest, None
            return latest, replace(self, changes=found(look))


def early_changes(
    survey: Survey, latest: Visit, clean: Cleaned, options: DryingOptions
) -> EarlyChanges | None:
    """Return the visits to be compared while the latest is mapped; None where that is no gain.

    What is refused is left to the map of the latest visit to refuse.
    """
    if not copies_work():
        return None
    parts = domains(survey.plan)
    try:
        last = clean_readings(survey, latest.id, domains=parts)
        level = stated_level(survey, latest, LevelOptions(meter=last.instrument.id))
        visits, left_out = clean(parts, last)
    except MoistureMapError:
        return None
    if level is None or level.value is None or len(visits) < 2 or why_unusable(last, survey.plan):
        return None
    series = VisitSeries.of(visits, options, level.value)
    grid = make_grid(survey.plan, parts, None, cells_for(survey))
    floor = floor_of(series, parts, grid, survey.plan)
    return EarlyChanges(visits, left_out, series, floor, level.value)
