"""Ranges that differ by direction, as far as the readings tell.

Method: docs/method/kriging.md, "Direction".
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.distance import cdist

from moisturemap.geostat.covariance.model import Covariance
from moisturemap.geostat.fitting.likelihood import ReadingBlocks
from moisturemap.geostat.fitting.smooth_surface import smooth_surface

Array = NDArray[np.float64]

LEAST_RATIO = 0.1
"""Shortest range across in shares of that along. Our choice: beyond, it is a drift or a step."""

CHANCE, SLAB_SD = 0.4, 0.7
"""Chance beforehand that ranges differ, and sd of each component of the log ratio if they do. Our
choice: a ratio of a half lies one sd away."""

RINGS = (0.4, 1.0)
"""Log ratios first looked at, each in eight directions; the second only if the first gains."""

WORTH_A_LOOK = 0.5
"""Log likelihood the first ring must gain for a second look."""

NEAR = 0.2
"""Distance in the plane of directions within which a place counts as looked at."""

ROUNDS, PICKS, NODES = 3, 3, 47
"""Further rounds, points looked at in each, and nodes of the surface along each axis."""

DEPTH = 30.0
"""Log likelihood below the best at which a direction no longer matters."""


@dataclass(frozen=True)
class Direction:
    """A geometric anisotropy.

    Attributes
    ----------
    ratio : float
        Range across over range along.
    angle_deg : float
        Direction of the longer range, counter-clockwise from x [degrees].
    """

    ratio: float = 1.0
    angle_deg: float = 0.0

    @classmethod
    def at(cls, place: Array) -> Direction:
        """Direction at a place of the plane (log ratio) * (cos 2 angle, sin 2 angle)."""
        ratio = max(float(np.exp(-np.hypot(*place))), LEAST_RATIO)
        angle = 0.5 * float(np.rad2deg(np.arctan2(place[1], place[0]))) % 180.0
        return cls(ratio, angle) if ratio < 1.0 else cls()


@dataclass(frozen=True)
class Directions:
    """What the readings tell of directions.

    Attributes
    ----------
    chance : float
        Probability that ranges differ by direction.
    best : Direction
        Likeliest, if they do.
    nodes, weights : ndarray, shape (m, 2) and (m,)
        Places of the plane of directions, and their probabilities if ranges differ.
    """

    chance: float
    best: Direction
    nodes: Array
    weights: Array

    def draw(self, count: int) -> list[Direction]:
        """Return directions that stand for all, by systematic resampling."""
        edges = np.cumsum(self.weights)
        chosen = np.searchsorted(edges, (np.arange(count) + 0.5) / count)
        return [Direction.at(self.nodes[min(one, len(edges) - 1)]) for one in chosen]


def directions(
    blocks: ReadingBlocks, model: Covariance, ratio: float, before: float = CHANCE
) -> Directions:
    """Weigh directions against equal ranges, mean range and noise ratio held.

    The plane of (log ratio) * (cos 2 angle, sin 2 angle) has equal ranges at its middle and no
    seam. Equal ranges keep a probability of their own; differing ones have a normal prior about
    the middle (spike and slab: Mitchell and Beauchamp, J. Am. Stat. Assoc. 83 (1988) 1023).

    Parameters
    ----------
    blocks : ReadingBlocks
        In plan coordinates.
    model : Covariance
        Likeliest with equal ranges.
    ratio : float
        Its noise over its field variance.
    before : float
        Chance beforehand that ranges differ.
    """

    def likelihood(places: Array) -> Array:
        shapes = [(one.ratio, one.angle_deg) for one in map(Direction.at, places)]
        found = blocks.profiles_bent(model.kind, model.length, ratio, shapes)
        return np.array([one.base - 0.5 * one.freedom * np.log(one.misfit) for one in found])

    middle = np.zeros((1, 2))
    looked, base = np.concatenate([middle, _ring(RINGS[0])]), likelihood(middle)
    values = np.concatenate([[0.0], likelihood(looked[1:]) - base])
    if values.max() < WORTH_A_LOOK:
        return Directions(0.0, Direction(), np.zeros((1, 2)), np.ones(1))
    for radius in RINGS[1:]:
        looked = np.concatenate([looked, _ring(radius)])
        values = np.concatenate([values, likelihood(looked[len(values) :]) - base])
    nodes, area = _plane()
    for _ in range(ROUNDS):
        further = _picked(nodes, _drawn(looked, values, nodes), looked)
        looked = np.concatenate([looked, further])
        values = np.concatenate([values, likelihood(further) - base])
    density = _drawn(looked, values, nodes) - 0.5 * (nodes**2).sum(axis=1) / SLAB_SD**2
    weights = np.exp(density - density.max())
    evidence = before * weights.sum() * area * np.exp(density.max()) / (2 * np.pi * SLAB_SD**2)
    chance = evidence / (evidence + 1.0 - before) if np.isfinite(evidence) else 1.0
    best = Direction.at(nodes[int(density.argmax())])
    return Directions(float(chance), best, nodes, weights / weights.sum())


def _ring(radius: float) -> Array:
    angle = np.arange(8) * np.pi / 4.0
    return radius * np.column_stack([np.cos(angle), np.sin(angle)])


def _plane() -> tuple[Array, float]:
    """Nodes of the plane of directions, and the area of each."""
    edge = -np.log(LEAST_RATIO)
    axis = np.linspace(-edge, edge, NODES)
    nodes = np.stack(np.meshgrid(axis, axis, indexing="ij"), axis=-1).reshape(-1, 2)
    return nodes[np.hypot(*nodes.T) <= edge], float((axis[1] - axis[0]) ** 2)


def _drawn(looked: Array, values: Array, nodes: Array) -> Array:
    """Smooth surface through the points looked at, at the nodes."""
    clipped = np.maximum(values, values.max() - DEPTH)
    drawn = smooth_surface(looked, clipped, nodes)
    return np.asarray(np.minimum(drawn, values.max() + 2.0))


def _picked(nodes: Array, density: Array, looked: Array) -> Array:
    """Nodes worth a look: high, and not yet looked at."""
    apart = cdist(nodes, looked).min(axis=1)
    picked = []
    for _ in range(PICKS):
        worth = density + 3.0 * np.log(np.clip(apart / NEAR, 1e-6, 1.0))
        one = int(worth.argmax())
        picked.append(nodes[one])
        apart = np.minimum(apart, cdist(nodes, nodes[one : one + 1])[:, 0])
    return np.array(picked)
