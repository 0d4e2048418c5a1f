"""What happens once a slab is covered: its moisture evens out, and the top grows wetter."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moisturemap.slab.diffusion import FINE, SEALED, Cells, Layers, StepRule, diffuse
from moisturemap.slab.material import Material

Array = NDArray[np.float64]

ABSORPTION_RANGE = (0.5, 1.0)
"""Water taken up by re-wetting concrete over that given off by drying concrete for the same change
of humidity: 1 without hysteresis; 0.5 is a steep scanning curve. Our band, after the scanning
curves of A. Ahs, Moisture redistribution in screeded concrete slabs, Lund TVBM-3136 (2007)."""

BALANCE_ITERATIONS = 6


def sealed_humidity(
    material: Material, h: Array, cells: Cells, absorption: float | Array = 1.0
) -> Array:
    """Humidity a layer settles at when both faces are sealed.

    The water lost by what is wetter than the result equals the water taken up by what is drier.

    Parameters
    ----------
    material : Material
        One row for each layer.
    h : ndarray, shape (layers, n)
        Humidity (fraction) at the nodes of ``cells``.
    absorption : float or ndarray of shape (layers,)
        See ``ABSORPTION_RANGE``. Below 1 the result is higher: hysteresis is always unfavourable.

    Returns
    -------
    ndarray, shape (layers,)
    """
    water = material.water_at(h)
    level = material.humidity_of(water @ cells.thickness)
    share = np.broadcast_to(np.asarray(absorption, dtype=float), level.shape)[:, None]
    if (share == 1.0).all():
        return level
    for _ in range(BALANCE_ITERATIONS):
        held, capacity = material.lookup(material.water, level[:, None])
        factor = np.where(water > held, 1.0, share)
        surplus = (factor * (water - held)) @ cells.thickness
        level = level + surplus / ((factor @ cells.thickness) * capacity[:, 0])
    return np.asarray(level)


def after_covering(
    material: Material,
    h: Array,
    cells: Cells,
    times: Array,
    absorption: float | Array = 1.0,
    *,
    steps: StepRule = FINE,
) -> Array:
    """Humidity through a layer after both faces are sealed.

    Parameters
    ----------
    times : ndarray, shape (k,)
        Time since covering [Fo], ascending, above 0.
    absorption : float or ndarray of shape (layers,)
        What lies below the sealed humidity takes up this share of the water (hysteresis).

    Returns
    -------
    ndarray, shape (layers, k, n)
    """
    level = sealed_humidity(material, h, cells, absorption)
    share = np.broadcast_to(np.asarray(absorption, dtype=float), level.shape)[:, None]
    storage = np.where(h < level[:, None], share, 1.0)
    return diffuse(Layers(material, cells, (SEALED, SEALED), storage), h, times, steps=steps)
