"""Readings of a meter that was not mapped: they stand in no wet zone and are not forgotten.

Method: docs/method/acceptance.md, rule 10.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moisturemap.survey import Survey
from moisturemap.zones.high_place import HighPlace
from moisturemap.zones.mapped_visit import MappedVisit

STANDS_OUT = 6.0
"""A reading this many scatters above the dry quarter of what its meter read is looked at; project
choice: the highest of 1000 alike readings stands 4 above it."""

LEAST_READINGS = 10
"""Fewer readings of a meter do not tell what is usual on the floor; project choice."""

LEAST_SCATTER = 0.03
"""Least scatter that is taken for the readings of a meter [share of its dry quarter]; project
choice, as for a reading without repeats."""

QUARTER_TO_TWENTIETH = 0.97
"""Between the 25th and the 5th percentile of a normal distribution [sd]."""


def places_of_other_meters(survey: Survey, study: MappedVisit | None) -> tuple[HighPlace, ...]:
    """Return the highest reading of each meter without a map, where it stands clearly out.

    Parameters
    ----------
    survey : Survey
    study : MappedVisit or None
        The map beside the tests.
    """
    mapped, found = _mapped(survey, study), []
    for name, rows in _others(survey, mapped):
        value = rows["value"].to_numpy(dtype=float)
        few = value.size < LEAST_READINGS
        if not few and value.max() <= _usual(value):
            continue
        top = rows[value == value.max()]
        says = "they are too few to tell what is usual" if few else "the highest stands out clearly"
        why = f"{_count(len(rows))} of {name} stand in no map, as {mapped} was mapped, and {says}"
        places = tuple(
            dict.fromkeys(zip(top["x"].astype(float), top["y"].astype(float), strict=True))
        )
        where = f"at the highest reading of {name}"
        found.append(HighPlace(why, where, value=float(value.max()), places=places))
    return tuple(found)


def meters_told(survey: Survey, study: MappedVisit | None) -> tuple[str, ...]:
    """Say which meter was mapped, and which were read and make no map.

    Parameters
    ----------
    survey : Survey
    study : MappedVisit or None
    """
    mapped = _mapped(survey, study)
    return tuple(
        f"{mapped} was mapped; {_count(len(rows))} of {name} stand in no map, as scales never merge"
        for name, rows in _others(survey, mapped)
    )


def _mapped(survey: Survey, study: MappedVisit | None) -> str:
    """Return the meter of the map, else the one the latest scan was read with most."""
    if study is not None:
        return study.clean.instrument.id
    if survey.readings.empty:
        return ""
    last = survey.scanned_visit().id
    own = survey.readings[survey.readings["visit"] == last]
    return str(own["instrument"].mode().iloc[0])


def _others(survey: Survey, mapped: str) -> list[tuple[str, pd.DataFrame]]:
    """Return what each other meter read, the latest reading of each place."""
    if survey.readings.empty or (survey.readings["instrument"] == mapped).all():
        return []
    order = {one.id: k for k, one in enumerate(survey.visits)}
    known = survey.readings.dropna(subset=["x", "y", "value"])
    known = known[(known["instrument"] != mapped) & known["visit"].isin(order)]
    known = known.assign(_visit=known["visit"].map(order))
    found = []
    for name, rows in known.groupby("instrument", sort=True):
        latest = rows.groupby(["x", "y"])["_visit"].transform("max")
        found.append((str(name), rows[rows["_visit"] == latest]))
    return found


def dry_floor(value: NDArray[np.float64]) -> tuple[float, float]:
    """Return the dry quarter of what a meter read and the scatter there [reading units].

    Parameters
    ----------
    value : ndarray, shape (n,)
    """
    low, quarter = np.quantile(value, (0.05, 0.25))
    scatter = max((quarter - low) / QUARTER_TO_TWENTIETH, LEAST_SCATTER * abs(quarter))
    return float(quarter), float(max(scatter, 1e-9))


def _usual(value: NDArray[np.float64]) -> float:
    """Return up to where readings are usual, going by the driest quarter: the rest may be wet."""
    quarter, scatter = dry_floor(value)
    return quarter + STANDS_OUT * scatter


def _count(number: int) -> str:
    return "1 reading" if number == 1 else f"{number} readings"
