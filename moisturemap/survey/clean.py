"""Readings made ready for mapping: nothing deleted, what is unfit set aside with a reason."""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import pandas as pd

from moisturemap.survey.instrument import Instrument
from moisturemap.survey.visit import Visit

CLEANING_FLAGS = (
    "clear",
    "full-scale",
    "below-scale",
    "off-plan",
    "duplicate",
    "repeat-differs",
    "out-of-scale",
    "not-numeric",
    "other-instrument",
)
"""``clear``, ``full-scale`` and ``below-scale`` are used, the two latter as censored; the rest are
set aside."""

CONTESTED = "contested"
"""Flag of a reading over what may be wet floor or a thing: it stays in the map."""

DOUBTED = "doubted"
"""Flag of a reading of a sweep that contradicts the grid beside it: left out of the map."""

USED_FLAGS = ("clear", "full-scale", "below-scale", CONTESTED)


@dataclass(frozen=True)
class CleanReadings:
    """The readings of one visit with one instrument.

    Attributes
    ----------
    visit : Visit
    instrument : Instrument
    readings : geopandas.GeoDataFrame
        Every reading: ``READING_COLUMNS`` plus ``domain`` (key, "" off the plan), ``flag``,
        ``reason`` (a sentence, "" when clear), ``location`` (index into ``locations``, -1 when set
        aside) and ``geometry``.
    locations : pandas.DataFrame
        One row for each distinct place used: ``location, x, y, value`` (mean of repeats), ``n``,
        ``censored`` ("", "above", "below"), ``room``, ``domain``.
    repeat_sd : float or None
        Standard deviation of one reading from repeats at a location; None without repeats.
    repeat_pairs : int
        Degrees of freedom behind ``repeat_sd``.
    step : float
        Step of the scale [reading units], stated or inferred from the values; 0 when continuous.
    notes : tuple of str
    """

    visit: Visit
    instrument: Instrument
    readings: gpd.GeoDataFrame
    locations: pd.DataFrame
    repeat_sd: float | None
    repeat_pairs: int
    step: float
    notes: tuple[str, ...] = ()
