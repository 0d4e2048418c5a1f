"""What a careful colleague would say about a scan before leaving site."""

from __future__ import annotations

from moisturemap.scanning.remark import LEVELS, Remark
from moisturemap.scanning.set_aside import remarks_on_set_aside
from moisturemap.survey import CleanReadings, Survey


def review(survey: Survey, clean: CleanReadings) -> tuple[Remark, ...]:
    """Look over one visit.

    Returns
    -------
    tuple of Remark
        Most serious first.
    """
    remarks = remarks_on_set_aside(clean)
    return tuple(sorted(remarks, key=lambda remark: LEVELS.index(remark.level)))
