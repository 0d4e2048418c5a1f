"""What was known on the day of a decision: evidence of later days speaks for nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from moisturemap.survey import Instrument, Survey


def known_on(survey: Survey, as_of: datetime) -> Survey:
    """Return a survey without the checks of instruments that were made after a day.

    Tests read afterwards stay: they are told as such, and stand against the floor.

    Parameters
    ----------
    survey : Survey
    as_of : datetime
        Day of the decision, with zone.
    """
    known = {name: _known(one, as_of) for name, one in survey.instruments.items()}
    return replace(survey, instruments=known)


def _known(instrument: Instrument, as_of: datetime) -> Instrument:
    checks = tuple(check for check in instrument.checks if check.when <= as_of)
    if len(checks) == len(instrument.checks):
        return instrument
    return replace(instrument, checks=checks)
