"""Places whose own readings changed by more than noise explains, where the map evens them out.

A map of change is kriged over the whole floor: what fell along one wall of a large building is
drawn towards the rest, which did not. Each place read on the visits compared is therefore also held
against the noise of its own difference.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.special import ndtr
from shapely.geometry import MultiPoint
from shapely.geometry.base import BaseGeometry

from moisturemap.drying.contrast import ContrastField
from moisturemap.drying.discovery import discoveries
from moisturemap.floorplan import FloorPlan
from moisturemap.geostat import spacing_of

Array = NDArray[np.float64]

NORMAL = 0.7413
"""Standard deviation of normal errors by the distance of their quartiles."""

SURE = 1.96
"""Standard deviations of the error common to all places that a change stands above: 95 %."""

FEW = 30
"""Fewer places do not tell their own noise (our choice)."""


@dataclass(frozen=True, eq=False)
class SinglePlaces:
    """Places that changed by more than noise explains, outside the floor mapped as changed.

    Attributes
    ----------
    points : ndarray, shape (k, 2)
        [m]
    values : ndarray, shape (k,)
        Their change [reading units], negative where the reading fell.
    spacing : float
        Of the readings [m].
    sentence : str
        How many there are, and the greatest; "" for none.
    """

    points: Array
    values: Array
    spacing: float
    sentence: str

    def floor_of(self) -> BaseGeometry:
        """Return the floor that the places stand for: half a spacing round each."""
        return MultiPoint(self.points).buffer(0.5 * self.spacing)


NONE = SinglePlaces(np.empty((0, 2)), np.empty(0), 0.0, "")


def single_places(
    fields: Iterable[ContrastField],
    shapes: dict[str, BaseGeometry],
    plan: FloorPlan,
    discovery: float,
) -> SinglePlaces:
    """Find the places that changed and that the map does not show.

    A place is held against the middle of all, which the error common to all places moves along; the
    noise of a difference is the larger of what the covariance leaves to it and what the quartiles
    of all say. Places are called by the procedure of Benjamini and Hochberg, as cells are, and only
    where the change itself stands above the common error.

    Parameters
    ----------
    fields : iterable of ContrastField
        Those of places read on all visits compared are looked at.
    shapes : dict of str to geometry
        Floor shown to have ``"dried"`` and to have ``"rose"``.
    plan : FloorPlan
    discovery : float
        False discovery rate, 0 to 1.
    """
    found: list[tuple[Array, Array, float]] = []
    for field in fields:
        if len(field.values) < FEW:
            continue
        low, middle, high = np.quantile(field.values, (0.25, 0.5, 0.75))
        noise = max(field.reading_sd, NORMAL * float(high - low), 1e-9)
        apart = field.values - middle
        shown = discoveries(2.0 * ndtr(-np.abs(apart) / noise), discovery)
        shown &= (field.values * apart > 0) & (np.abs(field.values) > SURE * field.common_sd)
        mapped = shapely.union_all(list(shapes.values()))
        shown &= ~shapely.contains_xy(mapped, *field.points.T)
        if shown.any():
            found.append((field.points[shown], field.values[shown], spacing_of(field.points)))
    if not found:
        return NONE
    points, values = (np.concatenate([one[at] for one in found]) for at in (0, 1))
    return SinglePlaces(points, values, max(one[2] for one in found), _told(points, values, plan))


def _told(points: Array, values: Array, plan: FloorPlan) -> str:
    """Say how many places changed, and which of them most."""
    said = []
    for sign in (-1.0, 1.0):
        which = np.flatnonzero(np.sign(values) == sign)
        if not which.size:
            continue
        most = which[np.argmax(np.abs(values[which]))]
        x, y = (float(one) for one in points[most])
        room = plan.room_at(x, y)
        where = f"({x:.2f}, {y:.2f} m)" + (f" in {room.name}" if room is not None else "")
        count = "1 place" if which.size == 1 else f"{which.size} places"
        least = f"{abs(values[most]):.2g}"
        if sign < 0:
            said.append(
                f"The reading fell by more than noise explains at {count}, by {least} at {where}, "
                "though the map evens it out."
            )
        else:
            said.append(
                f"The reading rose by more than noise explains at {count}, by {least} at {where}, "
                "though the map evens it out."
            )
    return " ".join(said)
