"""Several visits as layers a page can draw: one scale of bands for all, and what changed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from shapely.geometry import Polygon

from moisturemap.bundles import EquipmentPlan, VisitComparison
from moisturemap.drying import ActiveLeak
from moisturemap.mapping import MoistureSurface
from moisturemap.mapping.bands import band_levels, bands
from moisturemap.results.map_layers import Layer, collection, one_shape
from moisturemap.results.summary import records


def visit_layers(comparison: VisitComparison) -> tuple[list[float], list[dict[str, Any]]]:
    """Return one set of band limits for all visits, and the bands of each, oldest first."""
    surfaces = comparison.drying.levels
    limits = _common_limits(surfaces)
    plan = comparison.survey.plan
    found = []
    for clean, surface in zip(comparison.drying.series.clean, surfaces, strict=True):
        frame = bands(surface.cells(), plan, limits)
        frame["step"] = np.searchsorted(limits, frame["low"].to_numpy(float))
        found.append({"visit": clean.visit.id, "bands": collection(frame)})
    return [float(one) for one in limits], found


def _common_limits(surfaces: Sequence[MoistureSurface]) -> Any:
    """Band limits that span what any visit reads."""
    return band_levels(np.concatenate([one.cells().values for one in surfaces], axis=0))


def change_layers(comparison: VisitComparison) -> dict[str, Layer]:
    """Return the floor that ``dried`` and that ``rose`` since the first visit, and the areas."""
    change = comparison.drying.change
    return {
        "dried": one_shape(Polygon() if change is None else change.shapes["dried"]),
        "rose": one_shape(Polygon() if change is None else change.shapes["rose"]),
        "areas": collection(comparison.drying.areas) if len(comparison.drying.areas) else _empty(),
    }


def _empty() -> Layer:
    return {"type": "FeatureCollection", "features": []}


def summarise_leak(leak: ActiveLeak | None) -> dict[str, Any] | None:
    """Return the signs of an active leak and the first steps, None without."""
    if leak is None:
        return None
    return {"areas": list(leak.areas), "sentence": leak.sentence, "steps": list(leak.steps)}


def summarise_comparison(comparison: VisitComparison) -> dict[str, Any]:
    """Return what the visits show, in plain types."""
    drying = comparison.drying
    return {
        "visits": [one.visit.id for one in drying.series.clean],
        "statements": list(drying.statements),
        "notes": list(comparison.notes),
        "leak": summarise_leak(drying.leak),
        "change": drying.change.sentence if drying.change is not None else "",
        "means": records(drying.means),
        "areas": records(drying.areas),
        "features": records(drying.features),
        "wet_areas": [
            {
                "visit": one.visit,
                "area_m2": round(one.area_m2, 2),
                "low_m2": round(one.low_m2, 2),
                "high_m2": round(one.high_m2, 2),
            }
            for one in drying.wet_areas
        ],
        "forecasts": [
            {
                "zone": one.zone,
                "basis": one.basis,
                "sentence": one.sentence,
                "look_back": one.look_back,
            }
            for one in drying.forecasts
        ],
        "air": records(drying.air),
        "drives": records(drying.drives),
    }


def summarise_placement(plan: EquipmentPlan) -> dict[str, Any]:
    """Return where machines should stand, in plain types, with the moves as a layer."""
    placement = plan.placement
    scores = [
        {
            "kind": one.kind,
            "unit": one.unit,
            "today": _number(one.today),
            "proposed": _number(one.proposed),
            "gain_pct": _number(one.gain_pct),
            "exact": one.exact,
        }
        for one in placement.scores
    ]
    return {
        "visit": plan.equipment_visit,
        "moves": collection(placement.moves) if len(placement.moves) else _empty(),
        "scores": scores,
        "statements": list(placement.statements),
        "cautions": list(placement.cautions),
        "notes": list(placement.notes),
    }


def _number(value: float) -> float | None:
    return round(float(value), 3) if np.isfinite(value) else None
