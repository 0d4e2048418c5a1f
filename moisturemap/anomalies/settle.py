"""A candidate's course, ends and width, settled where it explains most of its window."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from moisturemap.anomalies.calm import CalmFloor
from moisturemap.anomalies.candidates import within
from moisturemap.anomalies.disc import Disc
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.rivals import Weighed, thing_evidence, weigh, width_prior
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.window import Fitted, Window, log_evidence, window_about

Array = NDArray[np.float64]
Index = NDArray[np.intp]

FEWEST, MOST = 8, 260
"""Fewest and most readings of a window; a larger one is thinned, most far from the candidate."""

SIZES_M = (0.0, 0.06, 0.12, 0.18, 0.22)
"""Half sizes tried for a long thing, added in squares to the footprint [m]."""

RADII_M = (0.0, 0.1, 0.2, 0.3)
"""Radii tried for a compact thing [m]; ``RADIUS_SPREAD_M`` is the sd of their prior."""

RADIUS_SPREAD_M = 0.2

SHIFTS = np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
SHIFTED = np.array([(a, b) for a in SHIFTS for b in SHIFTS])
END_MOVES = np.array([-2.0, -1.0, 0.0, 1.0, 2.0, 4.0, 8.0])
END_MOVED = np.array([(-a, b) for a in END_MOVES for b in END_MOVES])
"""Moves tried of the first and of the last end, across and along [steps]."""

NO_FURTHER = 1e-6
"""Log evidence against a metre more: a line ends where no reading speaks for more of it."""

TIE_M = 1e-4
"""Readings on the very rim of a window lie in it, however its coordinates are rounded [m]."""

GROWTHS, STILL = 8, 0.5
"""How often a course is looked at again in a window about it, until neither end moves by more than
this [spacings]."""


def _frame(scene: Scene) -> tuple[float, float]:
    """Reach of a window across and past the ends of a line [m]."""
    return max(0.9, 2.2 * scene.spacing), max(0.8, 1.6 * scene.spacing)


def _about_line(scene: Scene, ridge: Ridge, used: NDArray[np.bool_]) -> Index:
    across_m, past_m = _frame(scene)
    index = within(scene.tree, ridge, max(across_m, past_m))
    index = index[used[index]]
    along, across = ridge.frame(scene.points[index])
    across_m, extent = across_m + TIE_M, ridge.extent + TIE_M
    index = index[(np.abs(across) <= across_m) & (np.abs(along) <= extent + past_m)]
    if index.size <= MOST:
        return index
    _, across = ridge.frame(scene.points[index])
    near = index[np.abs(across) <= 0.45 * across_m]
    far = index[np.abs(across) > 0.45 * across_m]
    most = int(0.7 * MOST)
    if near.size > most:
        near = near[np.linspace(0, near.size - 1, most).astype(int)]
    far = np.random.default_rng(1).permutation(far)[: MOST - near.size]
    return np.sort(np.concatenate([near, far]))


def _window(
    scene: Scene,
    calm: CalmFloor,
    values: Array,
    index: Index,
    hidden: NDArray[np.bool_],
    others: list[Weighed],
) -> Window:
    points = scene.points[index]
    beside = [(other.shape.rise(points), other.strength) for other in others]
    return window_about(scene, calm, values, index, hidden, beside)


def _best(scene: Scene, window: Window, plain: Fitted, ends: Array, widths: Array) -> Ridge:
    """Return the ridge of the greatest evidence of those with some ends (k, 2, 2), widths (k,)."""
    _, information, score = plain.project(Ridge.rises(ends, widths, window.points))
    evidence = log_evidence(information, score, scene.span) + width_prior(widths, scene)
    evidence -= NO_FURTHER * np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    best = int(np.argmax(evidence))
    return Ridge.of(ends[best, 0], ends[best, 1], float(widths[best]))


def _moved(ridge: Ridge, steps: Array, way: Array) -> Array:
    """Move the ends of a ridge by steps (k, 2) along a direction (2,): (k, 2, 2)."""
    return np.asarray(ridge.ends + steps[:, :, None] * way)


def _settled(scene: Scene, window: Window, ridge: Ridge, widths: Array) -> Ridge:
    """Move both ends across and along, and widen, in ever smaller steps."""
    plain = window.fit()
    across, along = 0.6 * scene.width, 0.5 * scene.spacing
    least = max(0.8, 1.2 * scene.spacing)
    for turn in range(4):
        tried = widths if turn != 1 else np.array([ridge.width])
        normal = np.array([-ridge.way[1], ridge.way[0]])
        ends = np.repeat(_moved(ridge, across * SHIFTED, normal), tried.size, axis=0)
        ridge = _best(scene, window, plain, ends, np.tile(tried, len(SHIFTED)))
        steps = along * END_MOVED
        steps = steps[ridge.length + steps[:, 1] - steps[:, 0] > least]
        if len(steps):
            ends = _moved(ridge, steps, ridge.way)
            ridge = _best(scene, window, plain, ends, np.full(len(ends), ridge.width))
        if turn >= 1:
            across, along = 0.5 * across, 0.6 * along
    return ridge


def _line_window(
    scene: Scene,
    calm: CalmFloor,
    values: Array,
    used: NDArray[np.bool_],
    ridge: Ridge,
    others: list[Weighed],
) -> Window | None:
    index = _about_line(scene, ridge, used)
    if index.size < FEWEST:
        return None
    broad = Ridge(ridge.centre, ridge.angle, ridge.length, 1.25 * ridge.width)
    hidden = broad.rise(scene.points[index]) > 0.05
    return _window(scene, calm, values, index, hidden, others)


def weigh_line(
    scene: Scene,
    calm: CalmFloor,
    values: Array,
    used: NDArray[np.bool_],
    ridge: Ridge,
    others: list[Weighed],
) -> Weighed | None:
    """Settle a course and weigh it; None where too few readings lie about it.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Readings, what is already known to be a thing taken out.
    used : ndarray of bool, shape (n,)
        Readings that count.
    others : list of Weighed
        Candidates beside it, whose strengths are left free.
    """
    widths = np.unique(np.clip(np.hypot(scene.footprint, SIZES_M), 0.05, 0.4))
    window = _line_window(scene, calm, values, used, ridge, others)
    for _ in range(GROWTHS):
        if window is None:
            return None
        settled = _settled(scene, window, ridge, widths)
        moved = np.linalg.norm(settled.ends - ridge.ends, axis=1).max()
        ridge = settled
        window = _line_window(scene, calm, values, used, ridge, others)
        if moved <= STILL * scene.spacing:
            break
    if window is None:
        return None
    if (ridge.rise(window.points) > 0.3).sum() < 2:
        return None
    return weigh(scene, window, _likeliest(scene, window, ridge, widths))


def _likeliest(scene: Scene, window: Window, ridge: Ridge, widths: Array) -> Ridge:
    """Return the course of the width that explains its window best, all a thing may do told.

    A thin strong thing beside a row and a wider one on it fit alike until that is weighed.
    """
    tried = [ridge]
    tried += [_settled(scene, window, ridge, np.array([width])) for width in widths]
    tried = [one for one in tried if (one.rise(window.points) > 0.3).sum() >= 2]
    return max(tried, key=lambda one: thing_evidence(scene, window, one))


def weigh_spot(
    scene: Scene,
    calm: CalmFloor,
    values: Array,
    used: NDArray[np.bool_],
    members: Index,
    over: Array,
) -> Weighed | None:
    """Settle a compact place about some readings and weigh it.

    Parameters
    ----------
    members : ndarray of int
        Readings of the cluster.
    over : ndarray, shape (n,)
        How far each reading stands over its sides [reading].
    """
    weight = np.maximum(over[members], 1e-6)
    centre = (scene.points[members] * weight[:, None]).sum(axis=0) / weight.sum()
    near = scene.tree.query_ball_point(centre, max(1.2, 2.5 * scene.spacing))
    index = np.array(sorted(near), dtype=np.intp)
    index = index[used[index]]
    if index.size < 6:
        return None
    distance = np.linalg.norm(scene.points[index] - centre, axis=1)
    window = _window(scene, calm, values, index, np.isin(index, members) | (distance < 0.3), [])
    plain = window.fit()
    steps = np.linspace(-0.5, 0.5, 7) * scene.spacing
    tried = [
        Disc((float(centre[0] + x), float(centre[1] + y)), radius, scene.footprint)
        for radius in RADII_M
        for x in steps
        for y in steps
    ]
    columns = np.column_stack([one.rise(window.points) for one in tried])
    _, information, score = plain.project(columns)
    prior = np.array([-0.5 * (one.radius / RADIUS_SPREAD_M) ** 2 for one in tried])
    best = tried[int(np.argmax(log_evidence(information, score, scene.span) + prior))]
    return weigh(scene, window, best)
