"""Whether the times of the visits can be told apart and lie as near as those of one job."""

from __future__ import annotations

from datetime import timedelta

from moisturemap.scanning.remark import Remark
from moisturemap.survey import CleanReadings, Survey

FAR_APART = timedelta(days=270)
"""A visit this far from every other may have the wrong year (project choice)."""


def remarks_on_clock(survey: Survey, clean: CleanReadings) -> list[Remark]:
    """Look at when the visits with readings began.

    Of two scans the later one speaks for floor that both read: a wrong year or equal times decide
    which.

    Parameters
    ----------
    survey : Survey
    clean : CleanReadings
        Of the visit looked over.
    """
    own = clean.visit.started
    read = set(survey.readings["visit"].astype(str))
    others = [
        one
        for one in survey.visits
        if one.id != clean.visit.id and one.id in read and one.started is not None
    ]
    if own is None or not others:
        return []
    remarks = []
    same = [one.id for one in others if one.started == own]
    if same:
        alike = ", ".join(same)
        remarks.append(
            Remark(
                "warning",
                f"Visits {clean.visit.id} and {alike} began at the same time, and the later one"
                " speaks for floor that both read. Set the times right.",
            )
        )
    far = [one for one in others if one.started and abs(one.started - own) >= FAR_APART]
    if far:
        listed = ", ".join(f"{one.id} of {one.started:%Y-%m-%d}" for one in far)
        remarks.append(
            Remark(
                "warning",
                f"Visit {clean.visit.id} of {own:%Y-%m-%d} lies nine months or more from {listed}:"
                " is each year right? The later one speaks for floor that both read.",
            )
        )
    return remarks
