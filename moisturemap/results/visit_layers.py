"""Several visits as layers a page can draw: one scale of bands for all, and what changed."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from moisturemap.bundles import EquipmentPlan, VisitComparison
from moisturemap.drying import ActiveLeak, depth_courses, humidity_limits
from moisturemap.geostat import beside
from moisturemap.mapping import MoistureSurface
from moisturemap.mapping.areas import poorly_known_area, undecided_area, wet_line
from moisturemap.results.map_layers import (
    Layer,
    collection,
    colour_limits,
    limited_bands,
    one_shape,
)
from moisturemap.results.summary import records
from moisturemap.survey import USED_FLAGS, CleanReadings

Array = NDArray[np.float64]


def visit_layers(
    comparison: VisitComparison, *, own: bool = False
) -> tuple[list[float], list[dict[str, Any]]]:
    """Return one set of band limits for all visits, and the layers of each, oldest first.

    Each has ``visit``, ``bands``, the ``wet_line`` at the wet level of the latest visit, the floor
    that is ``unsure`` (its 90% interval holds that level) and that which is ``unknown``. The
    limits span the scale of the instrument, with `own` what was read on any visit.
    """
    surfaces = comparison.drying.levels
    scale = None if own else comparison.latest.clean.instrument.scale
    every = np.concatenate([one.cells().values for one in surfaces], axis=0)
    limits = colour_limits(every, scale)
    half = (len(surfaces) + 1) // 2
    with beside(lambda: _layers(comparison, limits, slice(half))) as looked:
        later = _layers(comparison, limits, slice(half, None))
        unknown = _unknown(comparison)
        earlier = looked(lambda: None)
    found = zip([*earlier, *later], unknown, strict=True)
    return [float(one) for one in limits], [{**one, "unknown": far} for one, far in found]


def _layers(comparison: VisitComparison, limits: Array, visits: slice) -> list[dict[str, Any]]:
    """Return the layers of some visits, without the floor that is unknown."""
    plan, level = comparison.survey.plan, comparison.latest.wet.level.value
    drying = comparison.drying
    parts = (drying.series.clean, drying.levels, drying.series.offsets)
    return [
        {
            "visit": clean.visit.id,
            "bands": collection(limited_bands(surface.cells(), plan, limits)),
            "wet_line": one_shape(wet_line(surface, plan, level)),
            "unsure": one_shape(undecided_area(surface, plan, level, offset.sd)),
        }
        for clean, surface, offset in zip(*(one[visits] for one in parts), strict=True)
    ]


def _unknown(comparison: VisitComparison) -> list[Layer]:
    """Return the floor of each visit that is far from every reading."""
    found: list[Layer] = []
    known: dict[tuple[bytes, ...], Layer] = {}
    drying, plan = comparison.drying, comparison.survey.plan
    for clean, surface in zip(drying.series.clean, drying.levels, strict=True):
        read = _read_where(clean, surface)  # often the same places again
        if read not in known:
            known[read] = one_shape(poorly_known_area(surface, plan, clean.readings))
        found.append(known[read])
    return found


def _read_where(clean: CleanReadings, surface: MoistureSurface) -> tuple[bytes, ...]:
    """Return what decides which floor is far from every reading: places used, and floor mapped."""
    used = clean.readings[clean.readings["flag"].isin(USED_FLAGS)]
    parts = used["domain"].to_numpy(dtype=str), used[["x", "y"]].to_numpy(dtype=float)
    return *(one.tobytes() for one in parts), np.isfinite(surface.cells().values).tobytes()


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
        "depths": _depths(comparison),
    }


def _depths(comparison: VisitComparison) -> dict[str, Any] | None:
    """Return humidity at depth over the visits with the limits [%RH], None where none was read."""
    drying, survey = comparison.drying, comparison.survey
    courses = depth_courses(drying, survey)
    if not courses:
        return None
    return {
        "visits": [
            {"visit": visit.id, "day": round(float(day), 3)}
            for visit, day in zip(drying.series.visits, drying.series.days, strict=True)
        ],
        "courses": [
            {
                "name": one.name,
                "depth_mm": one.depth_mm,
                "logged": one.logged,
                "day": np.round(one.day, 3).tolist(),
                **{
                    name: np.round(getattr(one, name), 2).tolist() for name in ("rh", "low", "high")
                },
            }
            for one in courses
        ],
        "limits": [{"rooms": rooms, "value": one.value} for rooms, one in humidity_limits(survey)],
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
