"""How long a slab dries until the sealed humidity meets a limit.

Method: docs/method/slab.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from moisturemap.slab.covering import ABSORPTION_RANGE, sealed_humidity
from moisturemap.slab.library import RANGES, Library, air_library
from moisturemap.slab.plausibility import LOG_FACTOR_SD
from moisturemap.slab.profile import Interval, ProfileEstimate, log_prior, residuals
from moisturemap.slab.scope import SlabSpec
from moisturemap.slab.whitened import whitened

Array = NDArray[np.float64]

AIR_NEAR_PCT = 3.0
"""Air this near below a limit never lets a slab get there [%RH]: one reading of the air is no surer
than that (our choice)."""

AIR_SD_PCT = 5.0
"""Standard uncertainty of the air of all the drying from a few records of it [%RH], beside what the
records differ by (our choice): the seasons move a closed room by more than that."""

ABSORPTIONS = 3
"""Shares of re-wetting (``ABSORPTION_RANGE``) a candidate is followed with."""

QUANTILES = ndtri((np.arange(5) + 0.5) / 5)
"""Where an error is taken [sd], each as likely as the others."""

LEAST_WEIGHT = 1e-7
"""Candidates below this share of the likeliest are left out."""

STEP_PCT = 0.5
"""Readings are followed from the limit up in steps of this [%RH], see ``wait_for_limit``."""

FORESEEN_DAYS = 3650.0
"""Beyond this no end is given [d]: no room stays as it is for ten years (our choice)."""

ROUNDS = 1e-9
"""Sums of weights that differ by less are one."""


@dataclass(frozen=True, slots=True)
class RoomAir:
    """Air a slab has dried into, as recorded.

    Attributes
    ----------
    rh_pct : float
        At the temperature of the slab [%RH].
    sd_pct : float
        What the records differ by [%RH].
    pace : float
        Speed of drying in the warmth of the room over that where the hole was read.
    days : int
        Days it was recorded on.
    """

    rh_pct: float
    sd_pct: float = 0.0
    pace: float = 1.0
    days: int = 1


@dataclass(frozen=True, slots=True)
class Fall:
    """What a hole read lower than on an earlier day.

    Attributes
    ----------
    pct : float
        Fall, below 0 where it rose [%RH].
    sd_pct : float
        Standard uncertainty of the difference [%RH].
    days : float
        Between the two [d].
    """

    pct: float
    sd_pct: float
    days: float


@dataclass(frozen=True)
class Wait:
    """Time until the sealed humidity would meet a limit, if the room stays as it has been.

    Attributes
    ----------
    limit_pct : float
        [%RH]
    days : Interval
        ``inf`` where the model sees no end; all ``inf`` where no day is named.
    chance_never : float
        Share of the candidates that do not get there within the longest time solved, Fo = 5.
    sentence : str
    why_none : str
        Why no day is named, "" where one is.
    """

    limit_pct: float
    days: Interval
    chance_never: float
    sentence: str
    why_none: str = ""


def no_wait(limit_pct: float, level: float, why: str) -> Wait:
    """Return the wait of a slab of which no day can be named.

    Parameters
    ----------
    limit_pct : float
        [%RH]
    level : float
        Probability of the interval that is not given.
    why : str
        The reason, a clause.

    Returns
    -------
    Wait
    """
    never = Interval(np.inf, np.inf, np.inf, level)
    said = f"No day can be named for the sealed humidity to meet {limit_pct:g} %RH: {why}."
    return Wait(limit_pct, never, 1.0, said, why)


def wait_for_limit(
    estimate: ProfileEstimate,
    limit_pct: float,
    *,
    air: RoomAir | None = None,
    falls: Sequence[Fall] = (),
    others: Sequence[ProfileEstimate] = (),
) -> Wait:
    """Work out how long until the sealed humidity meets a limit [%RH], drying as before.

    Every history of the library at every time is weighed by the readings; the ends are quantiles of
    the whole, nothing is drawn by chance. Each end is the latest of those that the readings and
    lower ones down to the limit give, so that a wetter reading never brings it forward.

    Parameters
    ----------
    estimate : ProfileEstimate
    limit_pct : float
        [%RH]
    air : RoomAir, optional
        Air it dried into; where none is recorded it may be that of ``RANGES``.
    falls : sequence of Fall
        What its hole fell by before: it is never credited with a faster fall than the slowest.
    others : sequence of ProfileEstimate
        What else its record may mean, such as another thickness: each end is the latest of all.

    Returns
    -------
    Wait
        [days]
    """
    level = estimate.sealed.level
    if air is not None and air.rh_pct >= limit_pct - AIR_NEAR_PCT:
        return no_wait(
            limit_pct,
            level,
            f"the air recorded in the room, {air.rh_pct:.0f} %RH at the temperature of the slab, is"
            " near the limit or above it, and no slab dries below the air it stands in; drier or"
            " warmer air comes first",
        )
    tails = (0.5 - level / 2, 0.5, 0.5 + level / 2)
    ends, nevers = [], []
    for one in (estimate, *others):
        days, weights = _days(one, limit_pct, air, falls)
        ends.append(_latest(days, weights, tails))
        nevers.append(float(weights[-1][np.isinf(days)].sum() / weights[-1].sum()))
    low, middle, high = map(float, np.max(ends, axis=0))
    if np.isinf(low):
        why = "in this air it does not get there within ten years"
        if falls:
            why = "in this air, at the pace its tests fell, it does not get there within ten years"
        return no_wait(limit_pct, level, why)
    wait = Interval(middle, low, high, level)
    return Wait(limit_pct, wait, max(nevers), _sentence(limit_pct, wait, air))


@cache
def _levels() -> Array:
    """Sealed humidity of every history, at every time, with each share of re-wetting (fraction)."""
    known = air_library()
    histories, times = known.h.shape[:2]
    material = known.material.take(np.repeat(np.arange(histories), times))
    flat = known.h.reshape(histories * times, -1)
    low, high = ABSORPTION_RANGE
    shares = low + (high - low) * (np.arange(ABSORPTIONS) + 0.5) / ABSORPTIONS
    found = [sealed_humidity(material, flat, known.cells, float(share)) for share in shares]
    level = np.stack(found, axis=-1).reshape(histories, times, ABSORPTIONS)
    return np.asarray(np.minimum.accumulate(level, axis=1))


def _met_at(limit: float) -> Array:
    """Time at which each history meets a limit (fraction) [Fo], shape (histories, shares)."""
    times, level = air_library().times, _levels()
    below = level <= limit
    after = below.argmax(axis=1)
    before = np.maximum(after - 1, 0)
    upper = np.take_along_axis(level, before[:, None], axis=1)[:, 0]
    lower = np.take_along_axis(level, after[:, None], axis=1)[:, 0]
    step = np.where(upper > lower, upper - lower, 1.0)
    share = np.where(after > 0, (upper - limit) / step, 0.0)
    met = times[before] * (times[after] / times[before]) ** share
    return np.where(below.any(axis=1), met, np.inf)


def _days(
    estimate: ProfileEstimate, limit_pct: float, air: RoomAir | None, falls: Sequence[Fall]
) -> tuple[Array, Array]:
    """Days each candidate takes, shape (n,), and its weights by ever wetter readings (steps, n)."""
    known, spec = air_library(), estimate.spec
    weights = _weights(known, estimate, limit_pct, air)
    history, moment = np.nonzero((weights > LEAST_WEIGHT).any(axis=0))
    now, limit = known.times[moment], limit_pct / 100.0
    left = np.maximum(_met_at(limit)[history] - now[:, None], 0.0)
    excess = np.maximum(100.0 * (_levels()[history, moment] - limit), 0.0)
    left[excess == 0.0] = 0.0
    # one row an error of the diffusivity, where the age does not tell it
    rate = now / spec.drying_days if spec.drying_days else _rate(spec)
    rate = np.atleast_2d(rate) * (1.0 if air is None else air.pace)
    days = (left[None] / rate[:, :, None])[:, None]
    if falls:
        days = np.maximum(days, _slowest(excess, falls)[None])
    days = np.where(days > FORESEEN_DAYS, np.inf, days)
    open_ = (excess > 0.0) | (estimate.sealed.low <= limit_pct)
    share = weights[:, history, moment][:, None, None, :, None] * open_
    share = np.broadcast_to(share, (len(weights), *days.shape))
    return days.ravel(), share.reshape(len(weights), -1)


def _slowest(excess: Array, falls: Sequence[Fall]) -> Array:
    """Days for an excess [%RH] at the slowest fall seen, a row for each error of it."""
    pace = np.min([(one.pct + one.sd_pct * QUANTILES) / one.days for one in falls], axis=0)
    days = excess[None] / np.where(pace > 0.0, pace, np.nan)[:, None, None]
    return np.asarray(np.where(excess[None] == 0.0, 0.0, np.nan_to_num(days, nan=np.inf)))


def _rate(spec: SlabSpec) -> Array:
    """Fo per day by the usual diffusivity and its errors, shape (errors, 1)."""
    spread = np.exp(LOG_FACTOR_SD * QUANTILES[:, None])
    return np.asarray(spec.diffusivity_mm2_day * spread / spec.drying_length_mm**2)


def _weights(
    known: Library, estimate: ProfileEstimate, limit_pct: float, air: RoomAir | None
) -> Array:
    """Weights by readings from the limit up to those there are (steps, histories, times)."""
    off, cover = residuals(known, estimate.readings, estimate.spec, estimate.options)
    (white, one), log_det = whitened(cover, off, np.ones_like(off))
    square, cross, unit = (white**2).sum(-1), (white * one).sum(-1), (one**2).sum(-1)
    log = -0.5 * (square + log_det) + log_prior(known, estimate.spec)
    if air is None:
        low, high = RANGES["surface"]
        log[(known.surface < low) | (known.surface > high)] = -np.inf
    else:
        sd = np.hypot(AIR_SD_PCT, air.sd_pct) / 100.0
        log -= 0.5 * (((known.surface - air.rh_pct / 100.0) / sd) ** 2)[:, None]
    wettest = max(reading.rh_pct for reading in estimate.readings)
    top = STEP_PCT * np.ceil(wettest / STEP_PCT - ROUNDS)
    steps = np.arange(max(round((top - limit_pct) / STEP_PCT), 0), -1, -1)
    shift = (top - STEP_PCT * steps - wettest)[:, None, None] / 100.0
    log = log[None] - shift * cross - 0.5 * shift**2 * unit
    return np.asarray(np.exp(log - log.max(axis=(1, 2), keepdims=True)))


def _latest(days: Array, weights: Array, tails: Sequence[float]) -> list[float]:
    """Return the latest of each quantile over the steps."""
    order = np.argsort(days, kind="stable")
    ordered, found = days[order], np.zeros(len(tails))
    for weight in weights:
        total = np.cumsum(weight[order])
        at = np.searchsorted(total, total[-1] * (np.asarray(tails) - ROUNDS))
        found = np.maximum(found, ordered[np.minimum(at, order.size - 1)])
    return [float(one) for one in found]


def _sentence(limit: float, wait: Interval, air: RoomAir | None) -> str:
    if wait.high == 0.0:
        return f"The sealed humidity is already at or below {limit:g} %RH."
    ends = "no upper bound" if np.isinf(wait.high) else f"{rounded_days(wait.high)} days"
    middle = "cannot be named" if np.isinf(wait.value) else f"is {rounded_days(wait.value)} days"
    low, high = RANGES["surface"]
    room = f"no air is recorded, so {100 * low:.0f} to {100 * high:.0f} %RH is assumed"
    if air is not None:
        room = f"recorded near {air.rh_pct:.0f} %RH at the temperature of the slab"
        if air.days > 1:
            room += f", the mean of {air.days} days"
    return (
        f"From the reading of the tests until the sealed humidity meets {limit:g} %RH: the middle"
        f" estimate {middle}; the {wait.level:.0%} interval runs from {rounded_days(wait.low)} days"
        f" to {ends}, if the air of the room stays as it has been ({room}) and no water comes."
    )


def rounded_days(days: float) -> str:
    """Write days no finer than a drying model knows them: two figures.

    Parameters
    ----------
    days : float
        [days]

    Returns
    -------
    str
    """
    return f"{days:.2g}" if days < 10 else f"{float(f'{days:.2g}'):.0f}"
