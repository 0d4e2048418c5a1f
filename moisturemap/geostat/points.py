"""Mapping for people who only have arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from threadpoolctl import threadpool_limits

from moisturemap.errors import OptionError
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.fitting.fit import CovarianceFit, fit_covariance
from moisturemap.geostat.kriging.blend import BlendedKriging, BlendOptions
from moisturemap.geostat.kriging.witness import krige_with_pykrige
from moisturemap.geostat.observations import checked_points

Array = NDArray[np.float64]

ENGINES = ("auto", "exact", "tiles", "pykrige")


def map_points(
    points: ArrayLike,
    values: ArrayLike,
    cells: ArrayLike,
    noise_sd: ArrayLike | None = None,
    model: Covariance | None = None,
    engine: str = "auto",
) -> tuple[Array, Array]:
    """Mean and standard deviation of the noise-free field at cells.

    Parameters
    ----------
    points : array_like, shape (n, 2)
        Places of the readings [m].
    values : array_like, shape (n,)
        Readings.
    cells : array_like, shape (m, 2)
        Places to map [m].
    noise_sd : float or array_like (n,), optional
        Known noise of each reading, besides the nugget of the model.
    model : Covariance, optional
        Fitted from the readings when not given.
    engine : str
        ``"exact"``: one system of all readings. ``"tiles"``: neighbourhoods shared by tiles of
        cells, for many readings. ``"auto"``: exact to 3,000 readings (with standard deviations
        from neighbourhoods when cells are many), tiles beyond. ``"pykrige"``: PyKrige with the
        same (mode of the) model, for comparison; it takes one noise for all readings.

    Returns
    -------
    mean, sd : ndarray, each shape (m,)

    Raises
    ------
    InputError
        For input that is not finite, or an unknown engine.
    NotEnoughData
        With fewer than three distinct places when a model has to be fitted.
    """
    if engine not in ENGINES:
        raise OptionError("unknown engine", value=engine, allowed=", ".join(ENGINES))
    places = checked_points(points)
    targets = checked_points(cells, "cells")
    if places.shape[1] != targets.shape[1]:
        raise OptionError(
            "points and cells have different numbers of coordinates",
            value=(places.shape, targets.shape),
        )
    if model is None:
        # the fit solves many small systems, on which more threads would wait for each other
        with threadpool_limits(limits=1):
            fit = fit_covariance(places, values, noise_sd=noise_sd)
    else:
        fit = CovarianceFit(model, ((1.0, model),), float("nan"))
    if engine == "pykrige":
        return krige_with_pykrige(places, values, targets, fit.model, noise_sd)
    options = BlendOptions(engine=engine)
    return BlendedKriging(places, values, fit, noise_sd, options=options).predict(targets)
