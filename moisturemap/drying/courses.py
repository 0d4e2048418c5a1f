"""Courses a wet place may take: what is thought of a floor before its visits are looked at.

Each member is one shape s(t) of the excess over dry floor, 1 on the first visit: a slab that dries
by diffusion, an exponential, either of them held up by water that keeps coming, or a slab that is
fed from below. The priors and their sources stand in ``docs/method/drying.md``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from moisturemap.drying.air_history import AirHistory
from moisturemap.errors import OptionError
from moisturemap.slab import FED_SLABS, SLABS, near_surface, read_curves

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

MEMBERS = 6000
"""Members drawn; between seeds the ends of a forecast differ by about 1% (our choice)."""

DIFFUSION_SHARE = 0.75
"""Share of diffusion among the shapes, the rest are exponentials (our choice: diffusion alone holds
0.6 on exponentials, exponentials alone 0.4 to 0.6 on slabs)."""

KEPT_WET = 0.10
"""Share of members something keeps wet (our choice)."""

KEPT_THROUGHOUT = 0.2
"""Share of those that do not dry at all; the others stop at an even share of the excess."""

FED_BELOW = {"seen-intact": 0.01, "drawing-only": 0.03, "": 0.03, "none": 0.5, "damaged": 0.5}
"""Chance that the lower face of a slab on the ground is kept wet, by what is known of its membrane
(our choice; readings near the surface tell it only after the depth has begun to dry)."""

DIFFUSIVITY_MM2_DAY = 20.0
DIFFUSIVITY_LOG_SD = 0.8
"""Median and log-sd of D1 [mm2/day]: the form of the fib Model Code 2010 gives 20 to 40 for fck 50
to 20 MPa (from memory); old and damp floors lie lower. Medians from 10 to 28 change little."""

THICKNESS_MM = (40.0, 250.0)
"""Log-even range of a thickness that is not known [mm] (our choice)."""

THICKNESS_LOG_SD = 0.05
"""log-sd of a thickness that is known (our choice)."""

ONE_FACE = 0.7
"""Share of floors that dry from the top only, where the faces are not known (our choice)."""

REACH_MM = 20.0
REACH_LOG_SD = 0.5
"""Median and log-sd of the depth a non-invasive meter reaches [mm]; 10 to 40 are usual (common
practice)."""

RELATION_LOG_SD = 0.25
"""log-sd of the power that joins the reading to the excess moisture (our choice)."""

FO_UNKNOWN = (0.003, 2.0)
"""Log-even range of the time dried before the first visit [Fo] (our choice)."""

WETTED_AGAIN = 0.4
"""Share of slabs of known age that were wetted after they were placed (our choice)."""

HALF_LIFE_DAYS = (2.0, 400.0)
"""Log-even range of the half-life of exponentials [days] (our choice)."""

TWO_RATES = 0.5
SLOWER = (2.0, 30.0)
SLOW_SHARE = (0.1, 0.8)
"""Share of exponentials with a slow part besides the fast one, as a screed on a slab has; log-even
range of its half-life over that of the fast part; even range of its share of the first excess (our
choice: with one rate alone the latest day came too early on 11 of 100 floors with two)."""

DRIVE_KEPT = (0.3, 1.0)
"""Even range of the share of the first excess an exponential still has on the first visit; only for
changes of room air (our choice)."""

FELT = (0.4, 1.1)
"""Even range of the share of a recorded change of room air that the floor feels from visit to
visit: one reading of the air is not its mean (our choice)."""


LATE_START = 0.15
LATE_BY_DAYS = (0.5, 14.0)
"""Share of members that start to dry only after the first visit, when machines or heating come, and
log-even range of the delay [days] (our choice: without them "not before" was too late on one in
four floors whose machines came late)."""


@dataclass(frozen=True, slots=True)
class KnownSlab:
    """What is known of the slab under a zone.

    Attributes
    ----------
    thickness_mm : float or None
        [mm]
    faces : int or None
        1 or 2 faces that dry.
    age_days : float or None
        Since it was placed, on the first visit [days].
    fed_below : float
        Chance that ground or water below keeps its lower face wet, 0 to 1; counts for slabs that
        dry from the top only.
    """

    thickness_mm: float | None = None
    faces: int | None = None
    age_days: float | None = None
    fed_below: float = FED_BELOW[""]

    def __post_init__(self) -> None:
        if self.thickness_mm is not None and not 1.0 <= self.thickness_mm <= 5000.0:
            message = "the thickness of a slab is in millimetres"
            raise OptionError(message, value=self.thickness_mm, allowed="1 to 5000")
        if self.faces not in (None, 1, 2):
            message = "a slab dries from one face or from two"
            raise OptionError(message, value=self.faces, allowed="1, 2 or None")
        if not 0.0 <= self.fed_below <= 1.0:
            message = "the chance that a slab is fed from below is a share"
            raise OptionError(message, value=self.fed_below, allowed="0 to 1")


@dataclass(frozen=True)
class Courses:
    """Members of the prior.

    Attributes
    ----------
    curve : ndarray, shape (d, len(FO))
        Excess seen near the surface; one row for each diffusion member, which come first.
    slab : ndarray of int, shape (d,)
        Rows of the library.
    fo_start, fo_per_day : ndarray, shape (d,)
        Fo on the first visit, and its growth at 20 C [1/day].
    length_mm : ndarray, shape (d,)
        Drying length [mm].
    faces : ndarray of int, shape (d,)
    power : ndarray, shape (d,)
        Of the relation of reading and moisture.
    rate : ndarray, shape (e, 2)
        Of the fast and the slow part of the exponentials, which follow [1/day].
    slow : ndarray, shape (e,)
        Share of the slow part.
    drive : ndarray, shape (d + e,)
        What a change of the air's humidity by 1 (fraction) is, over the first visit's excess.
    held : ndarray, shape (d + e,)
        Share of the excess that never leaves; 0 where nothing keeps the floor wet.
    late : ndarray, shape (d + e,)
        Days after the first visit on which drying starts [days at 20 C].
    """

    curve: Array
    slab: Index
    fo_start: Array
    fo_per_day: Array
    length_mm: Array
    faces: Index
    power: Array
    rate: Array
    slow: Array
    drive: Array
    held: Array
    late: Array

    @property
    def exponential(self) -> Mask:
        """Which members are exponentials, shape (d + e,)."""
        return np.arange(self.held.size) >= self.slab.size

    @cached_property
    def kept_wet(self) -> Mask:
        """Which members water keeps coming to, shape (d + e,)."""
        fed = np.zeros(self.held.size, dtype=bool)
        fed[: self.slab.size] = self.slab >= SLABS
        return fed | (self.held > 0.0)

    def shapes(self, days: Array, air: AirHistory, members: Index) -> Array:
        """Excess of members (n,) at days since the first visit (k,), over that of day 0, (n, k)."""
        split = int(np.searchsorted(members, self.slab.size))
        slabs, falls = members[:split], members[split:] - self.slab.size
        time = air.warm_days(days)
        dried = np.maximum(time - self.late[members, None], 0.0)
        free = np.concatenate(
            [self._diffusion(slabs, dried[:split]), self._exponential(falls, dried[split:])]
        )
        for day, change in air.steps:
            since = np.maximum(time - air.warm_days(np.array([day]))[0], 0.0)
            answer = np.concatenate(
                [self._answer(slabs, since), 1.0 - self._exponential(falls, since)]
            )
            free = free + change * self.drive[members, None] * answer
        held = self.held[members, None]
        return np.asarray(held + (1.0 - held) * free)

    def _diffusion(self, rows: Index, time: Array) -> Array:
        curve = self.curve[rows]
        since = np.column_stack([np.zeros(rows.size), time])
        fo = self.fo_start[rows, None] + self.fo_per_day[rows, None] * since
        seen = np.maximum(read_curves(curve, fo), 1e-12)
        return np.asarray((seen[:, 1:] / seen[:, :1]) ** self.power[rows, None])

    def _exponential(self, rows: Index, time: Array) -> Array:
        fast, slow = (np.exp(-self.rate[rows, part, None] * time) for part in (0, 1))
        return np.asarray(fast + self.slow[rows, None] * (slow - fast))

    def _answer(self, rows: Index, since: Array) -> Array:
        """Share of a step of the room air that the reading has taken on (Duhamel)."""
        curve = self.curve[rows]
        fo = np.maximum(self.fo_per_day[rows, None] * since, 1e-12)
        return np.asarray(1.0 - read_curves(curve, fo) / curve[:, :1])

    def humidity(self, day: float, depth_mm: float, air: AirHistory) -> tuple[Array, Array]:
        """Excess over the room air at a depth, as a share of that before drying, (d,), and depths.

        The second array is the depth over the drying length from the nearest drying face.
        """
        depth = np.full(self.slab.size, float(depth_mm))
        whole = self.length_mm * self.faces
        depth = np.where(self.faces == 2, np.minimum(depth, np.abs(whole - depth)), depth)
        share = depth / self.length_mm
        curve = near_surface().at_depth(self.slab, share)
        slabs = np.arange(self.slab.size)
        return read_curves(curve, self._fo(np.array([day]), air, slabs))[:, 0], share

    def mean_excess(self, days: Array, air: AirHistory, members: Index) -> Array:
        """Mean excess over the depth of slab members (n,) on days (k,), over that before drying."""
        curve = near_surface().mean[self.slab[members]]
        return read_curves(curve, self._fo(days, air, members))

    def _fo(self, days: Array, air: AirHistory, slabs: Index) -> Array:
        """Fo of slab members (n,) on days (k,), (n, k)."""
        dried = np.maximum(air.warm_days(days) - self.late[slabs, None], 0.0)
        return np.asarray(self.fo_start[slabs, None] + self.fo_per_day[slabs, None] * dried)


@lru_cache(maxsize=16)
def draw_courses(known: KnownSlab, *, members: int = MEMBERS, seed: int = 20_260_103) -> Courses:
    """Draw members for a slab of which some things are known.

    Parameters
    ----------
    known : KnownSlab
    members : int
    seed : int

    Returns
    -------
    Courses
        Kept for the same arguments.
    """
    rng = np.random.default_rng(seed)
    slabs = round(DIFFUSION_SHARE * members)
    falls = members - slabs
    library = near_surface()
    slab = np.asarray(rng.integers(0, SLABS, slabs), dtype=np.intp)
    faces = np.where(rng.uniform(size=slabs) < ONE_FACE, 1, 2)
    if known.faces is not None:
        faces = np.full(slabs, known.faces)
    thickness = _log_even(rng, THICKNESS_MM, slabs)
    if known.thickness_mm is not None:
        thickness = known.thickness_mm * np.exp(rng.normal(0.0, THICKNESS_LOG_SD, slabs))
    fed = (faces == 1) & (rng.uniform(size=slabs) < known.fed_below)
    slab = np.where(fed, SLABS + slab % FED_SLABS, slab)
    length = thickness / faces
    diffusivity = DIFFUSIVITY_MM2_DAY * np.exp(rng.normal(0.0, DIFFUSIVITY_LOG_SD, slabs))
    per_day = diffusivity / length**2
    start = _log_even(rng, FO_UNKNOWN, slabs)
    if known.age_days is not None:
        placed = rng.uniform(size=slabs) >= WETTED_AGAIN
        start = np.where(placed, per_day * max(known.age_days, 1.0), start)
    reach = REACH_MM * np.exp(rng.normal(0.0, REACH_LOG_SD, slabs))
    curve = library.curves(slab, reach / length)
    power = np.exp(rng.normal(0.0, RELATION_LOG_SD, slabs))
    half_life = _log_even(rng, HALF_LIFE_DAYS, falls)
    rate = math.log(2.0) / half_life[:, None] / np.c_[np.ones(falls), _log_even(rng, SLOWER, falls)]
    two = rng.uniform(size=falls) < TWO_RATES
    slow = np.where(two, rng.uniform(*SLOW_SHARE, falls), 0.0)
    first = read_curves(curve, start[:, None])[:, 0]
    span = np.r_[(library.start - library.surface)[slab], rng.uniform(0.3, 0.6, falls)]
    left = np.r_[np.maximum(first, 0.02), rng.uniform(*DRIVE_KEPT, falls)]
    drive = rng.uniform(*FELT, members) / (span * left)
    return Courses(
        np.ascontiguousarray(curve),
        slab,
        start,
        per_day,
        length,
        np.asarray(faces, dtype=np.intp),
        power,
        rate,
        slow,
        drive,
        _held(members, rng),
        _late(members, rng),
    )


def _held(members: int, rng: np.random.Generator) -> Array:
    """Share of the excess that stays, for each member."""
    kept = rng.uniform(size=members) < KEPT_WET
    throughout = rng.uniform(size=members) < KEPT_THROUGHOUT
    share = np.where(throughout, 1.0, rng.uniform(0.0, 1.0, members))
    return np.where(kept, share, 0.0)


def _late(members: int, rng: np.random.Generator) -> Array:
    """Days after the first visit on which each member starts to dry."""
    starts_late = rng.uniform(size=members) < LATE_START
    return np.where(starts_late, _log_even(rng, LATE_BY_DAYS, members), 0.0)


def _log_even(rng: np.random.Generator, ends: tuple[float, float], count: int) -> Array:
    """Draw numbers whose logarithm is even between two ends."""
    return np.exp(rng.uniform(math.log(ends[0]), math.log(ends[1]), count))
