"""What a careful colleague would say about a scan before leaving site."""

from __future__ import annotations

from moisturemap.scanning.alone import remarks_on_single_readings
from moisturemap.scanning.clock import remarks_on_clock
from moisturemap.scanning.coverage import remarks_on_coverage, scan_spacing
from moisturemap.scanning.detection import grid_limits
from moisturemap.scanning.frame import remarks_on_frame
from moisturemap.scanning.left_rows import remarks_on_left_rows
from moisturemap.scanning.practice import remarks_on_practice
from moisturemap.scanning.remark import LEVELS, Remark
from moisturemap.scanning.row_order import remarks_on_row_order
from moisturemap.scanning.set_aside import remarks_on_set_aside
from moisturemap.survey import CleanReadings, Survey


def review(survey: Survey, clean: CleanReadings) -> tuple[Remark, ...]:
    """Look over one visit.

    Parameters
    ----------
    survey : Survey
    clean : CleanReadings
        Of one visit of the survey.

    Returns
    -------
    tuple of Remark
        Most serious first.
    """
    remarks = [
        *remarks_on_clock(survey, clean),
        *remarks_on_frame(survey, clean),
        *remarks_on_set_aside(clean),
        *remarks_on_coverage(clean, survey.plan),
        *remarks_on_left_rows(clean.locations, survey.plan),
        *remarks_on_row_order(clean.locations),
        *remarks_on_practice(survey, clean),
    ]
    spacing = scan_spacing(clean.locations)
    if spacing:
        remarks += remarks_on_single_readings(clean.locations, spacing)
        limits = grid_limits(spacing, clean.instrument.footprint_m)
        remarks += [Remark("info", sentence) for sentence in limits]
    return tuple(sorted(remarks, key=lambda remark: LEVELS.index(remark.level)))
