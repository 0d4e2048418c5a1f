"""Mapping for people who only have arrays.

Method: docs/method/kriging.md, "For people with arrays".
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, TypedDict, Unpack

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moisturemap.checked import checked, one_of
from moisturemap.errors import InputError, NotEnoughData, OptionError
from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.drift import DRIFTS, drift_over
from moisturemap.geostat.fitting.fit import CovarianceFit, fit_covariance
from moisturemap.geostat.fitting.options import FitOptions
from moisturemap.geostat.kriging.blend import BlendedKriging, BlendOptions
from moisturemap.geostat.kriging.witness import krige_with_pykrige
from moisturemap.geostat.observations import checked_noise, checked_points, checked_values
from moisturemap.geostat.threads import one_thread

Array = NDArray[np.float64]

ENGINES = ("auto", "exact", "tiles", "pykrige")

MOST_DECIMALS = 4
"""Decimals up to which values all shown with so many are taken as rounded to them."""


class PointOptions(TypedDict, total=False):
    """Keywords of :func:`map_points` beyond data, model and engine."""

    anisotropy: bool
    drift: str
    groups: tuple[ArrayLike, ArrayLike] | None


@dataclass(frozen=True, kw_only=True)
@checked
class PointMap:
    """Engine and options of one map."""

    engine: Annotated[str, one_of(*ENGINES)] = "auto"
    anisotropy: bool = True
    drift: Annotated[str, one_of(*DRIFTS)] = "constant"
    groups: tuple[ArrayLike, ArrayLike] | None = None


@dataclass(frozen=True)
class _Readings:
    """Readings in the plane as arrays."""

    points: Array
    values: Array
    noise_sd: Array | None

    def of(self, rows: NDArray[np.bool_]) -> _Readings:
        """Return some of the readings."""
        noise = None if self.noise_sd is None else self.noise_sd[rows]
        return _Readings(self.points[rows], self.values[rows], noise)


def map_points(
    points: ArrayLike,
    values: ArrayLike,
    cells: ArrayLike,
    noise_sd: ArrayLike | None = None,
    model: Covariance | None = None,
    engine: str = "auto",
    **options: Unpack[PointOptions],
) -> tuple[Array, Array]:
    """Mean and standard deviation of the noise-free field at cells.

    Parameters
    ----------
    points : array_like, shape (n, 2)
        Places of the readings [m]. Readings with a masked coordinate or value are left out.
    values : array_like, shape (n,)
        Readings.
    cells : array_like, shape (m, 2)
        Places to map [m]. A masked cell comes back as NaN.
    noise_sd : float or array_like (n,), optional
        Known noise of each reading, besides the nugget of the model.
    model : Covariance, optional
        Taken as known. When not given, a covariance is fitted, and what the readings leave unsaid
        of it is part of the standard deviation.
    engine : str
        ``"exact"``: one system of all readings. ``"tiles"``: neighbourhoods shared by tiles of
        cells, for many readings. ``"auto"``: the quicker of both, never less exact than a few
        hundredths of the standard deviation. ``"pykrige"``: PyKrige with the same (likeliest)
        model, for comparison; it takes one noise for all readings.
    anisotropy : bool
        Let the range differ by direction as far as the readings tell (true by default).
    drift : str
        ``"constant"`` (default), or ``"linear"`` for a mean that slopes: a floor that falls to one
        side, or a meter that drifted while the floor was walked in lines.
    groups : (array_like (n,), array_like (m,)), optional
        Label of the room or slab of each reading and of each cell. Each group is fitted and mapped
        by itself, so that a step at a joint does not leak.

    Returns
    -------
    mean, sd : ndarray, each shape (m,)

    Raises
    ------
    InputError
        For input that is not finite or not in the plane, an unknown engine, drift or keyword.
    NotEnoughData
        With fewer than three distinct places when a model has to be fitted; in any group.
    """
    unknown = set(options) - set(PointOptions.__annotations__)
    if unknown:
        allowed = ", ".join(PointOptions.__annotations__)
        raise OptionError("unknown keyword", value=sorted(unknown)[0], allowed=allowed)
    how = PointMap(engine=engine, **options)
    readings, kept = _readings(points, values, noise_sd)
    targets, shown = _unmasked_rows(cells, "cells")
    mean, sd = np.full((2, len(shown)), np.nan)
    if how.groups is None:
        mean[shown], sd[shown] = _map(readings, targets, model, how)
        return mean, sd
    labels, wanted = _labels(how.groups, len(kept), len(shown))
    labels, rows = labels[kept], np.flatnonzero(shown)
    for label in np.unique(wanted[shown]):
        part = rows[wanted[shown] == label]
        group = readings.of(labels == label)
        try:
            mean[part], sd[part] = _map(group, targets[wanted[shown] == label], model, how)
        except NotEnoughData as error:
            raise NotEnoughData(f"group {label}: {error}") from None
    return mean, sd


def _map(
    readings: _Readings, cells: Array, model: Covariance | None, how: PointMap
) -> tuple[Array, Array]:
    """Map one group of readings."""
    places, values = readings.points, readings.values
    drift = drift_over(places, how.drift) if len(places) else drift_over(cells, "constant")
    if model is None:
        options = FitOptions(
            anisotropy=how.anisotropy, drift=drift, nugget_floor=_step(values) ** 2 / 12.0
        )
        with one_thread():
            fit = fit_covariance(places, values, noise_sd=readings.noise_sd, options=options)
    else:
        fit = CovarianceFit.given(model)
    if how.engine == "pykrige":
        if how.drift != "constant":
            raise OptionError("PyKrige is asked for a constant drift only", value=how.drift)
        return krige_with_pykrige(places, values, cells, fit.model, readings.noise_sd)
    # a covariance that is given is taken at its word
    blend = BlendOptions(engine=how.engine, drift=drift, widen=model is None)
    return BlendedKriging(places, values, fit, readings.noise_sd, options=blend).predict(cells)


def _readings(
    points: ArrayLike, values: ArrayLike, noise_sd: ArrayLike | None
) -> tuple[_Readings, NDArray[np.bool_]]:
    """Return the readings without a mask, and which those are."""
    masked = _masked_rows(points) | _masked_rows(values)
    if not np.any(masked):
        places = _in_the_plane(points, "points")
        numbers = checked_values(values, len(places))
        noise = None if noise_sd is None else checked_noise(noise_sd, len(places))
        return _Readings(places, numbers, noise), np.ones(len(places), dtype=bool)
    kept = ~np.broadcast_to(masked, np.shape(values)[:1])
    places = _in_the_plane(np.ma.getdata(points)[kept], "points")
    numbers = checked_values(np.ma.getdata(values)[kept], len(places))
    noise = None if noise_sd is None else checked_noise(noise_sd, len(kept))[kept]
    return _Readings(places, numbers, noise), kept


def _unmasked_rows(given: ArrayLike, name: str) -> tuple[Array, NDArray[np.bool_]]:
    """Coordinates without a mask, and which those are."""
    masked = _masked_rows(given)
    if not np.any(masked):
        places = _in_the_plane(given, name)
        return places, np.ones(len(places), dtype=bool)
    return _in_the_plane(np.ma.getdata(given)[~masked], name), ~masked


def _masked_rows(given: ArrayLike) -> NDArray[np.bool_]:
    """Rows in which something is masked; a single False for arrays without a mask."""
    if not isinstance(given, np.ma.MaskedArray) or not np.ma.is_masked(given):
        return np.zeros(1, dtype=bool)
    mask = np.ma.getmaskarray(given)
    return np.asarray(mask.reshape(len(mask), -1).any(axis=1))


def _in_the_plane(given: ArrayLike, name: str) -> Array:
    """Coordinates (n, 2), or refuse them: heights are not used, so they are not taken."""
    places = checked_points(given, name)
    if places.shape[1] != 2:
        raise InputError(
            f"{name} must have two coordinates, x and y", value=places.shape, allowed="shape (n, 2)"
        )
    return places


def _labels(
    groups: tuple[ArrayLike, ArrayLike], readings: int, cells: int
) -> tuple[NDArray[np.str_], NDArray[np.str_]]:
    """Labels of readings and cells, one for each."""
    found = tuple(np.asarray(one).astype(str) for one in groups)
    for labels, count, name in zip(found, (readings, cells), ("reading", "cell"), strict=True):
        if labels.shape != (count,):
            raise InputError(
                f"groups must hold one label for each {name}",
                value=labels.shape,
                allowed=f"shape ({count},)",
            )
    return found[0], found[1]


def _step(values: Array) -> float:
    """Step to which all values look rounded; 0 when they do not."""
    for decimals in range(MOST_DECIMALS + 1):
        if np.array_equal(np.round(values, decimals), values):
            return float(10.0**-decimals)
    return 0.0
