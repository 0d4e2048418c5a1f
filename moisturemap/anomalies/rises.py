"""Short rises of the readings: what speaks for something embedded near a place, named or not.

A search names what it can stand by. A hole must not be drilled into what it could not: a thing too
weak or too short to name still lifts a reading or two. So every place is asked, without a decision,
whether the readings about it speak for something within a distance of it. Method:
docs/method/anomalies.md.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely.geometry import LineString

from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.rivals import Weighed
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.sides import DIRECTIONS, Contrasts, contrasts
from moisturemap.anomalies.straight_rows import courses_of_rows

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

STRENGTHS = (4.0, 8.0, 16.0)
"""Strengths a thing may have, alike likely [noise sd] (our choice)."""

HALF_LENGTHS_M = (0.3, 1.0)
"""Half the lengths it may have: a box or a plate, a stretch of pipe (our choice) [m]."""

OFFSETS = 5
"""Courses past a place in each direction, evenly over the distance either way."""

TURNS = DIRECTIONS // 2
"""Directions a course may have."""

STANDS, SHOWS = 6.0, 3.0
"""A thing so many noise sd strong is asked about; it shows so many sd high (our choice)."""

UNEVEN = 0.15
"""Share of its strength by which a thing may vary from reading to reading."""

ROUGH = 0.4
"""Sd of a contrast of wet floor, of what the floor beside it stands over dry floor: wet floor is
rough in proportion to how wet it is (our choice)."""

LOWEST, CAP = -3.0, 8.0
"""Contrasts count no lower than the first [sd]; no reading adds more than the second to the log
likelihood: nothing rests on one reading alone, and a dip excludes no thing beside it."""

MOST_LOG = 12.0
"""Largest log likelihood ratio of one course: beyond it nothing changes."""

SHARP = 4.0
"""A reading so many noise sd over both of its sides stands out sharply (our choice)."""

RUNS_ON_M, ASIDE_M, STEP_M = 3.0, 0.3, 0.1
"""A high reading so far beyond the end of a line and aside of its course [m] is likely of the same
thing, and so is the course up to it, in steps [m] (our choice)."""

NEIGHBOURS = 32
"""Most readings that tell about a place."""

CHUNK = 1_000
"""Places at a time, to bound memory."""


@dataclass(frozen=True)
class Rises:
    """Readings of one domain over their sides, what is found already taken out.

    Attributes
    ----------
    points : ndarray, shape (n, 2)
        Places [m].
    over : ndarray, shape (n, DIRECTIONS)
        Reading minus the higher side [reading]; 0 where no side is read.
    beside : ndarray, shape (n, DIRECTIONS)
        That side over dry floor [reading].
    sd : float
        What calm floor gives [reading].
    noise_sd : float
        Sd of one reading [reading].
    width : float
        Sd of the response across a usual thing [m].
    stands : ndarray, shape (n,)
        How far each reading as it was read stands above both of its sides, whatever was found
        there [reading].
    peaks : ndarray, shape (k, 2)
        Places on which sweeps peak sharply, and along what is contested there; the course
        of a line beyond its ends, as far as readings stand high on it, and of straight rows of
        single readings [m].
    """

    points: Array
    over: Array
    beside: Array
    sd: float
    noise_sd: float
    width: float
    stands: Array
    peaks: Array = field(default_factory=lambda: np.empty((0, 2)))

    def shown_floor(self, told: Mask) -> Rises:
        """Return the rises without those of some readings (n,), which were shown to be floor."""
        over = np.where(told[:, None], np.minimum(self.over, 0.0), self.over)
        return replace(self, over=over, stands=np.where(told, 0.0, self.stands))

    def sharp(self) -> Array:
        """Places (k, 2) of the readings that stand well above both of their sides [m]."""
        return self.points[self.stands > SHARP * self.noise_sd]

    def steep(self) -> Array:
        """Places (k, 2) of those that stand higher than wet floor is rough beside them [m]."""
        rough = ROUGH * self.beside.max(axis=1)
        return np.asarray(self.points[self.stands > SHARP * self.noise_sd + rough])

    def with_courses(self, lines: Iterable[tuple[LineString, float]], over_dry: Array) -> Rises:
        """Return the rises with the courses of lines beyond their ends as peaks.

        As far as readings on the course stand half as high as the line: what runs on straight is
        likely the same thing, whatever the search made of it there.

        Parameters
        ----------
        lines : iterable of (LineString, float)
            Lines [m] and their strengths [reading].
        over_dry : ndarray, shape (n,)
            Readings over dry floor [reading].
        """
        kept = [self.peaks]
        for line, strength in lines:
            corners, high = shapely.get_coordinates(line), self.points[over_dry > 0.5 * strength]
            for end, before in ((corners[0], corners[1]), (corners[-1], corners[-2])):
                way = (end - before) / np.hypot(*(end - before))
                along, across = (high - end) @ way, (high - end) @ np.array([-way[1], way[0]])
                on = (along >= 0.0) & (along <= RUNS_ON_M) & (np.abs(across) <= ASIDE_M)
                if on.any():
                    kept.append(
                        end + np.arange(0.0, along[on].max() + STEP_M, STEP_M)[:, None] * way
                    )
        return replace(self, peaks=np.concatenate(kept))

    def with_rows(self, points: Array, spacing: float) -> Rises:
        """Return the rises with the courses of straight rows of single high readings as peaks.

        Parameters
        ----------
        points : ndarray, shape (k, 2)
            Places of such readings [m].
        spacing : float
            Of the grid [m].
        """
        rows = courses_of_rows(points, spacing, self.width)
        return replace(self, peaks=np.concatenate([self.peaks, rows]))

    def log_odds(self, places: Array, within: float) -> Array:
        """Log odds that something lies within a distance of places, over those of unread floor.

        The mean likelihood ratio over straight things of several lengths and strengths in all
        directions past the place: 0 where no reading tells, negative where readings see calm
        floor, positive where they rise.

        Parameters
        ----------
        places : ndarray, shape (m, 2)
            [m].
        within : float
            [m].

        Returns
        -------
        ndarray, shape (m,)
        """
        tree = cKDTree(self.points)
        parts = np.array_split(np.arange(len(places)), max(1, -(-len(places) // CHUNK)))
        return np.concatenate([self._part(tree, places[part], within) for part in parts])

    def may_miss(self, places: Array, within: float) -> Mask:
        """Whether a straight thing may pass within a distance of places and not show.

        It is taken to be 2 m long, as wide as a usual one and 6 noise sd strong; it shows where the
        readings over it, each against what a contrast of the floor there gives, stand together
        3 sd high.

        Parameters
        ----------
        places : ndarray, shape (m, 2)
            [m].
        within : float
            [m].

        Returns
        -------
        ndarray of bool, shape (m,)
        """
        missed = np.zeros(len(places), dtype=bool)
        half, tree = max(HALF_LENGTHS_M), cKDTree(self.points)
        reach = float(np.hypot(half, within + 3.0 * self.width))
        aside = np.linspace(-within, within, OFFSETS)
        turns = np.arange(0, DIRECTIONS, DIRECTIONS // TURNS)
        angle = np.pi * turns / DIRECTIONS
        for k, near in enumerate(tree.query_ball_point(places, reach)):
            offset = self.points[near] - places[k]
            along = np.abs(offset @ np.array([np.cos(angle), np.sin(angle)]))
            across = offset @ np.array([-np.sin(angle), np.cos(angle)])
            sd = np.hypot(self.sd, ROUGH * self.beside[near][:, turns])
            profile = np.exp(-0.5 * ((across[..., None] - aside) / self.width) ** 2)
            rise = STANDS * self.noise_sd * profile * ((along <= half) / sd)[..., None]
            missed[k] = bool((np.sqrt((rise**2).sum(axis=0)) < SHOWS).any())
        return missed

    def _part(self, tree: cKDTree, places: Array, within: float) -> Array:
        near = self._near(tree, places, within)
        aside = np.linspace(-within, within, OFFSETS) / self.width
        total = np.zeros(len(places))
        for turn in range(0, DIRECTIONS, DIRECTIONS // TURNS):
            along, across = near.turned(np.pi * turn / DIRECTIONS)
            # what follows is smooth, so that single precision is enough, and twice as quick
            across = (across / self.width).astype(np.float32)
            floor_sd = np.hypot(self.sd, ROUGH * self.beside[:, turn])
            over = np.maximum(self.over[:, turn], LOWEST * floor_sd).astype(np.float32)
            over, floor_variance = over[near.index], (floor_sd**2).astype(np.float32)[near.index]
            inside = [(near.known & (along <= half)).astype(np.float32) for half in HALF_LENGTHS_M]
            for step in aside.astype(np.float32):
                profile = across - step
                profile *= profile
                profile *= -0.5
                np.exp(profile, out=profile)
                for strength in STRENGTHS:
                    rise = np.float32(strength * self.noise_sd) * profile
                    gain = _gain(rise, over, floor_variance)
                    for one in inside:
                        added = np.einsum("mk,mk->m", gain, one)
                        total += np.exp(np.minimum(added, MOST_LOG))
        return np.log(total / (TURNS * OFFSETS * len(STRENGTHS) * len(HALF_LENGTHS_M)))

    def _near(self, tree: cKDTree, places: Array, within: float) -> _Near:
        """Find the readings that tell of each place."""
        reach = float(np.hypot(max(HALF_LENGTHS_M), within + 2.0 * self.width))
        count = min(NEIGHBOURS, len(self.points))
        found = tree.query(places, k=count, distance_upper_bound=reach)
        distance, index = (np.asarray(part).reshape(len(places), -1) for part in found)
        # nearest come first, so that columns nobody fills stand last
        most = max(int(np.isfinite(distance).sum(axis=1).max()), 1)
        known, index = np.isfinite(distance[:, :most]), index[:, :most]
        index = np.where(known, index, 0)
        return _Near(index, known, self.points[index] - places[:, None])


@dataclass(frozen=True)
class _Near:
    """Readings near places.

    Attributes
    ----------
    index : ndarray of int, shape (m, k)
    known : ndarray of bool, shape (m, k)
        False where a place has fewer.
    offset : ndarray, shape (m, k, 2)
        From the place to the reading [m].
    """

    index: NDArray[np.intp]
    known: Mask
    offset: Array

    def turned(self, angle: float) -> tuple[Array, Array]:
        """Distance along a direction, and signed across it, (m, k) each [m]."""
        x, y = self.offset[..., 0], self.offset[..., 1]
        cos, sin = np.cos(angle), np.sin(angle)
        return np.abs(x * cos + y * sin), y * cos - x * sin


def _gain(
    rise: NDArray[np.float32], over: NDArray[np.float32], floor_variance: NDArray[np.float32]
) -> NDArray[np.float32]:
    """Log likelihood each reading adds for a thing that lifts it so much, (m, k)."""
    gain = np.float32(-0.5) * rise
    gain += over
    gain *= rise
    rise *= np.float32(UNEVEN)
    rise *= rise
    rise += floor_variance
    gain /= rise
    return np.clip(gain, -CAP, CAP, out=gain)


def what_is_left(
    scene: Scene,
    calm: CalmFloor,
    values: Array,
    contested: Iterable[Weighed],
    used: Mask,
    known: tuple[Contrasts | None, Contrasts | None] = (None, None),
) -> Rises:
    """Gather the rises that nothing found accounts for.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Readings with the things taken out.
    contested : iterable of Weighed
        Taken out as well: holes keep clear of them by their shape.
    used : ndarray of bool, shape (n,)
        Readings that may stand for floor.
    known : (Contrasts, Contrasts), optional
        As worked out last in the search, and of the readings as they are.
    """
    left = values.copy()
    for one in contested:
        left -= one.strength * one.shape.rise(scene.points)
    before, first = known
    found = contrasts(scene, calm, left, used, before)
    over = np.where(np.isfinite(found.over), found.over, 0.0)
    beside = np.maximum(left[:, None] - over - calm.base[:, None], 0.0)
    first = first or contrasts(scene, calm, scene.values, used)
    stands = np.maximum(first.greatest, 0.0)
    return Rises(scene.points, over, beside, found.sd, calm.noise_sd, scene.width, stands)
