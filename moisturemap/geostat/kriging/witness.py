"""PyKrige with our covariance: a second opinion."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moisturemap.errors import NotEnoughData, OptionError
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.observations import pool

Array = NDArray[np.float64]


def krige_with_pykrige(
    points: Array,
    values: ArrayLike,
    cells: Array,
    model: Covariance,
    noise_sd: ArrayLike | None = None,
) -> tuple[Array, Array]:
    """Ordinary kriging by PyKrige: mean and sd of the noise-free field.

    PyKrige keeps the nugget in its variance; it is taken out here. Co-located readings are pooled
    before, because PyKrige's system is singular with them.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
    values : array_like, shape (n,)
    cells : ndarray, shape (m, 2)
    model : Covariance
    noise_sd : float, optional
        One noise for all readings; PyKrige has no noise of each reading.

    Raises
    ------
    OptionError
        For noise that differs between readings.
    NotEnoughData
        With fewer than two places, or when all readings are equal (PyKrige refuses both).
    """
    from pykrige.ok import OrdinaryKriging

    data = pool(points, values, noise_sd)
    noise = data.noise_with(model.nugget)
    if np.ptp(noise) > 1e-12 * max(float(noise.max()), 1e-300):
        raise OptionError(
            "PyKrige takes one noise for all readings; repeats or noise_sd differ",
            allowed="equal noise, or another engine",
        )
    if len(data.points) < 2 or np.ptp(data.values) == 0.0:
        message = "PyKrige needs two different readings at two places"
        raise NotEnoughData(message)
    places, targets = model.isotropic(data.points), model.isotropic(cells)
    nugget = float(noise[0])

    def variogram(parameters: list[float], distance: Array) -> Array:
        return np.asarray(nugget + model.variance * (1.0 - model.correlation(distance)))

    kriging = OrdinaryKriging(
        places[:, 0],
        places[:, 1],
        data.values,
        variogram_model="custom",
        variogram_parameters=[nugget],
        variogram_function=variogram,
        exact_values=False,
        enable_plotting=False,
        verbose=False,
    )
    mean, variance = kriging.execute("points", targets[:, 0], targets[:, 1], backend="vectorized")
    return np.asarray(mean), np.sqrt(np.maximum(np.asarray(variance) - nugget, 0.0))
