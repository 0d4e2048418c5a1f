"""Outlines as drawn: rings of corners, before they are checked and mended."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from moisturemap.errors import PlanError

Array = NDArray[np.float64]
Say = Callable[[str], None]

LENGTH_UNITS = {"m": 1.0, "cm": 0.01, "mm": 0.001, "ft": 0.3048, "in": 0.0254}
"""Metres in one unit of the coordinates; the foot is the international foot (0.3048 m exactly,
BIPM SI Brochure / NIST SP 811)."""

CLOSING_M = 0.020
"""Gaps, slivers and overlaps up to this wide are drawing faults and are mended [m]."""

REPEAT_M = 1e-4
"""Corners this close together are one corner [m]."""

NO_FLOOR = "the ring encloses no floor"

SPIKE_M = 1e-3
"""A way out and back within this width encloses no floor [m]."""


@dataclass(frozen=True)
class Outline:
    """A room (or a void: column, pit) as it was drawn.

    Attributes
    ----------
    name : str
        Empty when the drawing names none.
    rings : tuple of array_like, shape (k, 2 or 3)
        The outer ring, then holes [m]; closed or not, either way round.
    place : str
        Where it stands in its file, e.g. ``"feature 3"``.
    void : bool
        True for a column, pit or opening that is cut out of the rooms.
    """

    name: str
    rings: tuple[ArrayLike, ...]
    place: str = ""
    void: bool = False


def tidy_ring(ring: ArrayLike, where: str, say: Say, *, source: str | None = None) -> Array:
    """Return a ring without its closing corner, repeated corners and spikes, (k, 2), k >= 3.

    Parameters
    ----------
    ring : array_like, shape (k, 2 or 3)
        Corners [m].
    where : str
        Room and ring for messages, e.g. ``"room 'hall', outer ring"``.
    say : callable
        Takes a sentence for everything that was mended.
    source : str, optional
        File, for messages.

    Raises
    ------
    PlanError
        When a coordinate is no finite number, or fewer than three corners are left.
    """
    places = finite_places(ring, where, source=source)
    places = _closed(places, where, say)
    step = np.hypot(*(places - np.roll(places, 1, axis=0)).T)
    kept = step > REPEAT_M
    if len(places) > 1 and not kept.all() and kept.any():
        say(f"{where}: {_count(int((~kept).sum()), 'repeated corner')} left out")
        places = places[kept]
    places = _without_spikes(places, where, say)
    if len(places) < 3:
        raise PlanError(
            NO_FLOOR,
            source=source,
            place=where,
            value=_count(len(places), "corner"),
            allowed="three corners or more",
        )
    return places


def finite_places(ring: ArrayLike, where: str, *, source: str | None = None) -> Array:
    """Return corners as numbers, (k, 2), heights left out, or refuse them by corner."""
    try:
        places = np.asarray(ring, dtype=float)
    except (TypeError, ValueError, OverflowError):
        raise PlanError(
            "the corners are not all pairs of numbers",
            source=source,
            place=where,
            allowed="x and y as numbers for every corner",
        ) from None
    if places.ndim != 2 or places.shape[1] not in (2, 3, 4):
        raise PlanError(
            "the corners are not a list of x, y",
            source=source,
            place=where,
            allowed="x and y as numbers for every corner",
        )
    places = places[:, :2]
    bad = ~np.isfinite(places).all(axis=1)
    if bad.any():
        corner = int(np.flatnonzero(bad)[0])
        raise PlanError(
            "a coordinate is not a finite number",
            source=source,
            place=f"{where}, corner {corner + 1}",
            value=tuple(float(number) for number in places[corner]),
            allowed="finite numbers",
        )
    return places


def _closed(places: Array, where: str, say: Say) -> Array:
    if len(places) < 2:
        return places
    gap = float(np.hypot(*(places[0] - places[-1])))
    if gap == 0:
        return places[:-1]
    if gap <= CLOSING_M:
        if gap > REPEAT_M:
            say(f"{where}: a gap of {gap * 1000:.0f} mm was closed")
        return places[:-1]
    say(f"{where}: was left open and closed with a straight wall of {gap:.2f} m")
    return places


def _without_spikes(places: Array, where: str, say: Say) -> Array:
    # the search corner by corner is slow, and most rings have no spike to begin it with
    if len(places) < 3 or not _spikes(places).any():
        return places
    kept = list(range(len(places)))
    found = 0
    position = 0
    while len(kept) >= 3 and position < len(kept):
        before, here, after = (places[kept[(position + step) % len(kept)]] for step in (-1, 0, 1))
        if _is_spike(before, here, after):
            kept.pop(position)
            found += 1
            position = max(position - 2, 0)
        else:
            position += 1
    if found:
        say(f"{where}: {_count(found, 'spike')} without width left out")
    return places[kept]


def _is_spike(before: Array, here: Array, after: Array) -> bool:
    out, back = here - before, after - here
    ahead, behind = np.hypot(*out), np.hypot(*back)
    if min(ahead, behind) == 0:
        return True
    if out @ back >= 0:
        return False
    width = abs(out[0] * back[1] - out[1] * back[0]) / max(ahead, behind)
    return bool(width < SPIKE_M and out @ back < -0.99 * ahead * behind)


def _spikes(places: Array) -> NDArray[np.bool_]:
    """Tell which corners of a ring are spikes, (k,), as :func:`_is_spike` does for one."""
    out, back = places - np.roll(places, 1, axis=0), np.roll(places, -1, axis=0) - places
    ahead, behind = np.hypot(*out.T), np.hypot(*back.T)
    along = (out * back).sum(axis=1)
    across = np.abs(out[:, 0] * back[:, 1] - out[:, 1] * back[:, 0])
    longer = np.maximum(ahead, behind)
    thin = across < SPIKE_M * longer
    back_again = along < -0.99 * ahead * behind
    spikes: NDArray[np.bool_] = (np.minimum(ahead, behind) == 0) | (thin & back_again)
    return spikes


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
