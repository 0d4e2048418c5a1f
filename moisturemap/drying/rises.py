"""Floor that took up water between two visits, whatever it did before and after.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from moisturemap.drying.areas import large_parts
from moisturemap.drying.change_map import (
    ChangeMap,
    Floor,
    decided,
    make_change_map,
    with_common_sd,
)
from moisturemap.drying.meter_step import change_of_driest
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.series import VisitSeries
from moisturemap.geostat import work_through

STILL = 0.25
"""sd of the middle change of the driest third, in sd of a reading: that of the median of some 25
(1.25 / 25^0.5)."""


@dataclass(frozen=True)
class Rise:
    """One connected part of a floor whose reading rose from one visit to the next.

    Attributes
    ----------
    begin, end : str
        Ids of the two visits.
    room : str
        At the place of the largest rise, else "".
    area_m2 : float
        [m2]
    x, y : float
        Place of the largest rise [m].
    change : float
        The rise there [reading units].
    geometry : geometry
        Outline [m].
    """

    begin: str
    end: str
    room: str
    area_m2: float
    x: float
    y: float
    change: float
    geometry: BaseGeometry

    @property
    def place(self) -> str:
        """Size, place and rise in words; metric."""
        inside = f" in {self.room}" if self.room else ""
        return f"{self.area_m2:.1f} m2 round ({self.x:.1f}, {self.y:.1f}){inside}"


def find_rises(
    floor: Floor,
    series: VisitSeries,
    spacing: float,
    options: DryingOptions,
    latest: ChangeMap | None = None,
) -> tuple[Rise, ...]:
    """Find what rose between any two consecutive visits, oldest first, largest first in each pair.

    Parameters
    ----------
    floor : Floor
    series : VisitSeries
    spacing : float
        Of the readings [m]; parts of less than four squares of it are left out.
    options : DryingOptions
        ``discovery`` is shared evenly among the pairs, and the two looks at each (Bonferroni), so
        that a floor without any rise shows one no more often than it says, however many visits
        there are.
    latest : ChangeMap, optional
        Of the last pair, at any rate of discovery, where it is at hand.

    Returns
    -------
    tuple of Rise
        Empty with two visits, whose change the change map shows already.
    """
    pairs = len(series.clean) - 1
    if pairs < 2:
        return ()
    strict = replace(options, discovery=options.discovery / (2 * pairs))
    found: list[Rise] = []

    def rises(end: int) -> list[Rise]:
        weights = series.change_weights(end - 1, end)
        if end == pairs and latest is not None:
            step = decided(latest, floor, strict.discovery)
        else:
            step = make_change_map("step", floor, series, weights, strict)
        plain = _parts(step, floor, spacing)
        drift = _drift_of_driest(series, end)
        if drift is None:
            return plain
        beside = with_common_sd(step, floor, drift, strict.discovery)
        more = [
            one
            for one in _parts(beside, floor, spacing)
            if not any(one.geometry.intersects(known.geometry) for known in plain)
        ]
        return plain + more

    apart = [one for one in range(1, pairs + 1) if series.days[one] != series.days[one - 1]]
    work_through(apart, rises, found.extend)
    return tuple(found)


def _drift_of_driest(series: VisitSeries, end: int) -> float | None:
    """How far the meter drifts at most as the driest floor shows it [sd]; None where it is told.

    Where nothing tells the drift of the meter, its doubt hides a rise of one place; but no drift
    raises one place and leaves the driest third of the floor as it was.
    """
    if all(series.offsets[one].how != "assumed" for one in (end - 1, end)):
        return None
    moved = change_of_driest(series.clean[end - 1], series.clean[end])
    if moved is None:
        return None
    noise = series.clean[end].repeat_sd or series.clean[end].step
    sd = max(STILL * noise, abs(moved))
    return sd if sd < series.common_sd(series.change_weights(end - 1, end)) else None


def _parts(step: ChangeMap, floor: Floor, spacing: float) -> list[Rise]:
    x, y = np.meshgrid(floor.grid.x, floor.grid.y)
    mean = step.dataset["mean"].to_numpy()
    rises = []
    for _, shape in large_parts(floor.domains, step.shapes["rose"], floor.grid.spacing, spacing):
        inside = shapely.contains_xy(shape, x, y) & np.isfinite(mean)
        if not inside.any():
            continue
        peak = int(np.argmax(np.where(inside, mean, -np.inf)))
        place = (float(x.flat[peak]), float(y.flat[peak]))
        room = floor.plan.room_at(*place)
        name, change = room.name if room else "", float(mean.flat[peak])
        begin, end = step.visits
        rises.append(Rise(begin, end, name, float(shape.area), *place, change, shape))
    return sorted(rises, key=lambda one: -one.area_m2)


def with_rises(step: ChangeMap, rises: Sequence[Rise]) -> ChangeMap:
    """Return a map of the last two visits that names the rises between them it does not show so."""
    last = [one for one in rises if (one.begin, one.end) == step.visits]
    shown = [one for one in last if one.geometry.intersects(step.shapes["rose"])]
    told = []
    if shown:
        told.append(f"By the stricter look over all pairs of visits, it rose on {_places(shown)}.")
    if hidden := [one for one in last if one not in shown]:
        told.append(
            "Against the driest third of the floor, which stayed as it was, it rose on "
            f"{_places(hidden)}."
        )
    return replace(step, beside=" ".join(told)) if told else step


def _places(rises: Sequence[Rise]) -> str:
    return "; ".join(one.place for one in rises)


def rise_words(rises: Sequence[Rise]) -> str:
    """Say between which visits the floor took up water, and where; "" without rises."""
    pairs = dict.fromkeys((one.begin, one.end) for one in rises)
    said = []
    for begin, end in pairs:
        here = "; ".join(one.place for one in rises if (one.begin, one.end) == (begin, end))
        said.append(f"between {begin} and {end} on {here}")
    return ", and ".join(said)
