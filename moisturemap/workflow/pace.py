"""How long work will take, said before it starts.

Measured by ``scripts/bench/pace.py``: processor seconds of one core of a server for halls read
every 0.3 m, by the number of readings. That a small laptop takes twice as long is our guess.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from moisturemap.survey import Survey

READINGS = (500, 2_000, 10_000, 50_000, 200_000)

MEASURED_S = {
    "study": (2.0, 3.6, 8.1, 45.0, 136.5),
    "files": (2.4, 2.5, 4.1, 15.0, 60.0),
    "report": (1.7, 3.0, 3.6, 13.3, 53.0),
    "drying": (3.7, 4.6, 15.8, 78.6, 314.0),
}
"""Seconds by kind of work at ``READINGS``; drying is for two visits of so many readings each. The
last of files, report and drying are not measured but carried on in proportion to the readings."""

WORTH_SAYING_S = 10.0
"""Shorter work is not announced [s]; our choice."""

FLOOR_S = 6.0
"""A floor of some 500 readings in a run over many, studied and judged [s]: 2 as measured for the
study, the rest an allowance of ours for reading the survey and for the verdict; a report or drying
comes on top."""


def expected_seconds(survey: Survey, works: Sequence[str], visit: str | None = None) -> float:
    """Return how long kinds of work take.

    Parameters
    ----------
    survey : Survey
    works : sequence of str
        Keys of ``MEASURED_S``.
    visit : str, optional
        Visit whose readings are worked on; the latest by default. Drying takes all of them.

    Returns
    -------
    float
        [s]
    """
    if survey.readings.empty:
        return 0.0
    own = int((survey.readings["visit"] == survey.scanned_visit(visit).id).sum())
    every = len(survey.readings) / 2.0
    return sum(_seconds(work, every if work == "drying" else own) for work in works)


def _seconds(work: str, readings: float) -> float:
    """Straight between the measured points in logarithms, and in proportion beyond the last."""
    known, spent = np.log(READINGS), np.log(MEASURED_S[work])
    beyond = max(1.0, readings / READINGS[-1])
    return float(beyond * np.exp(np.interp(np.log(max(readings, 1.0)), known, spent)))


def announcement(what: str, seconds: float) -> str:
    """Say before work starts how long it will take; "" where that is not worth saying.

    Parameters
    ----------
    what : str
        What is worked on: "200,000 readings".
    seconds : float
        As measured [s].

    Examples
    --------
    >>> announcement("50,000 readings", 47.3)
    '50,000 readings: about 50 s, twice that on a small laptop'
    >>> announcement("200,000 readings", 410.0)
    '200,000 readings: about 7 min, twice that on a small laptop'
    """
    if seconds < WORTH_SAYING_S:
        return ""
    tens, minutes = 10.0 * round(seconds / 10.0), seconds / 60.0
    about = f"{tens:.0f} s" if tens < 100.0 else f"{minutes:.0f} min"
    return f"{what}: about {about}, twice that on a small laptop"
