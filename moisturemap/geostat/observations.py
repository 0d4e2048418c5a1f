"""Observations made ready for kriging: checked, and pooled where they share a place."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import ConvexHull, QhullError, cKDTree
from scipy.spatial.distance import pdist

from moisturemap.errors import InputError

Array = NDArray[np.float64]
Index = NDArray[np.intp]

MOST_CORNERS = 1000
"""Corners of a hull up to which all pairs are measured; more lie on a circle or a line."""

SAME_PLACE = 1e-6
"""Observations nearer than this share of the floor's extent stand at the same place."""


@dataclass(frozen=True)
class Observations:
    """Distinct places with one value and one noise variance each.

    Attributes
    ----------
    points : ndarray, shape (n, d)
        Places [m], no two the same.
    values : ndarray, shape (n,)
        Precision-weighted mean of the observations at each place.
    repeats : ndarray, shape (n,)
        How many observations were pooled.
    noise : ndarray, shape (n,)
        Known noise variance of the pooled value, without any nugget.
    member : ndarray of int, shape (N,)
        Place of each original observation.
    scatter : (float, float)
        Sum of squares of repeats about the mean of their place, and its degrees of freedom.
    """

    points: Array
    values: Array
    repeats: Array
    noise: Array
    member: NDArray[np.intp]
    scatter: tuple[float, float] = (0.0, 0.0)

    def noise_with(self, nugget: float) -> Array:
        """Noise variance of each pooled value when every observation also carries a nugget."""
        return self.noise + nugget / self.repeats


def distances_within(groups: Array) -> Array:
    """Distances within groups of places (g, k, d): (g, k, k) [m]."""
    squares = np.zeros((groups.shape[0], groups.shape[1], groups.shape[1]))
    for axis in range(groups.shape[2]):
        column = groups[:, :, axis]
        apart = column[:, :, None] - column[:, None, :]
        apart *= apart
        squares += apart
    return np.sqrt(squares, out=squares)


def checked_points(points: ArrayLike, name: str = "points") -> Array:
    """Return coordinates as a float array (n, d), or refuse them naming the index (from 0)."""
    array = _unmasked(points, name)
    if array.ndim != 2 or array.shape[1] < 1:
        raise InputError(
            f"{name} must be a table of coordinates", value=str(array.shape), allowed="shape (n, 2)"
        )
    bad = np.flatnonzero(~np.isfinite(array).all(axis=1))
    if bad.size:
        raise InputError(
            f"{name} hold a coordinate that is not a number",
            place=f"index {bad[0]}",
            value=array[bad[0]].tolist(),
            allowed="finite coordinates",
        )
    return array


def _unmasked(given: ArrayLike, name: str) -> Array:
    """Return numbers as a float array; a masked one is refused, its hidden number never used."""
    if isinstance(given, np.ma.MaskedArray) and np.ma.is_masked(given):
        index = int(np.argwhere(np.ma.getmaskarray(given))[0][0])
        raise InputError(
            f"{name} hold a masked entry", place=f"index {index}", allowed="entries without a mask"
        )
    return np.asarray(given, dtype=float)


def checked_values(values: ArrayLike, count: int) -> Array:
    """Return values as a float array (n,), or refuse them naming the index (from 0)."""
    array = _unmasked(values, "values")
    if array.shape != (count,):
        raise InputError(
            "values must be one number for each point",
            value=str(array.shape),
            allowed=f"shape ({count},)",
        )
    bad = np.flatnonzero(~np.isfinite(array))
    if bad.size:
        raise InputError(
            "a value is not a finite number",
            place=f"index {bad[0]}",
            value=float(array[bad[0]]),
            allowed="finite values",
        )
    return array


def checked_noise(noise_sd: ArrayLike | None, count: int) -> Array:
    """Return noise standard deviations (n,); zeros when none are given."""
    if noise_sd is None:
        return np.zeros(count)
    array = _unmasked(noise_sd, "noise_sd")
    if array.shape not in {(), (count,)}:
        raise InputError(
            "noise_sd must be one number, or one for each point",
            value=str(array.shape),
            allowed=f"shape ({count},)",
        )
    array = np.broadcast_to(array, (count,)).copy()
    if not np.isfinite(array).all() or (array < 0).any():
        raise InputError(
            "noise_sd must be finite and not negative",
            value=float(array[~(array >= 0) | ~np.isfinite(array)][0]),
        )
    return array


