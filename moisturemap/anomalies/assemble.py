"""Finds on bare arrays become named anomalies: bent lines, spots, strays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.spatial.distance import cdist
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from moisturemap.anomalies.finder import Finds, Scan
from moisturemap.anomalies.linking import link_bends

Array = NDArray[np.float64]

TOGETHER = 2.2
"""Spots nearer to each other than this are one [spacings]."""


WIDEST_SPOT_M2 = 2.0
"""A rise over more floor than this is floor, and stays in the map: fittings, plates and boxes are
smaller, and wet floor must not be taken out of the map for one (our choice) [m2]."""

STRAIGHT = 0.25
"""A corner that leaves the straight line by less than this is none [spacings]: readings place a
line no better (our choice)."""

REPEATS_AGREE = 4.0
"""Repeats that differ by less than this agree [noise sd]."""


@dataclass(frozen=True)
class Anomaly:
    """One thing that disturbs readings.

    Attributes
    ----------
    kind : str
        ``line``, ``spot``, ``mesh`` or ``stray``.
    geometry : shapely geometry
    strength : float
        Rise of a reading right over it [reading]; negative for a dip.
    score : float
        Strength over its standard error.
    length, width : float
        Length of a line and sd of the profile [m]; NaN where it has none.
    effect : ndarray, shape (n,)
        Rise of each reading of the domain [reading].
    column : ndarray, shape (n,)
        Profile for a unit of strength.
    disturbed : ndarray of int
        Readings it disturbs.
    """

    kind: str
    geometry: BaseGeometry
    strength: float
    score: float
    length: float
    width: float
    effect: Array
    column: Array
    disturbed: NDArray[np.intp]


def on_floor(line: LineString, outline: BaseGeometry) -> LineString:
    """Cut the ends of a line off where they stick out of the floor.

    What lies between its first and its last place on the floor stays, also where it passes below a
    wall or a column. A line wholly outside stays as it is.
    """
    inside = line.intersection(outline)
    if inside.is_empty:
        return line
    along = [line.project(Point(place)) for place in shapely.get_coordinates(inside)]
    kept = substring(line, min(along), max(along))
    return kept if isinstance(kept, LineString) and kept.length > 0.0 else line


def _line(
    finds: Finds, order: list[int], corners: Array, level: float, floor: tuple[BaseGeometry, float]
) -> Anomaly:
    outline, spacing = floor
    ridges = [finds.ridges[i] for i in order]
    lengths = np.array([ridge.length for ridge in ridges])
    share = lengths / lengths.sum()
    effect = finds.effects[:, order].sum(axis=1)
    strength = float(share @ finds.strengths[order])
    score = float(np.sqrt((finds.scores[order] ** 2).sum()))
    width = float(share @ [ridge.width for ridge in ridges])
    geometry = on_floor(LineString(corners).simplify(STRAIGHT * spacing), outline)
    return Anomaly(
        "line",
        geometry,
        strength,
        score,
        float(geometry.length),
        width,
        effect,
        finds.columns[:, order].max(axis=1),
        _lifted(effect, level),
    )


def _lifted(effect: Array, level: float) -> NDArray[np.intp]:
    return np.flatnonzero(np.abs(effect) >= level)


def _groups(finds: Finds, spacing: float) -> list[list[int]]:
    """Group spots that lie together and point the same way."""
    first = len(finds.ridges)
    if not finds.spots:
        return []
    centres = np.array([spot.centre for spot in finds.spots])
    sign = np.sign(finds.strengths[first:])
    joined = (cdist(centres, centres) <= TOGETHER * spacing) & (sign[:, None] == sign)
    _, label = connected_components(sparse.csr_matrix(joined), directed=False)
    return [list(first + np.flatnonzero(label == one)) for one in range(label.max() + 1)]


def _agrees(scan: Scan, finds: Finds, reading: int) -> bool:
    """Whether a place was read again and its repeats agree."""
    return bool(scan.share[reading] < 1.0 and scan.apart[reading] <= REPEATS_AGREE * finds.noise_sd)


def _spot(finds: Finds, group: list[int], scan: Scan, level: float) -> Anomaly:
    effect = finds.effects[:, group].sum(axis=1)
    lead = group[int(np.argmax(finds.scores[group]))]
    disturbed = _lifted(effect, level)
    weight = np.abs(effect[disturbed])
    spots = [finds.spots[i - len(finds.ridges)] for i in group]
    if disturbed.size:
        centre = (scan.points[disturbed] * weight[:, None]).sum(axis=0) / weight.sum()
        strength = float(effect[disturbed][np.argmax(weight)])
    else:
        centre = np.asarray(finds.spots[lead - len(finds.ridges)].centre)
        strength = float(finds.strengths[lead])
    width = max(spot.width for spot in spots)
    lone = disturbed.size <= 1 and width == 0.0
    repeated = lone and disturbed.size == 1 and _agrees(scan, finds, int(disturbed[0]))
    kind = "stray" if lone and not repeated else "spot"
    return Anomaly(
        kind,
        Point(centre),
        strength,
        float(finds.scores[lead]),
        float("nan"),
        width or float("nan"),
        effect,
        finds.columns[:, group].max(axis=1),
        disturbed,
    )


def _on_line(anomaly: Anomaly, lines: list[Anomaly]) -> bool:
    """Whether a weak spot only corrects the profile of a line it lies on."""
    for line in lines:
        near = anomaly.geometry.distance(line.geometry) <= 2.0 * line.width
        if near and anomaly.strength < 0.7 * line.strength:
            return True
    return False


def _mesh(finds: Finds, scan: Scan, outline: BaseGeometry, level: float) -> Anomaly:
    """One regular pattern from its waves; rises are counted from its troughs."""
    parts = np.column_stack([wave.at(scan.points) for wave in finds.waves])
    total = parts.sum(axis=1)
    effect = total - np.quantile(total, 0.05)
    lead = max(finds.waves, key=lambda wave: wave.score)
    height = float(np.quantile(effect, 0.95))
    return Anomaly(
        "mesh",
        outline,
        height,
        float(np.sqrt(lead.score)),
        float("nan"),
        lead.length,
        effect,
        effect / height,
        _lifted(effect, level),
    )


def assemble(finds: Finds, scan: Scan, outline: BaseGeometry, level: float) -> list[Anomaly]:
    """Return the anomalies of a domain.

    Parameters
    ----------
    outline : shapely geometry
        The domain [m].
    level : float
        A reading lifted by at least this counts as disturbed [reading].
    """
    floor = (outline, scan.spacing)
    lines = [
        _line(finds, order, corners, level, floor)
        for order, corners in link_bends(list(finds.ridges), scan.spacing)
    ]
    spots = [_spot(finds, group, scan, level) for group in _groups(finds, scan.spacing)]
    kept = [
        spot
        for spot in spots
        if not _on_line(spot, lines) and spot.disturbed.size * scan.spacing**2 <= WIDEST_SPOT_M2
    ]
    mesh = [_mesh(finds, scan, outline, level)] if finds.waves else []
    return [*mesh, *lines, *kept]
