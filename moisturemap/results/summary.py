"""A study in plain types, for JSON and for people who script."""

from __future__ import annotations

import math
from datetime import datetime
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd

from moisturemap.bundles import Study, set_aside_above_level
from moisturemap.quantities import DISCLAIMER
from moisturemap.results.storeys import summarise_storeys


def summarise(study: Study) -> dict[str, Any]:
    """Return what a study found, as plain numbers, texts, lists and dicts.

    Lengths are in metres, areas in square metres, depths in millimetres; moisture values are
    relative readings of the named instrument. Missing numbers are None.
    """
    flags = study.readings["flag"].value_counts()
    level = study.wet.level
    return {
        "survey": study.survey.name,
        "visit": study.visit.id,
        "started": study.visit.started.isoformat() if study.visit.started else None,
        "instrument": study.clean.instrument.id,
        "quantity": study.moisture.quantity.label,
        "disclaimer": DISCLAIMER,
        "floor_area_m2": round(float(study.survey.plan.outline.area), 2),
        "readings": {"total": len(study.readings), **{k: int(n) for k, n in flags.items()}},
        "wet_level": {
            "value": plain_value(level.value),
            "how": level.how,
            "explanation": level.explanation,
            "base": level.base,
            "rooms_without": list(study.unlevelled_rooms),
        },
        "storeys": summarise_storeys(study),
        "zones": records(study.zones),
        "zones_statement": study.wet.statement,
        "anomalies": records(study.anomalies),
        "set_aside_above_level": set_aside_above_level(study).as_dict(),
        "sweeps": records(study.sweeps),
        "anomaly_remarks": [*study.found.doubted, *study.found.remarks],
        "anomaly_limits": list(study.found.limits),
        "holes": records(study.drill_plan),
        "hole_count_rule": study.drilling.count_rule,
        "cautions": list(study.drilling.cautions),
        "drilling_statements": list(study.drilling.statements),
        "quality": study.quality,
        "not_mapped": dict(study.moisture.refusals),
        "notes": list(study.notes),
        "provenance": study.provenance.as_dict(),
    }


def records(table: pd.DataFrame) -> list[dict[str, Any]]:
    """Return the rows of a table without geometry, in plain types."""
    plain = table.drop(columns="geometry") if isinstance(table, gpd.GeoDataFrame) else table
    names = [str(name) for name in plain.columns]
    columns = (_plain_column(plain.iloc[:, place]) for place in range(len(names)))
    rows = zip(*columns, strict=True) if names else ((),) * len(plain)
    return [dict(zip(names, row, strict=True)) for row in rows]


def _plain_column(column: pd.Series) -> list[Any]:
    """Return the values of a column as JSON knows them, numbers without a look at each kind."""
    values = column.tolist()
    if isinstance(column.dtype, np.dtype) and column.dtype.kind == "f":
        return [round(one, 6) if math.isfinite(one) else None for one in values]
    if isinstance(column.dtype, np.dtype) and column.dtype.kind in "bi":
        return values
    return [plain_value(one) for one in values]


def plain_value(value: Any) -> Any:
    """Return a value as JSON knows it: number, text, time as text; None for NaN and infinity."""
    if isinstance(value, np.generic):
        value = value.item()
    if isinstance(value, float):
        return round(value, 6) if math.isfinite(value) else None
    if value is None or value is pd.NaT or value is pd.NA:
        return None
    # times of several offsets from UTC stand in a table as those of the standard library
    return value.isoformat() if isinstance(value, datetime) else value
