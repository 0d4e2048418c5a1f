"""Finds on bare arrays become anomalies: bent lines, spots, patterns, strays."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from moisturemap.anomalies.anomalies import STANDINGS
from moisturemap.anomalies.beside import wet_beside
from moisturemap.anomalies.decision import disturbed as lifted
from moisturemap.anomalies.disc import Disc
from moisturemap.anomalies.finds import Finds
from moisturemap.anomalies.linking import link_bends
from moisturemap.anomalies.ridge import Ridge
from moisturemap.anomalies.rivals import Weighed
from moisturemap.anomalies.scene import Scene
from moisturemap.anomalies.swept import crossed, runs_of

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Mask = NDArray[np.bool_]

STRAIGHT = 0.25
"""A corner that leaves the straight line by less than this is none [spacings]: readings place a
line no better (our choice)."""

SHOWS = 0.5
"""A reading that stands over dry floor by less than this share of what a thing gives there is not
disturbed by it: the flank of a strong thing read with a narrower footprint than was assumed."""

REPEATS_AGREE = 4.0
"""Repeats that differ by less than this agree [noise sd]."""

MOST_LOG_ODDS = 14.0
"""Odds are told up to a million to one: the models behind them hold no further."""


EVEN_ODDS = 1.0
"""Most the odds of what is contested may say: the readings do not tell, whatever the model does. On
invented floors by other hands some four in ten of them were things."""


@dataclass(frozen=True)
class Anomaly:
    """One thing that disturbs readings, or may.

    Attributes
    ----------
    kind : str
        ``line``, ``spot``, ``mesh`` or ``stray``.
    standing : str
        ``thing`` or ``contested``.
    odds : float
        Of a thing against wet floor and a step; NaN where not weighed.
    geometry : shapely geometry
    strength : float
        Rise of a reading right over it [reading]; negative for a dip.
    score : float
        Strength over its standard error.
    length, width : float
        Length of a line and sd of the profile [m]; NaN where it has none.
    disturbed : ndarray of int, shape (k,)
        Readings it disturbs.
    effect : ndarray, shape (k,)
        Rise of each [reading].
    stays : ndarray of bool, shape (k,)
        Which of them stay in the map all the same: all of what is contested; of a thing those with
        wet floor beside them.
    parts : tuple of Weighed
        What it was made of.
    swept : bool
        Whether it is contested though a sweep was read across it.
    """

    kind: str
    standing: str
    odds: float
    geometry: BaseGeometry
    strength: float
    score: float
    length: float
    width: float
    disturbed: Index
    effect: Array
    stays: Mask
    parts: tuple[Weighed, ...] = ()
    swept: bool = False

    @property
    def told(self) -> bool:
        """Whether readings tell it from a band of wet floor as narrow, or it hides none."""
        return all(one.told for one in self.parts)

    def rise(self, points: Array) -> Array:
        """Rise of readings at points (n, 2) for a unit of strength, (n,)."""
        if not self.parts:
            return np.zeros(len(points))
        return np.asarray(np.max([one.shape.rise(points) for one in self.parts], axis=0))


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


def _odds(found: list[Weighed], standing: str) -> float:
    """Odds of the best known part: a course known on one stretch is known on all."""
    odds = float(np.exp(min(max(one.log_odds for one in found), MOST_LOG_ODDS)))
    return min(odds, EVEN_ODDS) if standing == "contested" else odds


def _effect(scene: Scene, finds: Finds, parts: list[Weighed], level: float) -> tuple[Index, Array]:
    """Find readings lifted by at least a level [noise sd] that show it, and how far."""
    index = np.unique(np.concatenate([lifted(scene, finds.calm, one, 0.1) for one in parts]))
    points = scene.points[index]
    effect = np.sum([one.strength * one.shape.rise(points) for one in parts], axis=0)
    hit = np.abs(effect) >= level * finds.calm.noise_sd
    hit &= scene.values[index] - finds.calm.base[index] >= SHOWS * effect
    return index[hit], effect[hit]


def _lines(
    scene: Scene, finds: Finds, standing: str, level: float, outline: BaseGeometry
) -> list[Anomaly]:
    weighed = finds.things if standing == "thing" else finds.contested
    lines = [one for one in weighed if isinstance(one.shape, Ridge)]
    ridges = [one.shape for one in lines if isinstance(one.shape, Ridge)]
    found = []
    for order, corners in link_bends(ridges, scene.spacing):
        parts = [lines[i] for i in order]
        share = np.array([one.shape.length for one in parts])
        share = share / share.sum()
        geometry = on_floor(LineString(corners).simplify(STRAIGHT * scene.spacing), outline)
        index, effect = _effect(scene, finds, parts, level)
        found.append(
            Anomaly(
                "line",
                standing,
                _odds(parts, standing),
                geometry,
                float(share @ [one.strength for one in parts]),
                float(np.sqrt(sum((one.strength / one.strength_sd) ** 2 for one in parts))),
                float(geometry.length),
                float(share @ [one.shape.width for one in parts]),
                index,
                effect,
                np.full(index.size, standing == "contested"),
                tuple(parts),
            )
        )
    return found


def _spots(scene: Scene, finds: Finds, standing: str, level: float) -> list[Anomaly]:
    weighed = finds.things if standing == "thing" else finds.contested
    found = []
    for one in weighed:
        if not isinstance(one.shape, Disc):
            continue
        index, effect = _effect(scene, finds, [one], level)
        found.append(
            Anomaly(
                "spot",
                standing,
                _odds([one], standing),
                Point(one.shape.centre),
                one.strength,
                one.strength / one.strength_sd,
                float("nan"),
                float(np.hypot(one.shape.radius, one.shape.width)),
                index,
                effect,
                np.full(index.size, standing == "contested"),
                (one,),
            )
        )
    return found


def _agrees(scene: Scene, finds: Finds, reading: int) -> bool:
    """Whether a place was read again and its repeats agree."""
    close = scene.apart[reading] <= REPEATS_AGREE * finds.calm.noise_sd
    return bool(scene.share[reading] < 1.0 and close)


def _strays(scene: Scene, finds: Finds) -> list[Anomaly]:
    nan = float("nan")
    return [
        Anomaly(
            "spot" if _agrees(scene, finds, int(one)) else "stray",
            "contested" if finds.doubtful[one] else "thing",
            nan,
            Point(scene.points[one]),
            float(finds.lone[one]),
            float(abs(finds.lone[one]) / finds.calm.sd),
            nan,
            nan,
            np.array([one], dtype=np.intp),
            finds.lone[[one]],
            finds.doubtful[[one]],
        )
        for one in np.flatnonzero(finds.lone)
    ]


def _mesh(scene: Scene, finds: Finds, outline: BaseGeometry, level: float) -> Anomaly:
    """One regular pattern from its waves; rises are counted from its troughs."""
    total = np.sum([wave.at(scene.points) for wave in finds.waves], axis=0)
    effect = total - np.quantile(total, 0.05)
    lead = max(finds.waves, key=lambda wave: wave.score)
    hit = np.flatnonzero(finds.plain & (effect >= level * finds.calm.noise_sd))
    return Anomaly(
        "mesh",
        "thing",
        float("nan"),
        outline,
        float(np.quantile(effect, 0.95)),
        float(np.sqrt(lead.score)),
        float("nan"),
        lead.length,
        hit,
        effect[hit],
        np.zeros(hit.size, dtype=bool),
    )


def _on_line(anomaly: Anomaly, lines: list[Anomaly]) -> bool:
    """Whether a weaker spot only corrects the profile of a line it lies on."""
    for line in lines:
        near = anomaly.geometry.distance(line.geometry) <= 2.0 * line.width
        if near and abs(anomaly.strength) < 0.7 * line.strength:
            return True
    return False


def assemble(finds: Finds, scene: Scene, outline: BaseGeometry, level: float) -> list[Anomaly]:
    """Return the anomalies of a domain.

    Parameters
    ----------
    outline : shapely geometry
        The domain [m].
    level : float
        A reading lifted by at least this counts as disturbed [noise sd].
    """
    mesh = [_mesh(scene, finds, outline, level)] if finds.waves else []
    lines, spots = [], []
    for standing in STANDINGS:
        lines += _lines(scene, finds, standing, level, outline)
        spots += _spots(scene, finds, standing, level)
    spots = [spot for spot in spots if not _on_line(spot, lines)]
    found = [*mesh, *lines, *spots, *_strays(scene, finds)]
    disturbed = np.zeros(len(scene.values), dtype=bool)
    for one in found:
        disturbed[one.disturbed] = True
    runs = runs_of(scene.points, scene.spacing)
    return [
        replace(one, swept=crossed(scene.points, runs, one.geometry))
        if one.standing == "contested"
        else _kept(scene, finds, one, disturbed)
        for one in found
    ]


def _kept(scene: Scene, finds: Finds, one: Anomaly, disturbed: Mask) -> Anomaly:
    """Return a thing with the readings of it that stay in the map for wet floor beside them."""
    if one.kind not in ("line", "spot"):
        return one
    return replace(one, stays=wet_beside(scene, finds.calm, one.disturbed, disturbed))
