"""A latest visit on which the whole floor fell, on the zero of the visit before.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence

from moisturemap.drying.offset import VisitOffset
from moisturemap.drying.part_lower import read_lower
from moisturemap.drying.series import VisitSeries
from moisturemap.mapping import MoistureSurface
from moisturemap.zones import MappedVisit


def level_then(series: VisitSeries, latest: MappedVisit) -> float:
    """Return the wet level on the scale of the latest visit, as it stood before the floor fell.

    A level of the latest visit's own readings moved with them, and stays.

    Parameters
    ----------
    series : VisitSeries
    latest : MappedVisit
        With a wet level.

    Returns
    -------
    float
        [reading units]
    """
    known = latest.wet.level
    assert known.value is not None
    return known.value - _own(series, latest)


def _own(series: VisitSeries, latest: MappedVisit) -> float:
    """Return how much higher the zero stood for which the wet level was given."""
    how, referred = latest.wet.level.how, bool(latest.visit.dry_reference)
    if how == "two-populations" or (how == "dry-reference" and referred):
        return 0.0
    return series.offsets[_before(series.offsets)].value if series.offsets[-1].fell else 0.0


def _before(offsets: Sequence[VisitOffset]) -> int:
    """Return the index of the last visit before the floor fell as a whole: the first never does."""
    return max(index for index, one in enumerate(offsets) if not one.fell)


def still_wet_sentence(
    series: VisitSeries, levels: Sequence[MoistureSurface], latest: MappedVisit
) -> str:
    """Say how much floor read wet before the fall and still would with the zero of that visit.

    Parameters
    ----------
    series : VisitSeries
    levels : sequence of MoistureSurface
        One a visit, on the scale of the latest.
    latest : MappedVisit

    Returns
    -------
    str
        "" where the wet level does not rest on the earlier zero.
    """
    if latest.wet.level.value is None or not _own(series, latest):
        return ""
    index, level = _before(series.offsets), level_then(series, latest)
    wet = (levels[index].levelled_mean > level) & (levels[-1].levelled_mean > level)
    grid = levels[-1].grid
    still = sum(
        # cells at walls lie in part outside the floor
        float(domain.geometry.area) * float(wet[grid.domain == one].mean())
        for one, domain in enumerate(levels[-1].domains)
        if (grid.domain == one).any()
    )
    return (
        f"The wet zones of {latest.visit.id} rest on its lower readings: with the zero of "
        f"{series.visits[index].id}, {still:.1f} m2 that read wet before would still read wet. "
        "Take that floor for wet until the zero is told."
    )


def no_zone_sentence(series: VisitSeries) -> str:
    """Say that no wet zone is mapped on the latest visit, and what that rests on."""
    if series.offsets[-1].fell or read_lower(series.clean[-1]):
        return (
            "No wet zone is mapped on the latest visit, and that may be the zero of the meter "
            "alone. It proves nothing dry: calibrated tests do."
        )
    return (
        "No wet zone is mapped on the latest visit. That proves nothing dry: calibrated tests do."
    )
