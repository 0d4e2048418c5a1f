"""Whether any reading of a visit can be mapped, and if none can, what would make them fit."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moisturemap.floorplan import FloorPlan
from moisturemap.quantities import FEET
from moisturemap.survey.clean import USED_FLAGS, CleanReadings

Array = NDArray[np.float64]

UNITS = (
    (0.001, "are they in mm?"),
    (0.01, "are they in cm?"),
    (FEET, "are they in feet?"),
    (0.0254, "are they in inches?"),
    (1.0 / FEET, "are they in metres, and was feet stated?"),
    (1000.0, "are they in metres, and was mm stated?"),
)
"""Factors that bring readings onto a plan, and the question each raises."""

LEAST_SPAN, MOST_SPAN = 0.5, 1.05
"""Readings fit a plan when they span this share of it, each way."""


def why_unusable(clean: CleanReadings, plan: FloorPlan) -> str:
    """Say why no reading of a visit can be mapped; "" when one can.

    Parameters
    ----------
    clean : CleanReadings
    plan : FloorPlan

    Returns
    -------
    str
        A sentence with the extents of readings and plan, and the unit or shift that would fit.
    """
    readings = clean.readings
    if readings["flag"].isin(USED_FLAGS).any():
        return ""
    count = len(readings)
    if (readings["flag"] == "not-numeric").all():
        first = readings.iloc[0]
        return (
            f"none of the {count} readings of visit {clean.visit.id} is a number: "
            f"{first['source']}, row {first['row']} holds {str(first['raw'])!r}"
        )
    off = readings[readings["flag"] == "off-plan"]
    if len(off) < count - (readings["flag"] == "not-numeric").sum():
        kinds = ", ".join(
            f"{number} {flag}" for flag, number in readings["flag"].value_counts().items()
        )
        return f"no reading of visit {clean.visit.id} can be used: {kinds}"
    places = off[["x", "y"]].to_numpy(dtype=float)
    west, south, east, north = plan.bounds
    spans, size = np.ptp(places, axis=0), np.array([east - west, north - south])
    return (
        f"every reading of visit {clean.visit.id} lies off the plan: the readings span "
        f"{spans[0]:,.6g} x {spans[1]:,.6g}, x {places[:, 0].min():,.6g} to "
        f"{places[:, 0].max():,.6g} and y {places[:, 1].min():,.6g} to {places[:, 1].max():,.6g}; "
        f"the plan {size[0]:,.6g} x {size[1]:,.6g} m, x {west:,.6g} to {east:,.6g} and "
        f"y {south:,.6g} to {north:,.6g}{_fitting(places, spans, size, np.array([west, south]))}"
    )


def _fitting(places: Array, spans: Array, size: Array, corner: Array) -> str:
    """Return the unit or the shift that would lay readings on a plan, as a question."""
    share = spans / np.maximum(size, 1e-9)
    if (share <= MOST_SPAN).all() and (share >= LEAST_SPAN).all():
        shift = corner + 0.5 * (size - spans) - places.min(axis=0)
        return f": a shift of about {shift[0]:,.3g}, {shift[1]:,.3g} m would lay them on it"
    for factor, question in UNITS:
        if (factor * share <= MOST_SPAN).all() and (factor * share >= LEAST_SPAN).all():
            return f": {question}"
    return ": check the position, the origin and the unit"
