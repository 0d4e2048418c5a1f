"""Shapes an anomaly may have, as sparse rows of weights on the readings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.spatial import cKDTree

Array = NDArray[np.float64]

POINT, DISC, SEGMENT = 0, 1, 2

SEGMENT_LENGTH = 6.0
"""Length of a segment [spacings]."""

SEGMENT_WIDTHS = (0.45, 0.8)
"""Standard deviations of the profile across a segment [spacings]."""

SHORTEST_SEGMENT = 1.0
"""A segment is at least this long [m]."""

FOOTPRINT = 0.22
"""Widest response of a hand-held scanner across a thin thing, as a standard deviation [m]; common
practice. On dense grids shapes up to this width are tried too."""

SEGMENT_ANGLES = 12

DISC_WIDTHS = (0.7, 1.3)
"""Standard deviations of a disc [spacings]."""

BROAD_FROM = 0.9
"""Width from which a shape on a coarse grid may be wet floor rather than a footprint [spacings]."""

REACH = 2.5
"""Profiles are cut at this many standard deviations."""

ROUNDING = 1e-6
"""Readings at the end of a segment belong to it whatever the plan's origin [spacings]."""

LEAST_WEIGHT = 1.8
"""A segment or disc needs at least this sum of weights to differ from a single reading."""


@dataclass(frozen=True)
class Templates:
    """A bank of m templates on n readings.

    Attributes
    ----------
    weights : scipy.sparse.csr_matrix, shape (m, n)
        Rise of each reading for a unit of strength.
    family : ndarray of int, shape (m,)
        ``POINT``, ``DISC`` or ``SEGMENT``.
    centre : ndarray, shape (m, 2)
        Centre [m].
    angle : ndarray, shape (m,)
        Direction of a segment [rad]; 0 for the others.
    width : ndarray, shape (m,)
        Standard deviation of the profile [m]; 0 for points.
    length : ndarray, shape (m,)
        Length of a segment [m]; 0 for the others.
    nearest : ndarray of int, shape (m,)
        Reading nearest to the centre.
    """

    weights: sparse.csr_matrix
    family: NDArray[np.intp]
    centre: Array
    angle: Array
    width: Array
    length: Array
    nearest: NDArray[np.intp]

    def __len__(self) -> int:
        return int(self.weights.shape[0])


def segment_weights(
    points: Array, centre: Array, angle: float, width: float, length: float
) -> Array:
    """Return weights (n,) of one straight segment on readings at points (n, 2)."""
    offset = points - centre
    along = offset @ (np.cos(angle), np.sin(angle))
    across = offset @ (-np.sin(angle), np.cos(angle))
    near = (np.abs(along) <= length / 2) & (np.abs(across) <= REACH * width)
    return np.where(near, np.exp(-0.5 * (across / width) ** 2), 0.0)


def disc_weights(points: Array, centre: Array, width: float) -> Array:
    """Return weights (n,) of one disc on readings at points (n, 2)."""
    distance = np.linalg.norm(points - centre, axis=1)
    return np.where(distance <= REACH * width, np.exp(-0.5 * (distance / width) ** 2), 0.0)


def _segments(points: Array, angle: float, width: float, spacing: float) -> Templates:
    """Segments of one angle and width on parallel lines half a spacing apart."""
    length = max(SEGMENT_LENGTH * spacing, SHORTEST_SEGMENT)
    way = np.array([np.cos(angle), np.sin(angle)])
    normal = np.array([-way[1], way[0]])
    offset = points - points[0]
    along, across = offset @ way, offset @ normal
    line_step, piece_step = spacing / 2, length / 3
    near = int(np.ceil(REACH * width / line_step))
    line = np.round(across / line_step).astype(int)[:, None] + np.arange(-near, near + 1)
    distance = across[:, None] - line * line_step
    piece = np.floor(along / piece_step + ROUNDING).astype(int)[:, None] + np.arange(-1, 3)
    shape = (len(points), line.shape[1], 4)
    inside = np.broadcast_to((np.abs(distance) <= REACH * width)[:, :, None], shape)
    half = length / 2 + ROUNDING * spacing
    inside = inside & (np.abs(along[:, None] - piece * piece_step) <= half)[:, None, :]
    reading, place, part = np.nonzero(inside)
    keys = np.column_stack([line[reading, place], piece[reading, part]])
    span = int(np.abs(piece).max()) + 1
    unique, row = np.unique(keys[:, 0] * (2 * span + 1) + keys[:, 1] + span, return_inverse=True)
    values = np.exp(-0.5 * (distance[reading, place] / width) ** 2)
    weights = sparse.csr_matrix((values, (row, reading)), shape=(unique.size, len(points)))
    lines, pieces = np.divmod(unique, 2 * span + 1)
    centre = (
        points[0]
        + np.outer((pieces - span) * piece_step, way)
        + np.outer(lines * line_step, normal)
    )
    full = np.ones(unique.size)
    return Templates(
        weights,
        np.full(unique.size, SEGMENT),
        centre,
        angle * full,
        width * full,
        length * full,
        np.zeros(unique.size, dtype=np.intp),
    )


