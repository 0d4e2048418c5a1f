"""A remark on a survey: what a careful colleague would say before leaving site."""

from __future__ import annotations

from dataclasses import dataclass

LEVELS = ("problem", "warning", "info")
"""Most serious first."""

OF_RECORD = "record_of_changes"
"""Place of a remark on whether the file agrees with its record, which was asked for by name."""


@dataclass(frozen=True, slots=True)
class Remark:
    """One remark.

    Attributes
    ----------
    level : str
        ``problem`` (put right before leaving), ``warning`` (look again) or ``info``.
    sentence : str
        What it is and what to do.
    place : str
        Room, row or position it is about; "" when it is about the whole survey.
    """

    level: str
    sentence: str
    place: str = ""
