"""A weighted sum of visits, kriged: what stays the same over the visits cancels in it.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from moisturemap.drying.panel import Panel
from moisturemap.drying.space_time import SpaceTimeKriging, fit_space_time
from moisturemap.errors import NotEnoughData
from moisturemap.geostat import (
    BlendedKriging,
    BlendOptions,
    CovarianceFit,
    FitOptions,
    fit_covariance,
)
from moisturemap.mapping import FloorEmbedding

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

FEWEST = 5
"""Places a change is mapped from at least."""

MATCHED = 0.8
"""Share of places read on all visits from which they are differenced directly."""

KIND = "matern32"
"""Moisture spreads: its change is smooth."""


TILES_FROM = 800
"""Places from which neighbourhoods are kriged: as good here, and several times faster."""


SURE_FROM = 400
"""Places from which the covariance of a change is taken as known: its error then adds little, and
each map and mean costs a fifth."""


class Predictor(Protocol):
    """What kriges a contrast."""

    def predict(self, cells: Array) -> tuple[Array, Array]:
        """Mean and sd at places (m, d)."""

    def average(self, cells: Array) -> tuple[float, float]:
        """Mean over places (m, d) and its sd."""


@dataclass(frozen=True)
class ContrastField:
    """A kriged weighted sum of visits in one domain.

    Attributes
    ----------
    weights : ndarray, shape (visits,)
        Sum to zero.
    how : str
        ``"same-places"``: places read on all visits were differenced; ``"space-time"``: visits
        read elsewhere were joined by a space-time covariance.
    kriging : Predictor
    embedding : FloorEmbedding
    points, values : ndarray, shape (n, 2) and (n,)
        Places and differences used [m], [reading units]; empty for ``"space-time"``.
    reading_sd : float
        Noise of the weighted sum at a place [reading units].
    common_sd : float
        Error common to all places, from the offsets of the visits [reading units].
    fit : CovarianceFit or None
        Of the differences; None for ``"space-time"``.
    """

    weights: Array
    how: str
    kriging: Predictor
    embedding: FloorEmbedding
    points: Array
    values: Array
    reading_sd: float
    common_sd: float
    fit: CovarianceFit | None = None

    def predict(self, points: Array) -> tuple[Array, Array]:
        """Mean and sd at plan places (m, 2) [m]; the sd holds the common error."""
        mean, sd = self.kriging.predict(self.embedding.coordinates(points))
        return mean, np.hypot(sd, self.common_sd)

    def average(self, points: Array) -> tuple[float, float]:
        """Mean over plan places (m, 2) and its sd; the sd holds the common error."""
        mean, sd = self.kriging.average(self.embedding.coordinates(points))
        return mean, float(np.hypot(sd, self.common_sd))


def krige_contrast(
    panel: Panel,
    embedding: FloorEmbedding,
    weights: Array,
    common_sd: float,
    step: float,
    *,
    fit: CovarianceFit | None = None,
) -> ContrastField:
    """Krige a weighted sum of visits in one domain.

    Parameters
    ----------
    panel : Panel
    embedding : FloorEmbedding
    weights : ndarray, shape (visits,)
        Sum to zero.
    common_sd : float
        Error common to all places [reading units].
    step : float
        Step of the display [reading units].
    fit : CovarianceFit, optional
        Of the same differences when it is at hand.

    Raises
    ------
    NotEnoughData
        With fewer than ``FEWEST`` places.
    """
    if panel.together(weights) < MATCHED:
        return _space_time(panel, embedding, weights, common_sd, step)
    rows = panel.complete(weights)
    if rows.sum() < FEWEST:
        message = (
            f"{int(rows.sum())} places have a reading inside the scale on every visit "
            f"compared; {FEWEST} are needed"
        )
        raise NotEnoughData(message)
    used = weights != 0.0
    points = panel.points[rows]
    values = panel.values[np.ix_(rows, used)] @ weights[used]
    places = embedding.coordinates(points)
    floor = float(weights @ weights) * step**2 / 12.0
    options = FitOptions(
        kinds=(KIND,),
        nugget_floor=floor,
        priors=False,
        posterior=1 if len(values) >= SURE_FROM else None,
        length_bounds=_length_bounds(places, panel.spacing),
        polished=False,
    )
    fit = fit or fit_covariance(places, values, options=options)
    kriging = BlendedKriging(places, values, fit, options=BlendOptions(engine=engine(len(values))))
    return ContrastField(
        weights,
        "same-places",
        kriging,
        embedding,
        points,
        values,
        float(np.sqrt(fit.model.nugget)),
        common_sd,
        fit,
    )


def _length_bounds(places: Array, spacing: float) -> tuple[float, float]:
    """Shortest and longest length of a change [m].

    What is finer than the readings cancels in a difference of the same places; what is left is
    noise. So no pattern finer than the readings is looked for, and noise is not taken for one.
    """
    extent = float(np.hypot(*np.ptp(places, axis=0)[:2]))
    return spacing, max(0.5 * extent, 2.0 * spacing)


def engine(count: int) -> str:
    """Return the kriging engine for so many places."""
    return "auto" if count >= TILES_FROM else "exact"


def _space_time(
    panel: Panel, embedding: FloorEmbedding, weights: Array, common_sd: float, step: float
) -> ContrastField:
    used = np.flatnonzero(weights)
    sound = np.isfinite(panel.values[:, used]) & ~panel.censored[:, used]
    row, visit = np.nonzero(sound)
    if np.bincount(visit, minlength=used.size).min() < FEWEST:
        message = f"a visit has fewer than {FEWEST} readings inside the scale"
        raise NotEnoughData(message)
    places = embedding.coordinates(panel.points)[row]
    values = panel.values[row, used[visit]]
    model = fit_space_time(places, visit, values, step)
    kriging = SpaceTimeKriging(places, visit, values, model, weights[used])
    noise = float(np.sqrt(model.nugget * (weights @ weights)))
    return ContrastField(
        weights, "space-time", kriging, embedding, np.empty((0, 2)), np.empty(0), noise, common_sd
    )