def _discs(points: Array, centres: Array, width: float) -> Templates:
    pairs = cKDTree(centres).sparse_distance_matrix(
        cKDTree(points), REACH * width, output_type="coo_matrix"
    )
    values = np.exp(-0.5 * (pairs.data / width) ** 2)
    weights = sparse.csr_matrix((values, (pairs.row, pairs.col)), (len(centres), len(points)))
    none = np.zeros(len(centres))
    return Templates(
        weights,
        np.full(len(centres), DISC),
        centres,
        none,
        np.full(len(centres), width),
        none,
        np.zeros(len(centres), dtype=np.intp),
    )


def _points(points: Array) -> Templates:
    none = np.zeros(len(points))
    family = np.full(len(points), POINT)
    return Templates(
        sparse.identity(len(points), format="csr"),
        family,
        points,
        none,
        none,
        none,
        np.arange(len(points)),
    )


def _pieces(points: Array, spacing: float) -> Iterator[Templates]:
    yield _points(points)
    centres = np.vstack([points, points + spacing / 2])
    for width in (*DISC_WIDTHS, *_dense(spacing)):
        yield _sound(_discs(points, centres, width * spacing))
    for width in (*SEGMENT_WIDTHS, *_dense(spacing)):
        for angle in np.pi * np.arange(SEGMENT_ANGLES) / SEGMENT_ANGLES:
            yield _sound(_segments(points, float(angle), width * spacing, spacing))


def _dense(spacing: float) -> tuple[float, ...]:
    """Return the footprint as a further width on grids much finer than it [spacings]."""
    return (FOOTPRINT / spacing,) if 1.3 * spacing < FOOTPRINT else ()


def broadest(spacing: float) -> float:
    """Width from which a shape must prove that it would not fit better when wider [m]."""
    return max(BROAD_FROM * spacing, FOOTPRINT)


def _sound(bank: Templates) -> Templates:
    """Drop templates that hardly differ from a single reading."""
    total = np.asarray(bank.weights.sum(axis=1)).ravel()
    return take(bank, total >= LEAST_WEIGHT)


def take(bank: Templates, which: NDArray[np.bool_] | NDArray[np.intp]) -> Templates:
    """Return some templates of a bank."""
    return Templates(
        bank.weights[which],
        bank.family[which],
        bank.centre[which],
        bank.angle[which],
        bank.width[which],
        bank.length[which],
        bank.nearest[which],
    )


def build_templates(points: Array, spacing: float) -> Templates:
    """Build the bank of points, discs and segments for readings at points (n, 2) [m].

    Parameters
    ----------
    spacing : float
        Typical distance between neighbouring readings [m].
    """
    pieces = list(_pieces(points, spacing))
    centres = np.vstack([piece.centre for piece in pieces])
    return Templates(
        sparse.vstack([piece.weights for piece in pieces], format="csr"),
        np.concatenate([piece.family for piece in pieces]),
        centres,
        np.concatenate([piece.angle for piece in pieces]),
        np.concatenate([piece.width for piece in pieces]),
        np.concatenate([piece.length for piece in pieces]),
        cKDTree(points).query(centres)[1],
    )
