"""Find the shapes that disturb readings, the strongest first.

Stagewise detection with joint estimation, as Chen & Liu (J. Am. Stat. Assoc. 88 (1993) 284) do for
outliers of time series: the strongest shape enters the mean as a column of the drift, P and every
score are brought up to date, and the search goes on in what is left. A shape is accepted when it
still stands against a broader rival in the same place (a wide ridge, a slope, a step) and against
the local roughness of the floor; otherwise the broad rival enters the mean as wet floor and nothing
is flagged.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from scipy.special import erf

from moisturemap.anomalies.precision import Precision
from moisturemap.anomalies.templates import DISC, POINT, SEGMENT, Templates, broadest, disc_weights

Array = NDArray[np.float64]

RIVAL_WIDTH = 3.0
"""A rival is this many times wider than the shape it stands against."""

PARTIAL_SHARE = 0.75
"""Share of the threshold the score must keep beside its rivals."""

TOO_BROAD = 1.5
"""A broad shape that would fit better still when wider by this factor is wet floor, not the
footprint of a scanner."""

DIP_SHARE = 0.8
"""A dip of several readings must be this much clearer than a rise: few things cause one, while the
foot of a wet zone looks like one."""

NEGLIGIBLE = 0.01
"""Weights of broad columns below this are cut."""

GROWN_FROM = 0.1
"""Readings under a disc from this weight on are looked at one by one."""

STANDS_OUT = 1.5
"""Standard errors a reading under a disc must stand out by to belong to it."""

LOCAL_RADIUS = 4.5
"""Radius in which the roughness of the floor about a shape is judged [spacings]."""


@dataclass
class Search:
    """What is left of the readings as shapes enter the mean.

    Attributes
    ----------
    residual : ndarray, shape (n,)
        P z with the entered columns taken out.
    diagonal : ndarray, shape (n,)
        Diagonal of that P.
    scores, norms : ndarray, shape (m,)
        l'Pz and l'Pl of each template.
    tolerance : ndarray, shape (n,)
        Local roughness already met, 1 where none.
    """

    precision: Precision
    bank: Templates
    points: Array
    spacing: float
    residual: Array
    diagonal: Array
    scores: Array
    norms: Array
    tolerance: Array
    start_norms: Array = field(init=False)

    def __post_init__(self) -> None:
        self.start_norms = self.norms.copy()
        sizes = np.asarray(abs(self.bank.weights).sum(axis=1)).ravel()
        self._shares = self.bank.weights.multiply(1.0 / sizes[:, None]).tocsr()
        self._rough = np.ones(len(sizes))
        self._by_reading = self.bank.weights.tocsc()
        self._tree = cKDTree(self.points)
        self._entered = np.zeros((len(self.points), 32))
        self._entered_norms = np.zeros(0)

    def images(self, columns: Array) -> Array:
        """P l for columns (n, k), with the entered columns taken out."""
        near = np.flatnonzero(columns.any(axis=1))
        part = columns[near]
        found = self.precision.of(near, part)
        count = self._entered_norms.size
        if count:
            entered = self._entered[:, :count]
            found = found - entered @ ((entered[near].T @ part) / self._entered_norms[:, None])
        return np.asarray(found)

    def image(self, column: Array) -> Array:
        """P l for one column (n,), with the entered columns taken out."""
        return np.asarray(self.images(column[:, None])[:, 0])

    def enter(self, column: Array) -> None:
        """Enter a column into the mean and bring everything up to date."""
        image = self.image(column)
        norm = float(column @ image)
        if norm <= 1e-8 * float(column @ self.precision.times(column)):
            return
        strength = float(column @ self.residual) / norm
        across = self._across(image)
        self.scores -= across * strength
        self.norms = np.maximum(self.norms - across**2 / norm, 0.0)
        self.residual = self.residual - image * strength
        self.diagonal = np.maximum(self.diagonal - image**2 / norm, 1e-300)
        count = self._entered_norms.size
        if count == self._entered.shape[1]:
            self._entered = np.column_stack([self._entered, np.zeros_like(self._entered)])
        self._entered[:, count] = image
        self._entered_norms = np.append(self._entered_norms, norm)

    def _across(self, image: Array) -> Array:
        """Product of every template with an image, through the readings it reaches."""
        live = np.flatnonzero(np.abs(image) > 1e-6 * np.abs(image).max())
        if live.size > 0.4 * image.size:
            return np.asarray(self.bank.weights @ image)
        return np.asarray(self._by_reading[:, live] @ image[live])

    def roughen(self, readings: NDArray[np.intp], rough: float) -> None:
        """Remember that the floor is rough at some readings."""
        self.tolerance[readings] = np.maximum(self.tolerance[readings] * 1.1, rough)
        self._rough = self._shares @ self.tolerance

    def standing(self) -> Array:
        """Score of each template over the local roughness, signed; 0 where explained away."""
        alive = self.norms > 0.08 * self.start_norms
        score = np.where(alive, self.scores / np.sqrt(np.where(alive, self.norms, 1.0)), 0.0)
        return np.asarray(score / self._rough)

    def ranked(self, standing: Array) -> Array:
        """Scores to choose by: rises only for segments, dips of discs at a discount."""
        dips = np.array([1.0, DIP_SHARE, 0.0])[self.bank.family]
        return np.asarray(np.where(standing > 0, standing, -standing * dips))

    def around(self, centre: Array, radius: float) -> NDArray[np.intp]:
        """Return readings within a radius [m] of a place."""
        return np.asarray(self._tree.query_ball_point(centre, radius), dtype=np.intp)


def rivals(points: Array, bank: Templates, index: int, spacing: float) -> Array:
    """Broad columns (n, 3) a shape stands against: ridge, slope and step, or disc and tilt."""
    offset = points - bank.centre[index]
    if bank.family[index] != SEGMENT:
        width = RIVAL_WIDTH * max(bank.width[index], 0.6 * spacing)
        wide = np.exp(-0.5 * (offset**2).sum(axis=1) / width**2)
        wide[wide < NEGLIGIBLE] = 0.0
        return np.column_stack([wide, offset[:, 0] * wide, offset[:, 1] * wide])
    angle, width = bank.angle[index], RIVAL_WIDTH * bank.width[index]
    along = offset @ (np.cos(angle), np.sin(angle))
    across = offset @ (-np.sin(angle), np.cos(angle))
    past = np.maximum(np.abs(along) - bank.length[index] / 2, 0)
    taper = np.exp(-0.5 * (past / bank.width[index]) ** 2)
    wide = taper * np.exp(-0.5 * (across / width) ** 2)
    window = taper * np.exp(-0.5 * (across / (2 * width)) ** 2)
    wide[wide < NEGLIGIBLE] = 0.0
    window[window < NEGLIGIBLE] = 0.0
    step = window * erf(across / (0.5 * width))
    return np.column_stack([wide, across / width * wide, step])


def partial_score(search: Search, column: Array, beside: Array) -> float:
    """Score of a column with other columns fitted beside it."""
    every = np.column_stack([column, beside])
    images = search.images(every)
    gram = every.T @ images
    right = every.T @ search.residual
    inner = gram[1:, 1:] + 1e-9 * np.trace(gram[1:, 1:]) * np.eye(len(gram) - 1)
    solved = np.linalg.solve(inner, np.column_stack([gram[1:, 0], right[1:]]))
    norm = gram[0, 0] - gram[0, 1:] @ solved[:, 0]
    score = right[0] - gram[0, 1:] @ solved[:, 1]
    if norm <= 0.02 * gram[0, 0]:
        return 0.0
    return float(score / np.sqrt(norm))


def roughness(search: Search, column: Array, index: int) -> float:
    """Robust scale of the standardised residuals about a shape, once the shape is taken out."""
    bank = search.bank
    radius = max(LOCAL_RADIUS * search.spacing, bank.length[index] / 2 + 2 * search.spacing)
    near = search.around(bank.centre[index], radius)
    near = near[np.abs(column[near]) < 0.05]
    if near.size < 8:
        return 1.0
    image = search.image(column)
    norm = float(column @ image)
    left = search.residual - image * (float(column @ search.residual) / norm)
    spread = np.maximum(search.diagonal - image**2 / norm, 1e-300)
    size = np.abs(left[near]) / np.sqrt(spread[near])
    return max(1.0, float(np.quantile(size, 0.7)) / 1.0364)


def broad(search: Search, column: Array, index: int) -> bool:
    """Whether a wide disc would fit better still when wider: wet floor rather than metal."""
    bank = search.bank
    if bank.family[index] != DISC or bank.width[index] < broadest(search.spacing):
        return False
    wider = disc_weights(search.points, bank.centre[index], TOO_BROAD * bank.width[index])
    gain = float(column @ search.residual) ** 2 / float(column @ search.image(column))
    return float(wider @ search.residual) ** 2 > gain * float(wider @ search.image(wider))


def grown(search: Search, index: int) -> Array:
    """Shape a disc after the readings themselves: the rise of each when all are left out.

    The joint leave-out residuals of the readings under a disc are P_GG^-1 (P z)_G; those that
    point the disc's way and stand out make the column (n,), scaled to 1 at its greatest.
    """
    weight = search.bank.weights[index].toarray().ravel()
    if search.bank.family[index] == POINT:
        return np.asarray(weight)
    group = np.flatnonzero(weight >= GROWN_FROM)
    units = np.zeros((len(weight), group.size))
    units[group, np.arange(group.size)] = 1.0
    images = search.images(units)
    inverse = np.linalg.pinv(images[group], hermitian=True)
    rise = inverse @ search.residual[group]
    spread = np.sqrt(np.maximum(np.diagonal(inverse), 1e-300))
    sign = np.sign(float(weight @ search.residual))
    kept = (sign * rise > 0.15 * np.abs(rise).max()) & (np.abs(rise) > STANDS_OUT * spread)
    if not kept.any():
        return np.asarray(weight)
    column = np.zeros(len(weight))
    column[group[kept]] = rise[kept] / rise[kept][np.argmax(np.abs(rise[kept]))]
    return column


def pursue(search: Search, threshold: float, most: int) -> tuple[list[int], Array, Array]:
    """Accept shapes one by one, the strongest first.

    Returns
    -------
    list of int
        The accepted templates.
    ndarray, shape (n, k)
        Their columns.
    ndarray, shape (n, j)
        Broad columns that entered the mean as wet floor.
    """
    accepted: list[int] = []
    columns = [np.zeros((len(search.points), 0))]
    refused: list[int] = []
    wet = [np.zeros((len(search.points), 0))]
    while len(accepted) + len(refused) < most:
        standing = search.standing()
        standing = search.ranked(standing)
        index = int(np.argmax(standing))
        if standing[index] < threshold:
            break
        column = search.bank.weights[index].toarray().ravel()
        beside = rivals(search.points, search.bank, index, search.spacing)
        rough = roughness(search, column, index)
        alone = search.scores[index] / np.sqrt(search.norms[index]) / rough
        partial = partial_score(search, column, beside) / rough
        stands = abs(alone) >= threshold and abs(partial) >= PARTIAL_SHARE * threshold
        if stands and not broad(search, column, index):
            if search.bank.family[index] != SEGMENT:
                column = grown(search, index)
            search.enter(column)
            accepted.append(index)
            columns.append(column[:, None])
            continue
        refused.append(index)
        if abs(alone) >= threshold:
            for one in beside.T:
                search.enter(one)
            wet.append(beside)
        raised = search.around(search.bank.centre[index], 1.5 * search.spacing)
        search.roughen(raised, rough)
    return accepted, np.column_stack(columns), np.column_stack(wet)
