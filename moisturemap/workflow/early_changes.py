"""What changed between visits, found while the latest of them is mapped."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from moisturemap.bundles import Study
from moisturemap.drying import Changes, DryingOptions, VisitSeries, find_changes, floor_of
from moisturemap.errors import MoistureMapError
from moisturemap.floorplan import Domain, domains, make_grid
from moisturemap.geostat import beside
from moisturemap.survey import CleanReadings, Survey, Visit, clean_readings, why_unusable
from moisturemap.zones import LevelOptions, cells_for, stated_level

CELLS = ("x", "y", "domain")

Cleaned = Callable[
    [Sequence[Domain], CleanReadings, float], tuple[list[CleanReadings], tuple[str, ...]]
]
"""Cleans the visits, given the parts of the floor, the latest and the wet level."""


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
    level : float
        Stated wet level [reading units].
    changes : Changes
    """

    clean: list[CleanReadings]
    left_out: tuple[str, ...]
    series: VisitSeries
    level: float
    changes: Changes

    def hold(self, latest: Study) -> bool:
        """Whether the latest visit was mapped from these readings, cells and level."""
        mine, cells = self.clean[-1], latest.moisture.grid
        return (
            self.level == latest.wet.level.value
            and mine.visit == latest.clean.visit
            and mine.locations.equals(latest.clean.locations)
            and all(
                np.array_equal(getattr(self.changes.floor.grid, one), getattr(cells, one))
                for one in CELLS
            )
        )


def early_changes(
    survey: Survey, latest: Visit, clean: Cleaned, options: DryingOptions
) -> EarlyChanges | None:
    """Return what changed, found without the map of the latest visit; None where that cannot be.

    Parameters
    ----------
    survey : Survey
    latest : Visit
    clean : callable
        Cleans the visits before it.
    options : DryingOptions
    """
    parts = domains(survey.plan)
    try:
        last = clean_readings(survey, latest.id, domains=parts)
        level = stated_level(survey, latest, LevelOptions(meter=last.instrument.id))
        if level is None or level.value is None:
            return None
        visits, left_out = clean(parts, last, level.value)
    except MoistureMapError:
        return None  # the map of the latest visit refuses it in words
    if len(visits) < 2 or why_unusable(last, survey.plan):
        return None
    series = VisitSeries.of(visits, options, level.value)
    grid = make_grid(survey.plan, parts, None, cells_for(survey))
    floor = floor_of(series, parts, grid, survey.plan)
    return EarlyChanges(visits, left_out, series, level.value, find_changes(floor, series, options))


def level_is_stated(survey: Survey, latest: Visit) -> bool:
    """Whether the survey tells what is wet before anything is mapped."""
    scan = survey.scan
    return scan.wet_level is not None or bool(latest.dry_reference or scan.dry_reference)


def mapped_beside(
    make: Callable[[], Study],
    find: Callable[[], EarlyChanges | None],
    look: Callable[[], None],
) -> tuple[Study, EarlyChanges | None]:
    """Map the latest visit, and beside it find what changed; None where that does not fit the map.

    Parameters
    ----------
    make : callable
        Maps the latest visit.
    find : callable
        Finds what changed.
    look : callable
        Called while that is waited for; may raise ``Cancelled``.
    """
    with beside(find) as found:
        latest = make()
        early = found(look)
    return latest, early if early is not None and early.hold(latest) else None
