"""From humidity read at one or several depths to the profile and the sealed humidity.

Bayes' rule over the library of drying histories: each history at each time is a candidate, weighed
by how well it explains the readings and by what is known of the slab's age.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtri

from moisturemap.checked import checked
from moisturemap.errors import InputError, NotEnoughData
from moisturemap.slab.covering import ABSORPTION_RANGE, sealed_humidity
from moisturemap.slab.library import Library, library
from moisturemap.slab.plausibility import LOG_FACTOR_SD, expected_time, off_age, off_profile, warmer
from moisturemap.slab.reading import DepthReading
from moisturemap.slab.scope import SlabSpec, assumptions, outside_model
from moisturemap.slab.whitened import whitened

Array = NDArray[np.float64]

UNKNOWN_AGE_RANGE = (0.01, 2.0)
"""Even range of log Fo when the age is not known."""

KEEP = 3000
"""Candidates carried on, drawn by weight."""

KEPT_SPOTS = 64
"""Estimates kept at hand: a decision asks for those of a spot again for each way to weigh it."""

MISFIT_LEVEL = 0.001
"""Chance, under the model, of readings as far off as would be called outside it."""


@dataclass(frozen=True, slots=True)
@checked
class ProfileOptions:
    """Choices in reading a spot.

    Attributes
    ----------
    level : float
        Probability inside the intervals.
    depth_sd_mm : float
        Standard uncertainty of a depth [mm].
    thickness_rel_sd : float
        Relative standard uncertainty of the thickness.
    shared_share : float
        Share of the variance of a probe that is the same in all its readings (its calibration).
    seed : int
        For the draws.
    """

    level: float = 0.90
    depth_sd_mm: float = 2.0
    thickness_rel_sd: float = 0.03
    shared_share: float = 0.5
    seed: int = 7


@dataclass(frozen=True, slots=True)
class Interval:
    """A value with its interval.

    Attributes
    ----------
    value : float
        Median.
    low, high : float
    level : float
        Probability inside.
    """

    value: float
    low: float
    high: float
    level: float


@dataclass(frozen=True)
class ProfileEstimate:
    """What depth readings say about the slab below one spot.

    Attributes
    ----------
    spec : SlabSpec
    readings : tuple of DepthReading
        By depth.
    depth_mm : ndarray, shape (n,)
        Depths of the profile [mm], over the full thickness.
    profile, profile_low, profile_high : ndarray, shape (n,)
        Humidity now [%RH].
    depth_mean : Interval
        Mean humidity over the depth now [%RH].
    sealed : Interval
        Humidity under an impermeable covering once the slab has evened out [%RH]; holds probe
        error, depth error, isotherm and hysteresis.
    hysteresis_band : (float, float)
        Sealed humidity without and with strong hysteresis, other things at their mean [%RH].
    sealed_draws : ndarray
        Equally likely values of the sealed humidity [%RH].
    candidates : Candidates
        What the estimate rests on; used by the forecasts.
    statements : tuple of str
        What it assumes.
    remarks : tuple of str
        Readings off the profile, or a slab unlike its age.
    options : ProfileOptions
        It was made with.
    fits : bool
        False where a reading lies farther from the profile than its expanded uncertainty: what the
        slab would settle at is not to be told then.
    """

    spec: SlabSpec
    readings: tuple[DepthReading, ...]
    depth_mm: Array
    profile: Array
    profile_low: Array
    profile_high: Array
    depth_mean: Interval
    sealed: Interval
    hysteresis_band: tuple[float, float]
    sealed_draws: Array
    candidates: Candidates
    statements: tuple[str, ...]
    remarks: tuple[str, ...] = ()
    options: ProfileOptions = ProfileOptions()
    fits: bool = True

    def chance_above(self, limit_pct: float) -> float:
        """Probability that the sealed humidity exceeds a limit [%RH].

        Parameters
        ----------
        limit_pct : float
            [%RH]

        Returns
        -------
        float
            0 to 1.
        """
        return float((self.sealed_draws > limit_pct).mean())


@dataclass(frozen=True)
class Candidates:
    """Histories and times drawn by their weight, equally likely.

    Attributes
    ----------
    history, moment : ndarray of int, shape (draws,)
        Rows of the library.
    absorption : ndarray, shape (draws,)
        See ``ABSORPTION_RANGE``.
    effective : float
        Effective number of distinct candidates.
    chi2 : float
        Misfit of the best candidate.
    """

    history: NDArray[np.intp]
    moment: NDArray[np.intp]
    absorption: Array
    effective: float
    chi2: float

    def some(self, count: int) -> Candidates:
        """Return an even choice of the draws."""
        chosen = np.linspace(0, self.history.size - 1, count).round().astype(int)
        return replace(
            self,
            history=self.history[chosen],
            moment=self.moment[chosen],
            absorption=self.absorption[chosen],
        )


def estimate_profile(
    readings: Sequence[DepthReading], spec: SlabSpec, *, options: ProfileOptions = ProfileOptions()
) -> ProfileEstimate:
    """Work out the profile and the sealed humidity at one spot.

    Parameters
    ----------
    readings : sequence of DepthReading
        One or more, at different depths of one spot.
    spec : SlabSpec
    options : ProfileOptions

    Returns
    -------
    ProfileEstimate
        Its arrays cannot be written to: who asks the same again is given the same.

    Raises
    ------
    InputError
        If a reading is impossible, or the slab or the readings are outside the model; says why.
    NotEnoughData
        Without readings.

    Notes
    -----
    Prior: histories spread evenly over ``library.RANGES``; Fo about D1 t / L^2 with D1 known to a
    factor of two when the age is known, else log-even; absorption even over ``ABSORPTION_RANGE``.
    """
    return _estimated(_checked(readings, spec), spec, options)


@lru_cache(maxsize=KEPT_SPOTS)
def _estimated(
    ordered: tuple[DepthReading, ...], spec: SlabSpec, options: ProfileOptions
) -> ProfileEstimate:
    known = library()
    chi, fit = _misfit(known, ordered, spec, options)
    weight = fit + log_prior(known, spec)[None, :]
    weight = np.exp(weight - weight.max())
    best = float(chi.min())
    if best > chdtri(len(ordered), MISFIT_LEVEL):
        message = (
            "the readings do not fit a slab that has only dried: water from above or below, a slab"
            " unlike the one described, or a faulty reading"
        )
        raise InputError(message, value=[(r.depth_mm, r.rh_pct) for r in ordered])
    drawn = _draw(weight, best, options)
    found = _estimate(known, ordered, spec, options, drawn)
    for part in (found, drawn):
        for value in (getattr(part, one.name) for one in fields(part)):
            if isinstance(value, np.ndarray):
                value.flags.writeable = False
    return found


def _checked(readings: Sequence[DepthReading], spec: SlabSpec) -> tuple[DepthReading, ...]:
    if not readings:
        message = "no depth reading at this spot"
        raise NotEnoughData(message)
    outside = outside_model(spec)
    if outside:
        raise InputError(outside[0], value=spec.base)
    if spec.drying_faces not in (1, 2) or spec.thickness_mm <= 0:
        message = "a slab needs its thickness and its drying faces"
        raise InputError(
            message,
            value=(spec.thickness_mm, spec.drying_faces),
            allowed="thickness above 0 mm; 1 or 2 faces",
        )
    for reading in readings:
        if not 0.0 < reading.rh_pct <= 100.0:
            message = "a relative humidity cannot be outside 0 to 100%"
            raise InputError(message, value=reading.rh_pct, allowed="above 0, up to 100 %RH")
        if not 0.0 <= reading.depth_mm <= spec.thickness_mm:
            message = "a depth is outside the slab"
            raise InputError(
                message, value=reading.depth_mm, allowed=f"0 to {spec.thickness_mm:g} mm"
            )
    ordered = tuple(sorted(readings, key=lambda reading: _drying_depth(reading, spec)))
    _require_order(ordered)
    return tuple(sorted(ordered, key=lambda reading: reading.depth_mm))


def _drying_depth(reading: DepthReading, spec: SlabSpec) -> float:
    """Distance from the nearest drying face [mm]."""
    if spec.drying_faces == 2:
        return min(reading.depth_mm, spec.thickness_mm - reading.depth_mm)
    return reading.depth_mm


def _require_order(ordered: Sequence[DepthReading]) -> None:
    """Refuse a profile that grows drier inwards: it was wetted, or is fed from outside."""
    for near, far in pairwise(ordered):
        if near.rh_pct - far.rh_pct > 2.0 * np.hypot(near.sd_pct, far.sd_pct):
            message = (
                f"{near.rh_pct:g} %RH at {near.depth_mm:g} mm is wetter than {far.rh_pct:g} %RH at"
                f" {far.depth_mm:g} mm, farther from the drying face: the slab was wetted again, or"
                " a reading is wrong; the drying model does not hold"
            )
            raise InputError(message)


def _misfit(
    known: Library, readings: Sequence[DepthReading], spec: SlabSpec, options: ProfileOptions
) -> tuple[Array, Array]:
    """Chi-square and log-likelihood of every history at every time."""
    off, cover = residuals(known, readings, spec, options)
    (white,), log_det = whitened(cover, off)
    chi = (white**2).sum(axis=-1)
    return chi, -0.5 * (chi + log_det)


def residuals(
    known: Library, readings: Sequence[DepthReading], spec: SlabSpec, options: ProfileOptions
) -> tuple[Array, Array]:
    """Return readings less what each history holds, and the covariance of their errors.

    Returns
    -------
    off : ndarray, shape (histories, times, readings)
    cover : ndarray, shape (histories, times, readings, readings)
        Fractions of humidity.
    """
    length = spec.drying_length_mm
    count = len(readings)
    shape = known.h.shape[:2]
    off = np.empty((*shape, count))
    cover = np.zeros((*shape, count, count))
    for one, reading in enumerate(readings):
        z = _drying_depth(reading, spec) / length
        h, slope = known.at_depth(z)
        off[..., one] = reading.rh_pct / 100.0 - h
        depth_sd = np.hypot(options.depth_sd_mm / length, z * options.thickness_rel_sd)
        cover[..., one, one] = (slope * depth_sd) ** 2
    return off, cover + _probe_covariance(readings, options.shared_share)


def _probe_covariance(readings: Sequence[DepthReading], share: float) -> Array:
    sd = np.array([reading.sd_pct for reading in readings]) / 100.0
    same = np.array([[a.probe == b.probe != "" for b in readings] for a in readings])
    covariance = share * same * np.outer(sd, sd)
    np.fill_diagonal(covariance, sd**2)
    return np.asarray(covariance)


def log_prior(known: Library, spec: SlabSpec) -> Array:
    """Log weight of every time of the library before any reading."""
    if spec.drying_days is None:
        low, high = UNKNOWN_AGE_RANGE
        inside = (known.times >= low) & (known.times <= high)
        return np.where(inside, 0.0, -np.inf)
    expected = expected_time(spec, spec.drying_days, known.times)
    return np.asarray(-0.5 * (np.log(known.times / expected) / LOG_FACTOR_SD) ** 2)


def _draw(weight: Array, chi: float, options: ProfileOptions) -> Candidates:
    """Draw candidates by weight: systematic resampling, which keeps their order."""
    share = weight.ravel() / weight.sum()
    generator = np.random.default_rng(options.seed)
    ticks = (np.arange(KEEP) + generator.random()) / KEEP
    chosen = np.minimum(np.searchsorted(np.cumsum(share), ticks), share.size - 1)
    history, moment = np.unravel_index(chosen, weight.shape)
    order = generator.permutation(KEEP)
    absorption = generator.uniform(*ABSORPTION_RANGE, KEEP)
    return Candidates(history[order], moment[order], absorption, float(1.0 / (share**2).sum()), chi)


def _estimate(
    known: Library,
    readings: tuple[DepthReading, ...],
    spec: SlabSpec,
    options: ProfileOptions,
    drawn: Candidates,
) -> ProfileEstimate:
    material = known.material.take(drawn.history)
    h = known.h[drawn.history, drawn.moment]
    draws = 100.0 * sealed_humidity(material, h, known.cells, drawn.absorption)
    few = drawn.some(KEEP // 8)
    chosen, some_h = known.material.take(few.history), known.h[few.history, few.moment]
    band = [
        100.0 * float(sealed_humidity(chosen, some_h, known.cells, share).mean())
        for share in reversed(ABSORPTION_RANGE)
    ]
    tails = (0.5 - options.level / 2, 0.5, 0.5 + options.level / 2)
    low, middle, high = 100.0 * np.quantile(h, tails, axis=0)
    depth, order = _full_depth(known, spec)
    profile = middle[order]
    mean = 100.0 * (h @ known.cells.thickness)
    off = off_profile(readings, depth, profile)
    return ProfileEstimate(
        spec,
        readings,
        depth,
        profile,
        low[order],
        high[order],
        _interval(mean, options.level),
        _interval(draws, options.level),
        (band[0], band[1]),
        draws,
        drawn,
        (*assumptions(spec), warmer(draws)),
        (*off, *off_age(spec, known.times[drawn.moment], known.times)),
        options,
        fits=not off,
    )


def _interval(values: Array, level: float) -> Interval:
    low, middle, high = np.quantile(values, (0.5 - level / 2, 0.5, 0.5 + level / 2))
    return Interval(float(middle), float(low), float(high), level)


def _full_depth(known: Library, spec: SlabSpec) -> tuple[Array, NDArray[np.intp]]:
    """Depths over the full thickness [mm] and the library node each of them takes."""
    depth = known.cells.z * spec.drying_length_mm
    node = np.arange(depth.size)
    if spec.drying_faces == 1:
        return depth, node
    return np.r_[depth, spec.thickness_mm - depth[-2::-1]], np.r_[node, node[-2::-1]]
