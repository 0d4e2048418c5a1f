"""What is contested on the grid, settled by the sweeps across it.

A sweep shows the whole profile of what it crosses, so what stands up sharply from what is beside it
is something embedded, and what does not is floor. Method: docs/method/anomalies.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LineString

from moisturemap.anomalies.calm import CalmFloor, dry_level
from moisturemap.anomalies.decision import (
    SEVERAL,
    SHORT_M,
    WIDE,
    WIDEST_THING_M,
    at_stake,
    disturbed,
    is_sure,
    needed,
    with_visits,
)
from moisturemap.anomalies.disc import Disc
from moisturemap.anomalies.finds import Finds
from moisturemap.anomalies.profile import Profile, at_one_place, crossed_ways, profiles_at
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.rises import what_is_left
from moisturemap.anomalies.rivals import Weighed
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.settle import weigh_line, weigh_spot
from moisturemap.anomalies.swept import CROSSES_M, crossed, runs_of

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
Index = NDArray[np.intp]

SHARP, FAINT = 4.5, 3.0
"""What stands so many noise sd over both hands of a sweep is sharp, if no wider than a thing: on 72
invented floors floor so narrow gave 3.8 at most, but for ends of strips; it may be from 3 on."""

MOST = 2 / 3
"""A line is a thing if so many of the sweeps across it show it sharply."""

FULL_WIDTH = 2.355
"""Full width at half height of a normal curve [sd]."""

SLOW = 1.2
"""A line wider than so many usual widths in its sweeps is no thing where wet floor is at stake."""

FLAT = 0.4
"""A sweep along a thing falls on either hand by less than this share of what it rises across."""

SWEPT_NEEDS, SWEPT_ODDS = 2.0, 3.0
"""Log odds a line of which sweeps show the profile needs to be a thing, and the least it is then
told with: some 20 to 1 (our choice)."""

FADING_NEEDS = 10.0
"""Log odds of a line that all sweeps show narrow, but only some of them sharply: it fades where its
cover grows (our choice)."""

LONG_M = 1.5
"""A line of this length [m] is swept twice: what the second would say stays open without it."""

COURSE = 21
"""Places along a line at which it is asked what explains it."""

STUB_M = 1.0
"""Length of the line a search for a course through one place begins with [m]."""

COMPACT = 1.3
"""A compact thing is no wider than so many usual widths in two sweeps across each other."""

THREE, NEXT_M, NEXT_SPACINGS = 3, (0.2, 1.0), 2.5
"""So many sharp sweeps make a course of single places; two of them lie so far apart [m],
[spacings]."""

ACROSS_M, PAST_M = 0.6, 0.3
"""A reading of a sweep was read because of a line this far beside it and past its ends [m], or of a
spot this far from it."""

BESIDE_M, LEAST_BESIDE, AGREES = 0.2, 2, 0.5
"""Readings of sweeps this near to a single one [m] say whether it was a wrong one: so many at
least, and it was if none stands this share as high. On invented floors wet spots and things gave
0.7 and more, wrong readings 0.4 at most."""

STEP_M = 0.1
"""Steps along a contested line in which the peak of a sweep across it is carried on [m]."""

MEMBERS_M = 0.3
"""Readings this near to a place are those of a spot there [m]."""

CROSSED = 0.3
"""What gives a place this share of its strength explains what was read there."""

STANDS_OUT = 6.0
"""Where nothing was contested, a sweep is weighed if it rises this high [sd of calm floor]."""


def settled(scene: Scene, swept: Mask, grid: Scene, finds: Finds) -> Finds:
    """Settle what a search of the grid left contested.

    Parameters
    ----------
    scene : Scene
        All readings.
    swept : ndarray of bool, shape (n,)
        Those of sweeps.
    grid : Scene
        The others.
    finds : Finds
        What the search of the grid found.

    Returns
    -------
    Finds
        Of all readings. What no sweep crosses stays as the grid left it.
    """
    calm = replace(finds.calm, base=dry_level(grid, scene.points))
    lone = np.zeros(len(swept))
    doubtful, plain = np.zeros((2, len(swept)), dtype=bool)
    lone[~swept], doubtful[~swept], plain[~swept] = finds.lone, finds.doubtful, finds.plain
    untold = _swept_untold(scene, finds)
    judge = _Judge(
        scene, calm, swept, lone == 0, [one for one in finds.things if one not in untold]
    )
    judge.lines(finds.contested, untold)
    for one in finds.contested:
        if isinstance(one.shape, Disc):
            wrong = judge.wrong_of(one)
            lone[wrong] = (scene.values - calm.base)[wrong]
            if not wrong.size:
                judge.spot(np.asarray(one.shape.centre), one)
    for reading in np.flatnonzero(doubtful | (lone > 0.0)).tolist():
        if judge.is_wrong(reading, lone[reading]):
            doubtful[reading] = False
        elif (doubtful[reading] or judge.beside(reading).size >= LEAST_BESIDE) and (
            _gives(judge.contested, scene.points[reading])
            or judge.spot(scene.points[reading], None)
        ):
            lone[reading], doubtful[reading] = 0.0, False
    judge.courses()
    judge.elsewhere()
    rises = what_is_left(scene, calm, judge.values, judge.contested, lone == 0)
    things, contested = tuple(judge.things), tuple(judge.contested)
    rises = replace(rises.shown_floor(judge.told), peaks=judge.sharp_places(finds.contested))
    return Finds(calm, things, contested, lone, doubtful, plain, rises, finds.waves)


def _swept_untold(scene: Scene, finds: Finds) -> list[Weighed]:
    """Return the lines named that sweeps cross, short ones and those that hide wet floor, maybe."""
    runs = runs_of(scene.points, scene.spacing)
    return [
        one
        for one in finds.things
        if isinstance(one.shape, Ridge)
        and not (one.told and one.shape.length >= SHORT_M)
        and crossed(scene.points, runs, LineString(one.shape.ends))
    ]


def _gives(found: Sequence[Weighed], place: Array) -> bool:
    """Whether some find gives a place (2,) a share of its strength."""
    return any(one.shape.rise(place[None])[0] > CROSSED for one in found)


class _Judge:
    """Reads the profiles of what sweeps cross; what is a thing is taken out of the readings."""

    def __init__(
        self, scene: Scene, calm: CalmFloor, swept: Mask, used: Mask, things: list[Weighed]
    ) -> None:
        self.scene, self.calm, self.swept, self.used = scene, calm, swept, used
        self.things, self.contested = things, list[Weighed]()
        self.values = scene.values.copy()
        for one in things:
            self.values -= one.strength * one.shape.rise(scene.points)
        self.runs = runs_of(scene.points, scene.spacing)
        self.told = np.zeros(len(swept), dtype=bool)
        self.peaks: list[Array] = []

    def lines(self, found: tuple[Weighed, ...], untold: list[Weighed]) -> None:
        """Settle lines, the likeliest first; what the grid named and is not told is never floor."""
        waiting = sorted(
            (one for one in (*found, *untold) if isinstance(one.shape, Ridge)),
            key=lambda one: -one.log_odds,
        )
        for place, one in enumerate(waiting):
            assert isinstance(one.shape, Ridge)
            profiles = self._across(one.shape)
            if not profiles:
                (self._keep if one in untold else self.contested.append)(one)
            elif not self._covered(one.shape) and self._narrow(profiles):
                others = self.contested + waiting[place + 1 :]
                self._line(one, profiles, others)
            elif one in untold and not self._covered(one.shape):
                self.contested.append(one)

    def spot(self, place: Array, known: Weighed | None) -> bool:
        """Settle what stands at a place (2,); False where no sweep tells of it."""
        profiles = self._telling(place, self.runs)
        if self._followed(place, profiles) and not self._explained(place):
            self.contested += [] if known is None else [known]
            return False
        self._tell(place)
        if self._explained(place):
            return True
        sharp, narrow = self._narrow(profiles, SHARP), self._narrow(profiles)
        if profiles and not narrow and not crossed_ways(self._high(profiles)):
            return True
        best = narrow or self._high(profiles)
        spot = self._spot(best[0].peak) if best else known
        if spot is None:
            return False
        compact = self._narrow(profiles, SHARP, COMPACT)
        small = not isinstance(spot.shape, Disc) or spot.shape.radius <= WIDEST_THING_M
        # chords of a small wet patch may look compact: then another is broad, or wet floor likelier
        broad = [one for one in self._high(profiles) if one not in compact]
        if small and not broad and spot.log_odds > 0.0 and at_one_place(compact):
            self._name(spot)
        elif not (sharp and self._runs_through(sharp[0], profiles)):
            self.contested.append(spot)
            self.peaks += [one.peak for one in sharp[:1]]
        return True

    def _followed(self, place: Array, profiles: list[Profile]) -> bool:
        """Whether all sweeps at a high place went one way and never fell: along a thing, maybe."""
        near = self.scene.tree.query_ball_point(place, CROSSES_M)
        over = (self.values - self.calm.base)[near]
        high = bool(over.size) and over.max() > STANDS_OUT * self.calm.sd
        return high and bool(profiles) and not self._narrow(profiles) and not crossed_ways(profiles)

    def courses(self) -> None:
        """Look for lines through the sharp peaks of spots that stay open, three sweeps on each."""
        peaks = np.array(self.peaks).reshape(-1, 2)
        for first, last in combinations(peaks, 2):
            apart = np.hypot(*(last - first))
            if not NEXT_M[0] <= apart <= max(NEXT_M[1], NEXT_SPACINGS * self.scene.spacing):
                continue
            if not (self._explained(first) or self._explained(last)):
                self._course(Ridge.of(first, last, self.scene.width))

    def _course(self, ridge: Ridge) -> None:
        scene, calm = self.scene, self.calm
        used = self.used.copy()
        used[scene.tree.query_ball_point(ridge.ends[0], MEMBERS_M)] = True
        used[scene.tree.query_ball_point(ridge.ends[1], MEMBERS_M)] = True
        found = weigh_line(scene, calm, self.values, used, ridge, [])
        # three sharp sweeps in a row outweigh that an even line fits none of them well
        if found is None or not is_sure(found) or found.log_odds <= SWEPT_NEEDS:
            return
        assert isinstance(found.shape, Ridge)
        profiles = self._across(found.shape)
        sharp = self._narrow(profiles, SHARP)
        most = len(sharp) >= max(THREE, MOST * len(profiles)) and not self._slow(sharp, found)
        if most and found.shape.length >= SHORT_M:
            self._name(with_visits(scene, calm, found))
            self.contested = [
                one for one in self.contested if not self._explained(np.array(one.shape.centre))
            ]

    def sharp_places(self, found_on_grid: tuple[Weighed, ...]) -> Array:
        """Places (k, 2) where sweeps peak sharply, and all along the lines they were read across.

        What the grid leaves contested may be two: a pipe beside wet floor.
        """
        # it loads SciPy's statistics, which a map without sweeps has no use for
        from scipy.signal import find_peaks

        scene, found = self.scene, [np.empty((0, 2))]
        lines = [one.shape for one in found_on_grid if isinstance(one.shape, Ridge)]
        for run in self.runs:
            high = find_peaks(scene.values[run], prominence=SHARP * self.calm.noise_sd)[0]
            for peak in scene.points[run[high]]:
                found.append(peak[None])
                for line in lines:
                    along, across = (float(one[0]) for one in line.frame(peak[None]))
                    if abs(across) <= ACROSS_M and abs(along) <= line.extent + PAST_M:
                        aside = across * np.array([-line.way[1], line.way[0]])
                        share = np.linspace(0.0, 1.0, 2 + int(line.length / STEP_M))[:, None]
                        found.append(line.ends[0] + aside + share * np.diff(line.ends, axis=0))
        return np.concatenate(found)

    def is_wrong(self, reading: int, off: float) -> bool:
        """Whether the sweeps beside a single reading do not see what it stands off its neighbours.

        ``off`` is how far [reading].
        """
        beside = self.beside(reading)
        if beside.size < LEAST_BESIDE:
            return False
        over = self.scene.values[beside] - (self.scene.values[reading] - off)
        return bool((np.sign(off) * over <= AGREES * abs(off)).all())

    def beside(self, reading: int) -> Index:
        """Return the readings of sweeps beside a single reading."""
        near = self.scene.tree.query_ball_point(self.scene.points[reading], BESIDE_M)
        return np.array([k for k in near if self.swept[k]], dtype=np.intp)

    def wrong_of(self, spot: Weighed) -> Index:
        """Return the one reading of the grid a spot rests on, if no sweep sees what it says."""
        rise = np.where(self.swept, 0.0, spot.shape.rise(self.scene.points))
        rests = np.flatnonzero(rise >= AGREES)
        wrong = rests.size == 1 and self.is_wrong(int(rests[0]), spot.strength * rise[rests[0]])
        return rests if wrong else rests[:0]

    def elsewhere(self) -> None:
        """Weigh what rises in sweeps that cross nothing known."""
        over = self.values - self.calm.base
        for run in self.runs:
            places = self.scene.points[run]
            known = bool(self.told[run].any())
            for one in self.things + self.contested:
                known = known or bool((one.shape.rise(places) > CROSSED).any())
            peak = run[int(over[run].argmax())]
            if not known and over[peak] > STANDS_OUT * self.calm.sd:
                self.spot(self.scene.points[peak], None)

    def _across(self, ridge: Ridge) -> list[Profile]:
        """Return the profiles of the sweeps that cross a line."""
        points, found = self.scene.points, list[Profile]()
        for run in self.runs:
            along, across = ridge.frame(points[run])
            nearest = int(np.abs(across).argmin())
            past = abs(along[nearest]) > ridge.extent + PAST_M
            if not past and abs(across[nearest]) <= CROSSES_M:
                self.told[run[np.abs(across) <= ACROSS_M]] = True
                found += self._telling(points[run[nearest]], [run])
        return [one for one in found if one.across(ridge.way)]

    def _telling(self, place: Array, runs: list[Index]) -> list[Profile]:
        """Return the profiles at a place but for narrow ones that did not see both hands."""
        found = profiles_at(self.scene.points, self.values, runs, place)
        narrow = self._narrow(found)
        return [one for one in found if one.seen or one not in narrow]

    def _narrow(
        self, profiles: list[Profile], least: float = FAINT, wide: float = WIDE
    ) -> list[Profile]:
        """Return those that rise by so many noise sd, no wider than so many usual widths."""
        widest = FULL_WIDTH * wide * self.scene.width
        least *= self.calm.noise_sd
        found = [one for one in profiles if one.contrast >= least and one.width <= widest]
        return sorted(found, key=lambda one: -one.contrast)

    def _high(self, profiles: list[Profile]) -> list[Profile]:
        """Return those that rise sharply over both hands, however wide, the highest first."""
        least = SHARP * self.calm.noise_sd
        found = [one for one in profiles if one.seen and one.contrast >= least]
        return sorted(found, key=lambda one: -one.contrast)

    def _line(self, one: Weighed, profiles: list[Profile], others: list[Weighed]) -> None:
        """File a line that some sweep shows sharply: a thing if all do, else contested."""
        assert isinstance(one.shape, Ridge)
        weighed = weigh_line(self.scene, self.calm, self.values, self.used, one.shape, others)
        found = one if weighed is None else with_visits(self.scene, self.calm, weighed)
        sharp, narrow = len(self._narrow(profiles, SHARP)), len(self._narrow(profiles))
        fading = sharp > 0 and narrow == len(profiles) and found.log_odds > FADING_NEEDS
        most = sharp >= MOST * len(profiles) or fading
        long = isinstance(found.shape, Ridge) and found.shape.length >= SHORT_M
        need = SWEPT_NEEDS if long else needed(self.scene, self.calm, found)
        slow = self._slow(self._narrow(profiles, SHARP), found)
        likely = most and not slow and is_sure(found) and found.log_odds > need
        if likely and not self._half_read(profiles, found):
            self._name(found)
        elif likely and not one.told:
            self._keep(one)
        else:
            self.contested.append(one)

    def _slow(self, sharp: list[Profile], found: Weighed) -> bool:
        """Whether sweeps show something wider than a thing where wet floor may be at stake."""
        level = -np.inf if self.scene.level is None else self.scene.level
        over = found.shape.rise(self.scene.points) > CROSSED
        if not sharp or not (self.scene.values[over] > level).any():
            return False
        widest = FULL_WIDTH * SLOW * self.scene.width
        # a sweep that ends on top of a band falls little on that hand, and looks narrow
        whole = [one for one in sharp if one.contrast >= AGREES * sharp[0].contrast]
        low = sharp[0].contrast < AGREES * found.strength
        return low or bool(np.median([one.width for one in whole]) > widest)

    def _half_read(self, profiles: list[Profile], found: Weighed) -> bool:
        """Whether one sweep alone speaks of a long line where wet floor may be at stake."""
        assert isinstance(found.shape, Ridge)
        if len(profiles) > 1 or found.shape.length < LONG_M:
            return False
        hit = disturbed(self.scene, self.calm, found, 2.0)
        return at_stake(self.scene, hit[~self.swept[hit]]).size >= SEVERAL

    def _spot(self, place: Array) -> Weighed | None:
        """Weigh a compact thing at a place (2,)."""
        members = np.array(
            sorted(self.scene.tree.query_ball_point(place, MEMBERS_M)), dtype=np.intp
        )
        used = self.used.copy()
        used[members] = True
        over = self.values - self.calm.base
        found = weigh_spot(self.scene, self.calm, self.values, used, members, over)
        return None if found is None else with_visits(self.scene, self.calm, found)

    def _runs_through(self, sharp: Profile, profiles: list[Profile]) -> bool:
        """Whether a line runs through a place that one sweep crosses and another follows."""
        along = [
            one
            for one in profiles
            if one.across(sharp.way) and max(one.falls) <= FLAT * sharp.contrast
        ]
        if not along:
            return False
        half = 0.5 * STUB_M * along[0].way
        stub = Ridge.of(sharp.peak - half, sharp.peak + half, self.scene.width)
        used = self.used.copy()
        used[self.scene.tree.query_ball_point(sharp.peak, MEMBERS_M)] = True
        found = weigh_line(self.scene, self.calm, self.values, used, stub, [])
        if found is None or found.shape.rise(sharp.peak[None])[0] < 0.5:
            return False
        assert isinstance(found.shape, Ridge)
        across = self._narrow(self._across(found.shape), SHARP)
        if found.log_odds <= needed(self.scene, self.calm, found) or self._slow(across, found):
            return False
        self._name(with_visits(self.scene, self.calm, found))
        return True

    def _tell(self, place: Array) -> None:
        self.told[self.scene.tree.query_ball_point(place, ACROSS_M)] = True

    def _explained(self, place: Array) -> bool:
        """Whether a thing found since explains what stands at a place."""
        return _gives(self.things, place)

    def _covered(self, ridge: Ridge) -> bool:
        """Whether things found since explain most of a line."""
        course = ridge.ends[0] + np.linspace(0, 1, COURSE)[:, None] * np.diff(ridge.ends, axis=0)
        return bool(np.mean([self._explained(place) for place in course]) > 0.5)

    def _name(self, found: Weighed) -> None:
        """File a thing that sweeps show."""
        self._keep(replace(found, log_odds=max(found.log_odds, SWEPT_ODDS)))

    def _keep(self, found: Weighed) -> None:
        """File a thing and take it out of the readings."""
        self.things.append(found)
        self.values -= found.strength * found.shape.rise(self.scene.points)
