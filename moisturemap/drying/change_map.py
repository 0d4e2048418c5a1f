"""The change between visits on the cells of the map, and where it is shown.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import xarray as xr
from numpy.typing import NDArray
from scipy.special import ndtr
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from moisturemap.drying.contrast import ContrastField, krige_contrast
from moisturemap.drying.discovery import discoveries
from moisturemap.drying.options import DryingOptions
from moisturemap.drying.panel import Panel
from moisturemap.drying.series import VisitSeries
from moisturemap.drying.single_places import NONE, SinglePlaces, single_places
from moisturemap.errors import NotEnoughData
from moisturemap.floorplan import CellGrid, Domain, FloorPlan
from moisturemap.mapping import CellValues, FloorEmbedding
from moisturemap.mapping.bands import area_above

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

DRIED, NOT_SHOWN, ROSE = -1.0, 0.0, 1.0
"""Verdicts on a cell."""

NAMED_IN_ADVANCE = 1.96
"""Standard deviations from which a change at one place named in advance is shown at 95%."""


@dataclass(frozen=True)
class Floor:
    """What is the same on every visit.

    Attributes
    ----------
    grid : CellGrid
    domains : tuple of Domain
    embedding : dict of str to FloorEmbedding
        By domain key.
    panels : dict of str to Panel
        By domain key.
    plan : FloorPlan
    """

    grid: CellGrid
    domains: tuple[Domain, ...]
    embedding: dict[str, FloorEmbedding]
    panels: dict[str, Panel]
    plan: FloorPlan


@dataclass(frozen=True)
class ChangeMap:
    """A change, or a rate of change, over the floor.

    Attributes
    ----------
    name : str
        ``"change"`` (first to latest visit), ``"step"`` (the one before to the latest) or
        ``"rate"`` (least-squares slope over all visits, a week).
    visits : tuple of str
        Ids of the visits that enter.
    dataset : xarray.Dataset
        On (y, x): ``mean`` and ``sd`` [reading units, or reading units a week], negative where the
        floor dries; ``verdict`` -1 dried, 0 no change shown, 1 rose; NaN where not mapped.
    fields : dict of str to ContrastField
        By domain key.
    refusals : dict of str to str
        Why a domain is not mapped.
    shapes : dict of str to geometry
        Floor shown to have ``"dried"`` and to have ``"rose"``, clipped to the rooms: what figures,
        layers and areas draw and measure.
    area_m2 : dict of str to float
        Floor that ``"dried"``, ``"not-shown"``, ``"rose"``, and mapped floor without it.
    detectable : float
        Smallest change shown at a typical place named in advance (1.96 sd), in the unit of the map;
        NaN without map.
    beside : str
        What else is known to have risen, though the map does not show it; "" where nothing is.
    single : SinglePlaces
        Places whose own readings changed though the map does not show it.
    """

    name: str
    visits: tuple[str, ...]
    dataset: xr.Dataset
    fields: dict[str, ContrastField]
    refusals: dict[str, str]
    shapes: dict[str, BaseGeometry]
    area_m2: dict[str, float]
    detectable: float
    beside: str = ""
    single: SinglePlaces = NONE

    @property
    def known(self) -> bool:
        """True when any domain could be mapped."""
        return bool(self.fields)

    @property
    def sentence(self) -> str:
        """Say what dried, what rose, and what could not have been seen."""
        if not self.known:
            return " ".join(self.refusals.values()) or "No change could be mapped."
        unit = " a week" if self.name == "rate" else ""
        area = self.area_m2
        span = f"From {self.visits[0]} to {self.visits[-1]}"
        if self.name == "rate":
            span = f"By the trend over all visits from {self.visits[0]} to {self.visits[-1]}"
        return (
            f"{span} a fall of the reading is shown {self.on('dried')} and a rise "
            f"{self.on('rose')}; on {area['not-shown']:.1f} m2 no change is shown. A change of "
            f"less than about {self.detectable:.2g}{unit} at a place would not show with these "
            f"readings: no change shown does not mean dry.{self._joined}"
        )

    def on(self, name: str) -> str:
        """Say on how much floor a change is shown: ``"dried"`` or ``"rose"``."""
        sign = -1.0 if name == "dried" else 1.0
        told = _on(self.area_m2[name])
        beside = bool((np.sign(self.single.values) == sign).any())
        return "nowhere as an area" if told == "nowhere" and beside else told

    @property
    def untold(self) -> str:
        """What changed though the map does not show it, in words."""
        return f"{self.single.sentence} {self.beside}".strip()

    @property
    def _joined(self) -> str:
        beside = f" {self.untold}" if self.untold else ""
        if all(one.how == "same-places" for one in self.fields.values()):
            return beside
        return (
            " The visits were read at different places, so a space-time model joins them: less "
            "certain than reading the same places again."
        ) + beside


def step_sentence(step: ChangeMap) -> str:
    """Say in short what changed since the visit before."""
    told = (
        f"Since the visit before, {step.visits[0]}, each place by itself: a fall is shown "
        f"{step.on('dried')}, a rise {step.on('rose')}; no change of {step.detectable:.2g} or "
        "more is shown on the rest."
    )
    return f"{told} {step.untold}".rstrip()


def _on(area_m2: float) -> str:
    """Say on how much floor something is shown; none is no area of nought."""
    if area_m2 <= 0:
        return "nowhere"
    return f"on {area_m2:.1f} m2" if area_m2 >= 0.05 else "on less than 0.1 m2"


def make_change_map(
    name: str, floor: Floor, series: VisitSeries, weights: Array, options: DryingOptions
) -> ChangeMap:
    """Map a weighted sum of visits and decide cell by cell, with false discovery control.

    A cell is called dried or risen by its two-sided p-value under the procedure of Benjamini and
    Hochberg over all mapped cells, with the sign of its mean (directional decisions keep the rate:
    Benjamini and Yekutieli, J. Am. Statist. Assoc. 100 (2005) 71).
    """
    grid = floor.grid
    mean, sd = np.full(grid.shape, np.nan), np.full(grid.shape, np.nan)
    fields: dict[str, ContrastField] = {}
    refusals: dict[str, str] = {}
    common, step = series.common_sd(weights), max(one.step for one in series.clean)
    for index, domain in enumerate(floor.domains):
        try:
            field = krige_contrast(
                floor.panels[domain.key], floor.embedding[domain.key], weights, common, step
            )
        except NotEnoughData as error:
            refusals[domain.key] = f"{domain.label}: {error}; no change is mapped."
            continue
        fields[domain.key] = field
        where = (grid.domain == index) & grid.inside
        if where.any():
            mean[where], sd[where] = field.predict(grid.centres(where))
    dataset = xr.Dataset(
        {"mean": (("y", "x"), mean), "sd": (("y", "x"), sd)},
        coords={"y": grid.y, "x": grid.x},
        attrs={"quantity": "relative", "unit": ""},
    )
    used = tuple(one.id for one, w in zip(series.visits, weights, strict=True) if w != 0.0)
    used = used or _ends(series.visits)
    kriged = ChangeMap(name, used, dataset, fields, refusals, {}, {}, _detectable(sd))
    return decided(kriged, floor, options.discovery)


def _detectable(sd: Array) -> float:
    known = sd[np.isfinite(sd)]
    return NAMED_IN_ADVANCE * float(np.median(known)) if known.size else float("nan")


def with_common_sd(
    kriged: ChangeMap, floor: Floor, common_sd: float, discovery: float
) -> ChangeMap:
    """Return a change with another error common to all its places; what was kriged stays.

    Parameters
    ----------
    kriged : ChangeMap
        Decided anew.
    floor : Floor
    common_sd : float
        [reading units]
    discovery : float
        False discovery rate, 0 to 1.

    Returns
    -------
    ChangeMap
    """
    sd = kriged.dataset["sd"].to_numpy().copy()
    for index, domain in enumerate(floor.domains):
        if domain.key in kriged.fields:
            where = (floor.grid.domain == index) & floor.grid.inside
            own = sd[where] ** 2 - kriged.fields[domain.key].common_sd ** 2
            sd[where] = np.sqrt(np.maximum(own, 0.0) + common_sd**2)
    fields = {key: replace(one, common_sd=common_sd) for key, one in kriged.fields.items()}
    dataset = kriged.dataset.assign(sd=(("y", "x"), sd))
    told = replace(kriged, dataset=dataset, fields=fields, detectable=_detectable(sd))
    return decided(told, floor, discovery)


def decided(kriged: ChangeMap, floor: Floor, discovery: float) -> ChangeMap:
    """Decide the cells of a kriged change at a false discovery rate.

    Parameters
    ----------
    kriged : ChangeMap
        Its verdicts, shapes and areas, if any, are replaced.
    floor : Floor
    discovery : float
        False discovery rate, 0 to 1.

    Returns
    -------
    ChangeMap
    """
    mean, sd = (kriged.dataset[name].to_numpy() for name in ("mean", "sd"))
    verdict = _verdicts(mean, sd, discovery)
    dataset = kriged.dataset.assign(verdict=(("y", "x"), verdict))
    shapes = {name: _shape(floor, dataset, sign) for name, sign in (("dried", -1), ("rose", 1))}
    area_m2 = _areas(floor, kriged.fields, shapes)
    single = single_places(kriged.fields.values(), shapes, floor.plan, discovery)
    return replace(kriged, dataset=dataset, shapes=shapes, area_m2=area_m2, single=single)


def _ends(visits: Sequence[object]) -> tuple[str, ...]:
    return tuple(str(getattr(one, "id", one)) for one in (visits[0], visits[-1]))


def _verdicts(mean: Array, sd: Array, rate: float) -> Array:
    p_value = np.full(mean.shape, np.nan)
    known = np.isfinite(mean) & (sd > 0)
    p_value[known] = 2.0 * ndtr(-np.abs(mean[known]) / sd[known])
    shown = discoveries(p_value, rate)
    verdict = np.where(np.isfinite(mean), NOT_SHOWN, np.nan)
    verdict[shown & (mean < 0)] = DRIED
    verdict[shown & (mean > 0)] = ROSE
    return verdict


def shown_score(dataset: xr.Dataset, sign: int) -> Array:
    """Return by how much a cell stands above the least change that is shown, in sd, (ny, nx).

    Parameters
    ----------
    dataset : xarray.Dataset
        Of a change map.
    sign : int
        1 for a rise, -1 for a fall.
    """
    z = sign * dataset["mean"].to_numpy() / np.maximum(dataset["sd"].to_numpy(), 1e-12)
    shown = dataset["verdict"].to_numpy() == sign
    least = float(z[shown].min()) if shown.any() else np.inf
    return np.where(np.isfinite(z), z - least, np.nan)


def _shape(floor: Floor, dataset: xr.Dataset, sign: int) -> BaseGeometry:
    """Outline of the floor shown to have changed, clipped to the rooms."""
    if not (dataset["verdict"].to_numpy() == sign).any():
        return Polygon()
    score = np.clip(shown_score(dataset, sign), -50.0, 50.0)
    return area_above(CellValues(score, floor.grid, floor.domains), floor.plan, 0.0)


def _areas(
    floor: Floor, fields: dict[str, ContrastField], shapes: dict[str, BaseGeometry]
) -> dict[str, float]:
    mapped = sum(
        float(domain.geometry.intersection(floor.plan.outline).area)
        for domain in floor.domains
        if domain.key in fields
    )
    dried, rose = float(shapes["dried"].area), float(shapes["rose"].area)
    return {"dried": dried, "not-shown": max(mapped - dried - rose, 0.0), "rose": rose}
