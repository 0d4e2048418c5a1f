"""The findings on one floor as rows of the dataset."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd
import shapely

from moisturemap.acceptance import Decision
from moisturemap.batch.dataset import TABLES
from moisturemap.bundles import Findings, Judgement, Study, set_aside_above_level
from moisturemap.drying import Rise
from moisturemap.mapping import floor_told
from moisturemap.results.summary import plain_value
from moisturemap.survey import USED_FLAGS, Survey

Row = dict[str, Any]

CALIBRATION_DAYS = 365
"""Days after which a probe is due (ASTM F2170 asks at least yearly, by trade accounts)."""

DECIMALS = 4
"""Decimals of coordinates [m]."""


def rows_of(findings: Findings, borrowed_floors: int = 0) -> dict[str, list[Row]]:
    """Return the rows of one floor by table; the run adds ``floor`` and ``survey``.

    Parameters
    ----------
    findings : Findings
    borrowed_floors : int
        Earlier floors its map borrowed from.
    """
    return {
        "floors": [_floor(findings)],
        "zones": _zones(findings),
        "tests": _tests(findings.survey, findings.decision),
        "visits": _visits(findings.survey),
        "covariances": _covariance(findings.study, borrowed_floors),
    }


def rows_of_tests(judgement: Judgement) -> dict[str, list[Row]]:
    """Return the rows by table of a floor that was tested and not scanned.

    What only a scan tells stays empty: nothing was seen, which is not the same as nothing wet.

    Parameters
    ----------
    judgement : Judgement
    """
    survey = judgement.survey
    floor = {**_whole_floor(survey), **_verdict(survey, judgement.decision), "readings": 0}
    return {
        "floors": [floor],
        "zones": [],
        "tests": _tests(survey, judgement.decision),
        "visits": _visits(survey),
        "covariances": [],
    }


def _covariance(study: Study, borrowed_floors: int) -> list[Row]:
    """Return what later floors may borrow; no row where the floor shows no pattern."""
    told = floor_told("", study.moisture, study.clean, borrowed_floors)
    if told is None:
        return []
    low, high = told.scale or (None, None)
    numbers = {name: float(f"{value:.6g}") for name, value in asdict(told.pattern).items()}
    return [
        {
            "readings_key": told.key,
            "instrument_model": told.instrument_model,
            "scale_low": low,
            "scale_high": high,
            "readings": told.readings,
            **numbers,
            "borrowed_floors": told.borrowed_floors,
            "footprint_m": told.footprint_m,
        }
    ]


def _floor(findings: Findings) -> Row:
    study, survey = findings.study, findings.survey
    zones, instrument = study.zones, study.clean.instrument
    scale = instrument.scale or (None, None)
    started = study.visit.started
    return {
        **_whole_floor(survey),
        "visit": study.visit.id,
        "started": None if started is None else started.isoformat(),
        "instrument": instrument.id,
        "instrument_model": instrument.model,
        "scale_low": scale[0],
        "scale_high": scale[1],
        "readings": len(study.readings),
        "used": int(study.readings["flag"].isin(USED_FLAGS).sum()),
        "wet_level": plain_value(study.wet.level.value),
        **_wet(study),
        "peak": _round(zones["peak"].max()) if len(zones) else None,
        "anomalies": len(study.anomalies),
        "holes": len(study.drill_plan),
        "quality": study.quality,
        **_verdict(survey, findings.decision),
        **_drying(findings),
    }


def _whole_floor(survey: Survey) -> Row:
    return {
        "name": survey.name,
        "area_m2": _round(survey.plan.outline.area),
        "calibration_due": _calibration_due(survey),
        "visits": int(survey.readings["visit"].nunique()),
    }


def _wet(study: Study) -> Row:
    """Return what reads wet and what was set aside; nothing where it cannot be told."""
    surface, zones = study.moisture, study.zones
    mapped = float(np.isfinite(surface.dataset["mean"].to_numpy()).sum()) * surface.grid.spacing**2
    found: Row = {"mapped_m2": _round(min(mapped, study.survey.plan.outline.area))}
    if study.wet.level.value is None:
        return found
    aside = set_aside_above_level(study)
    found |= {"set_aside_readings": aside.readings, "set_aside_m2": _round(aside.area_m2)}
    if not mapped:
        return found
    contested = zones["standing"] == "contested" if "standing" in zones else _none_of(zones)
    return found | {
        "wet_m2": _round(zones["area_m2"].sum()),
        "contested_m2": _round(zones.loc[contested, "area_m2"].sum()),
        "zones": len(zones),
    }


def _none_of(table: pd.DataFrame) -> pd.Series:
    return pd.Series(False, index=table.index)


def _verdict(survey: Survey, decision: Decision | None) -> Row:
    count = len(survey.tests)
    if decision is None:
        return {"tests": count, "verdict": "", "verdict_sentence": ""}
    table = decision.tests
    valid = table[table["standing"].astype(str).str.startswith("valid")]
    days = pd.to_datetime(valid["read"].dropna(), utc=True)
    oldest = days.min() if len(days) else None
    until = decision.holds_until
    return {
        "tests": count,
        "tests_valid": len(valid),
        "oldest_valid_test": None if oldest is None or pd.isna(oldest) else f"{oldest:%Y-%m-%d}",
        "verdict": decision.verdict,
        "holds_until": None if until is None else f"{until:%Y-%m-%d}",
        "verdict_sentence": decision.sentence,
    }


def _drying(findings: Findings) -> Row:
    if findings.drying is None:
        return {}
    drying = findings.drying.comparison.drying
    lows = [one.low for one in drying.forecasts if math.isfinite(one.low)]
    return {
        "stagnant_m2": _round(drying.stagnant["area_m2"].sum()),
        "rising_m2": _round(drying.rising["area_m2"].sum()),
        "rose_between_m2": _round(_largest_rise(drying.rises)),
        "not_before_days": _round(max(lows)) if lows else None,
    }


def _largest_rise(rises: Sequence[Rise]) -> float:
    """Floor that rose between the two visits that show most of it [m2]."""
    pairs: dict[tuple[str, str], float] = {}
    for one in rises:
        pairs[one.begin, one.end] = pairs.get((one.begin, one.end), 0.0) + one.area_m2
    return max(pairs.values(), default=0.0)


def _calibration_due(survey: Survey) -> str | None:
    known: list[date] = [one.calibrated for one in survey.instruments.values() if one.calibrated]
    return None if not known else (min(known) + timedelta(days=CALIBRATION_DAYS)).isoformat()


def _zones(findings: Findings) -> list[Row]:
    rows = []
    for zone in findings.study.zones.to_dict("records"):
        row = _picked(zone, "zones")
        row["standing"] = zone.get("standing", "wet")
        row["geometry"] = shapely.to_wkt(zone["geometry"], rounding_precision=DECIMALS)
        rows.append(row)
    return rows


def _tests(survey: Survey, decision: Decision | None) -> list[Row]:
    plan = survey.plan
    judged: dict[str, dict[Any, Any]] = {}
    if decision is not None:
        judged = {str(one["test"]): one for one in decision.tests.to_dict("records")}
    rows = []
    for test in survey.tests.to_dict("records"):
        found = judged.get(str(test["test"]), {})
        row = {**_picked(test, "tests"), **_picked(found, "tests"), "test": str(test["test"])}
        x, y = (float(test[name]) if pd.notna(test[name]) else math.nan for name in ("x", "y"))
        room = plan.room_at(x, y) if math.isfinite(x + y) else None
        row["room"] = room.name if room else ""
        row["geometry"] = f"POINT ({x:.4f} {y:.4f})" if math.isfinite(x + y) else None
        rows.append(row)
    return rows


def _visits(survey: Survey) -> list[Row]:
    counts = survey.readings["visit"].value_counts()
    return [
        {
            "visit": visit.id,
            "started": None if visit.started is None else visit.started.isoformat(),
            "readings": int(counts.get(visit.id, 0)),
            "air_temperature_c": visit.air_temperature_c,
            "air_rh_pct": visit.air_rh_pct,
            "slab_temperature_c": visit.slab_temperature_c,
        }
        for visit in survey.visits
    ]


def _picked(record: dict[Any, Any], table: str) -> Row:
    """Return the columns of a table that a record has, in plain types."""
    picked: Row = {}
    for column in TABLES[table]:
        value = record.get(column.name)
        if column.kind == "geometry" or value is None:
            continue
        value = plain_value(value)
        if value is None:
            continue
        picked[column.name] = str(value) if column.kind == "string" else _round(value)
    return picked


def _round(value: Any) -> float | None:
    number = float(np.round(float(value), 4))
    return number if math.isfinite(number) else None
