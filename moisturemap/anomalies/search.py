"""The search of one domain: calm floor, candidates, rivals weighed, decision."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.anomalies.calm import CalmFloor, fit_calm
from moisturemap.anomalies.candidates import line_candidates, spot_candidates, within
from moisturemap.anomalies.decision import (
    FINE_M,
    SEVERAL,
    at_stake,
    disturbed,
    standing_of,
    with_visits,
)
from moisturemap.anomalies.disc import Disc
from moisturemap.anomalies.edge import on_edge
from moisturemap.anomalies.finds import Finds
from moisturemap.anomalies.lone import Lone, find_lone
from moisturemap.anomalies.narrow_band import BAND_FROM, log_ratio_to_band
from moisturemap.anomalies.pattern import find_waves
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.rises import what_is_left
from moisturemap.anomalies.rivals import Weighed
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.settle import weigh_line, weigh_spot
from moisturemap.anomalies.settle_swept import settled
from moisturemap.anomalies.sides import Contrasts, contrasts
from moisturemap.anomalies.swept import of_sweeps

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

PASSES = 4
"""How often lines are looked for, what was found before taken out."""

STRANGE, VERY_STRANGE = 4.5, 10.0
"""Standardised residual from which a reading stands alone; from the second on it is taken out
before lines are looked for, or it would bend them."""

MIDDLING_M, UNMISTAKABLE = 0.6, 12.0
"""Above ``FINE_M`` one high reading may be a wet spot; up to this spacing [m] not one so many sd of
calm floor high, for its flank would show on the next readings."""

SAME = 0.6
"""Two candidates whose profiles agree this much (cosine) are one."""

LEFT_OVER = 0.3
"""A line of which more than half lies where a thing already found gives this share of its strength
is what that thing left behind."""

GAP, ASIDE, HELD = 2.5, 1.5, 0.4
"""A single reading is the next of a line if it lies so far on at most [spacings], so far aside
[widths], and as high as this share of what the line gives there, or more."""

AROUND = 5
"""A reading and its nearest neighbours, which a small wet spot lifts too."""

CLOSE = 1.6
"""Readings nearer than this do not stand alone [spacings]."""

PLAIN = 4.0
"""Readings within this of dry floor may show a regular pattern [sd of calm floor]."""


@dataclass
class _State:
    """What is known while lines are looked for."""

    values: Array
    free: Mask
    things: list[Weighed] = field(default_factory=list)
    contested: list[Weighed] = field(default_factory=list)
    over: Contrasts | None = None
    first: Contrasts | None = None


def search(scene: Scene) -> Finds:
    """Search the readings of one domain: the grid first, then what the sweeps say of it.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    Finds
    """
    swept = of_sweeps(scene.points, scene.spacing)
    if not swept.any():
        return _search(scene)
    grid = scene.part(~swept)
    return settled(scene, swept, grid, _search(grid))


def _search(scene: Scene) -> Finds:
    calm = fit_calm(scene)
    state = _State(scene.values.copy(), np.ones(len(scene.values), dtype=bool))
    alone = Lone(np.zeros(len(scene.values)))
    if scene.spacing < MIDDLING_M:
        alone = find_lone(scene, calm, state.values, state.free, VERY_STRANGE, alone)
    used = alone.off == 0
    _find_lines(scene, calm, state, used)
    _run_on(scene, calm, state, alone.off)
    hidden = np.zeros(len(scene.values), dtype=bool)
    for one in state.contested:
        hidden[disturbed(scene, calm, one, 2.0)] = True
    lone = find_lone(scene, calm, state.values, ~hidden, STRANGE, alone).off
    _find_spots(scene, calm, state, lone == 0, ~hidden)
    plain = (lone == 0) & ~hidden & (np.abs(state.values - calm.base) <= PLAIN * calm.sd)
    waves = find_waves(scene, calm, state.values, plain)
    doubtful = _doubtful(scene, calm, lone)
    _doubt_spots(scene, state, doubtful)
    _doubt_lines(scene, calm, state)
    over = state.over, state.first
    rises = what_is_left(scene, calm, state.values, state.contested, lone == 0, over)
    things, contested = tuple(state.things), tuple(state.contested)
    return Finds(calm, things, contested, lone, doubtful, plain, rises, waves)


def _find_lines(scene: Scene, calm: CalmFloor, state: _State, used: Mask) -> None:
    for _ in range(PASSES):
        state.over = contrasts(scene, calm, state.values, used, state.over)
        state.first = state.first or state.over
        new = []
        for ridge in line_candidates(scene, state.over, state.free & used):
            weighed = weigh_line(scene, calm, state.values, used, ridge, [])
            new += _filed(scene, calm, state, weighed)
        new += _again(scene, calm, state, used)
        if not new:
            break
        _drop_left_over(scene, calm, state)


def _run_on(scene: Scene, calm: CalmFloor, state: _State, lone: Array) -> None:
    """Give things the single readings that lie on their courses, which were left out till now."""
    for place, one in enumerate(state.things):
        high = np.flatnonzero(lone > 0)
        assert isinstance(one.shape, Ridge)
        along, across = one.shape.frame(scene.points[high])
        held = HELD * one.strength * np.exp(-0.5 * (across / one.shape.width) ** 2)
        on = np.abs(across) <= ASIDE * one.shape.width
        on &= scene.values[high] - calm.base[high] >= held
        first, last, taken = -one.shape.extent, one.shape.extent, []
        for k in np.flatnonzero(on)[np.argsort(np.abs(along[on]), kind="stable")]:
            if first - GAP * scene.spacing <= along[k] <= last + GAP * scene.spacing:
                first, last = min(first, along[k]), max(last, along[k])
                taken.append(high[k])
        lone[taken] = 0.0
        if last - first > one.shape.length + 1e-9:
            centre, way = np.asarray(one.shape.centre), one.shape.way
            longer = Ridge.of(centre + first * way, centre + last * way, one.shape.width)
            added = longer.rise(scene.points) - one.shape.rise(scene.points)
            state.values -= one.strength * added
            state.things[place] = replace(one, shape=longer)


def _filed(scene: Scene, calm: CalmFloor, state: _State, weighed: Weighed | None) -> list[Weighed]:
    """Decide about a line; a thing is taken out of the readings and returned."""
    if weighed is None:
        return []
    weighed = with_visits(scene, calm, weighed)
    left_over = any(_covers(scene, one, weighed) for one in state.things)
    standing = "floor" if left_over else standing_of(scene, calm, weighed)
    if standing == "thing":
        state.things.append(weighed)
        state.values -= weighed.strength * weighed.shape.rise(scene.points)
        return [weighed]
    if standing == "contested":
        state.contested.append(weighed)
        state.free[disturbed(scene, calm, weighed, 2.0)] = False
        return []
    assert isinstance(weighed.shape, Ridge)
    near = within(scene.tree, weighed.shape, 2 * weighed.shape.width)
    state.free[near[weighed.shape.rise(scene.points[near]) > 0.5]] = False
    return []


def _again(scene: Scene, calm: CalmFloor, state: _State, used: Mask) -> list[Weighed]:
    """Weigh contested lines once more, each beside all others."""
    waiting = sorted(state.contested, key=lambda one: -one.log_odds)
    state.contested = []
    apart: list[Weighed] = []
    near = _neighbours(waiting)
    kept: list[int] = []
    for place, one in enumerate(waiting):
        if all(not _same(scene, one, waiting[k]) for k in near[place] if k in kept):
            kept.append(place)
            apart.append(one)
    new: list[Weighed] = []
    for place, one in zip(kept, apart, strict=True):
        others = [waiting[k] for k in near[place] if k in kept]
        assert isinstance(one.shape, Ridge)
        weighed = weigh_line(scene, calm, state.values, used, one.shape, others)
        if weighed is None:
            state.contested.append(one)
        else:
            new += _filed(scene, calm, state, weighed)
    return new


def _neighbours(found: list[Weighed]) -> list[list[int]]:
    """Of each candidate, the others near enough to share readings."""
    if not found:
        return []
    centres = np.array([one.shape.centre for one in found])
    reach = np.array([one.shape.extent for one in found]) + 1.5
    tree = cKDTree(centres)
    near = tree.query_ball_point(centres, reach + reach.max())
    return [
        [
            k
            for k in places
            if k != i and np.hypot(*(centres[k] - centres[i])) <= reach[i] + reach[k]
        ]
        for i, places in enumerate(near)
    ]


def _same(scene: Scene, one: Weighed, other: Weighed) -> bool:
    assert isinstance(one.shape, Ridge)
    assert isinstance(other.shape, Ridge)
    index = np.union1d(
        within(scene.tree, one.shape, 3 * one.shape.width),
        within(scene.tree, other.shape, 3 * other.shape.width),
    )
    a, b = (which.shape.rise(scene.points[index]) for which in (one, other))
    return bool(a @ b >= SAME * np.sqrt((a @ a) * (b @ b) + 1e-12))


def _drop_left_over(scene: Scene, calm: CalmFloor, state: _State) -> None:
    """Drop contested lines along a thing since found; what runs on beyond it is looked at again."""
    kept = []
    for one in state.contested:
        if any(_covers(scene, it, one) for it in state.things):
            state.free[disturbed(scene, calm, one, 2.0)] = True
        else:
            kept.append(one)
    state.contested = kept


def _covers(scene: Scene, thing: Weighed, other: Weighed) -> bool:
    """Whether a line is what was left of a thing already taken out along the same course."""
    assert isinstance(other.shape, Ridge)
    assert isinstance(thing.shape, Ridge)
    apart = np.hypot(*np.subtract(thing.shape.centre, other.shape.centre))
    if apart > thing.shape.reach + other.shape.reach:
        return False
    index = within(scene.tree, other.shape, 2 * other.shape.width)
    mine = other.shape.rise(scene.points[index]) ** 2
    under = thing.shape.rise(scene.points[index]) > LEFT_OVER
    return bool(mine[under].sum() > 0.5 * mine.sum())


def _find_spots(scene: Scene, calm: CalmFloor, state: _State, used: Mask, free: Mask) -> None:
    state.over = contrasts(scene, calm, state.values, used, state.over)
    over = state.over.greatest
    for members in spot_candidates(scene, state.over, free & used):
        weighed = weigh_spot(scene, calm, state.values, used, members, over)
        if weighed is None:
            continue
        weighed = with_visits(scene, calm, weighed)
        standing = standing_of(scene, calm, weighed)
        if standing == "thing":
            state.things.append(weighed)
        elif standing == "contested":
            state.contested.append(weighed)


def _doubt_spots(scene: Scene, state: _State, doubtful: Mask) -> None:
    """Leave open the spots with a doubtful reading beside them: both may be of one wet place."""
    if not doubtful.any():
        return
    tree, reach = cKDTree(scene.points[doubtful]), CLOSE * scene.spacing
    for one in [one for one in state.things if isinstance(one.shape, Disc)]:
        if tree.query(np.asarray(one.shape.centre))[0] < reach:
            state.things.remove(one)
            state.contested.append(one)


def _doubt_lines(scene: Scene, calm: CalmFloor, state: _State) -> None:
    """Leave open the lines that read as a narrow band of wet floor; what hides some is not told."""
    for place, one in reversed(list(enumerate(state.things))):
        if not isinstance(one.shape, Ridge):
            continue
        if at_stake(scene, disturbed(scene, calm, one, 2.0)).size < SEVERAL:
            continue
        values = state.values + one.strength * one.shape.rise(scene.points)
        if log_ratio_to_band(scene, calm, values, one.shape) <= BAND_FROM:
            state.contested.append(state.things.pop(place))
        else:
            state.things[place] = replace(one, told=False)


def _doubtful(scene: Scene, calm: CalmFloor, lone: Array) -> Mask:
    """Which single readings may be wet floor.

    High ones at a coarse spacing, side by side, above the wet level at a wall or a joint, or where
    a lower one was set aside.
    """
    high = lone > 0
    if not high.any():
        return high
    places = scene.points[high]
    count = cKDTree(places).query_ball_point(places, CLOSE * scene.spacing, return_length=True)
    sharp = (lone[high] > UNMISTAKABLE * calm.sd) & (scene.spacing < MIDDLING_M)
    sure = (scene.spacing < FINE_M) | sharp | (scene.values[high] >= scene.top)
    wet = np.ones(len(places), dtype=bool)
    if scene.level is not None:
        wet = scene.values[high] > scene.level
    # the flank of a small wet spot: no neighbour is as wet, yet some stands over dry floor
    near = np.asarray(scene.tree.query(places, k=min(AROUND, len(scene.values)))[1])
    beside = scene.values[near[:, 1:]].max(axis=1)
    flank = beside - calm.base[high] > PLAIN * calm.sd
    if scene.level is not None:
        flank &= beside <= 0.5 * (scene.level + scene.values[high])
    doubtful = high.copy()
    doubtful[high] = ~((count == 1) & sure) | (wet & (on_edge(scene, places) | flank))
    if scene.disputed is not None:
        doubtful |= high & scene.disputed
    return doubtful