def pool(points: ArrayLike, values: ArrayLike, noise_sd: ArrayLike | None = None) -> Observations:
    """Check observations and pool those at the same place.

    Pooling first removes every singular kriging system, with or without a nugget.

    Parameters
    ----------
    points : array_like, shape (N, d)
        Places [m].
    values : array_like, shape (N,)
    noise_sd : float or array_like (N,), optional
        Known noise standard deviation of each value.

    Raises
    ------
    InputError
        For coordinates, values or noise that are not finite; names the row.
    """
    places = checked_points(points)
    numbers = checked_values(values, len(places))
    variance = checked_noise(noise_sd, len(places)) ** 2
    member = _same_place(places)
    count = int(member.max()) + 1 if member.size else 0
    repeats = np.bincount(member, minlength=count).astype(float)
    if count == len(places):
        return Observations(places, numbers, repeats, variance, member)
    exact = np.bincount(member, weights=variance == 0, minlength=count) > 0
    safe = np.where(variance > 0, variance, 1.0)
    weight = np.where(exact[member], (variance == 0).astype(float), 1.0 / safe)
    total = np.bincount(member, weights=weight, minlength=count)
    mean = np.bincount(member, weights=weight * numbers, minlength=count) / total
    noise = np.where(exact, 0.0, 1.0 / total)
    centre = np.column_stack(
        [np.bincount(member, weights=axis, minlength=count) / repeats for axis in places.T]
    )
    plain = np.bincount(member, weights=numbers, minlength=count) / repeats
    squares = float(((numbers - plain[member]) ** 2).sum())
    return Observations(centre, mean, repeats, noise, member, (squares, len(places) - count))


def _same_place(points: Array) -> NDArray[np.intp]:
    """Return a group number for each point, in order of appearance; one place, one number."""
    if len(points) < 2:
        return np.arange(len(points))
    extent = float(np.ptp(points, axis=0).max())
    cell = max(extent * SAME_PLACE, 1e-12)
    keys = np.round((points - points.min(axis=0)) / cell).astype(np.int64)
    key = keys[:, 0].copy()
    for column in keys[:, 1:].T:
        key = np.unique(key, return_inverse=True)[1] * (int(column.max()) + 1) + column
    order = np.argsort(key, kind="stable")
    fresh = np.concatenate([[True], np.diff(key[order]) != 0])
    if fresh.all():
        return np.arange(len(points))
    group = np.empty(len(points), dtype=np.intp)
    group[order] = np.cumsum(fresh) - 1
    first = order[fresh]
    rank = np.empty(first.size, dtype=np.intp)
    rank[np.argsort(first)] = np.arange(first.size)
    return np.asarray(rank[group], dtype=np.intp)


def spacing_of(points: Array) -> float:
    """Typical distance from a point to its nearest neighbour [m] (median); 1 for a single point.

    Parameters
    ----------
    points : ndarray
        Places [m], shape (m, 2).

    Returns
    -------
    float
        [m]
    """
    if len(points) < 2:
        return 1.0
    sample = points if len(points) <= 20_000 else points[:: len(points) // 20_000 + 1]
    distance = np.asarray(cKDTree(points).query(sample, k=2)[0])[:, 1]
    return float(np.median(distance)) or 1.0


def diameter_of(points: Array) -> float:
    """Return about the greatest distance between two of some points [m]; exact in the plane.

    The farthest pair are corners of the convex hull. In more dimensions, and on a line, the
    farthest from the farthest from the middle is taken.
    """
    corners = points
    if points.shape[1] == 2 and len(points) > 3:
        try:
            corners = points[ConvexHull(points - points.mean(axis=0)).vertices]
        except QhullError:
            corners = points
    if len(corners) <= MOST_CORNERS:
        return float(pdist(corners).max(initial=0.0))
    first = corners[int(((corners - corners.mean(axis=0)) ** 2).sum(axis=1).argmax())]
    return float(np.sqrt(((corners - first) ** 2).sum(axis=1).max()))


def even_sample(count: int, wanted: int, seed: int = 7) -> Index:
    """Numbers of a simple random sample without replacement, sorted; all when they are few."""
    if count <= wanted:
        return np.arange(count)
    chosen = np.random.default_rng(seed).choice(count, size=wanted, replace=False)
    return np.asarray(np.sort(chosen), dtype=np.intp)
