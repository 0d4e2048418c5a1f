"""A comparison of visits, with the places of the machines, in plain types, sentences and files."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import Any

import pandas as pd

from moisturemap.bundles import DryingPlan, EquipmentPlan
from moisturemap.drying import ChangeMap, DryingProgress, Forecast, Rise, WaterBalance
from moisturemap.quantities import DISCLAIMER
from moisturemap.results.drying_files import write_change_grid, write_drying_shapes
from moisturemap.results.run import write_run
from moisturemap.results.study_files import write_summary, write_table
from moisturemap.results.summary import plain_value, records
from moisturemap.results.terminal import Terminal
from moisturemap.results.visit_layers import summarise_leak
from moisturemap.units import Units

Progress = Callable[[str, float], None] | None


def summarise_drying(plan: DryingPlan) -> dict[str, Any]:
    """Return a drying plan as plain numbers, texts, lists and dicts; missing numbers are None."""
    drying, survey = plan.comparison.drying, plan.comparison.survey
    return {
        "survey": survey.name,
        "visits": [_visit(drying, index) for index in range(len(drying.series.clean))],
        "instrument": plan.comparison.latest.clean.instrument.id,
        "quantity": plan.comparison.latest.moisture.quantity.label,
        "disclaimer": DISCLAIMER,
        "wet_level": plain_value(plan.comparison.latest.wet.level.value),
        "dry_level": None if drying.dry_level is None else _plain_dict(asdict(drying.dry_level)),
        "leak": summarise_leak(drying.leak),
        "rises": [_rise(one) for one in drying.rises],
        "change": _change(drying.change),
        "mean_changes": records(drying.means),
        "since_visit_before": _change(drying.step),
        "rate": _change(drying.rate),
        "wet_area": [_plain_dict(asdict(one)) for one in drying.wet_areas],
        "areas": records(drying.areas),
        "features": records(drying.features),
        "forecasts": [_forecast(one) for one in drying.forecasts],
        "air": records(drying.air),
        "drives": records(drying.drives),
        "equipment": summarise_equipment(plan.equipment) if plan.equipment else None,
        "no_equipment": plan.no_equipment,
        "logger_curves": records(drying.logs.curves),
        "machine_logs": records(drying.logs.machines),
        "water_balance": _balance(drying.logs.balance),
        "statements": list(drying.statements),
        "notes": list(plan.comparison.notes),
        "provenance": plan.comparison.latest.provenance.as_dict(),
    }


def _balance(balance: WaterBalance | None) -> dict[str, Any] | None:
    if balance is None:
        return None
    span = {"begin": balance.begin.isoformat(), "end": balance.end.isoformat()}
    return {**_plain_dict(asdict(balance)), **span, "machines": list(balance.machines)}


def summarise_equipment(equipment: EquipmentPlan) -> dict[str, Any]:
    """Return the places of the machines in plain types."""
    placed = equipment.placement
    return {
        "standing_on": equipment.equipment_visit,
        "moves": records(placed.moves),
        "scores": [_plain_dict(asdict(one)) for one in placed.scores],
        "not_reached": [_plain_dict(asdict(one)) for one in placed.unreached],
        "sizing": [_plain_dict(asdict(one)) for one in placed.sizing],
        "statements": list(placed.statements),
        "cautions": list(placed.cautions),
        "notes": list(placed.notes),
    }


def _visit(drying: DryingProgress, index: int) -> dict[str, Any]:
    visit, offset = drying.series.visits[index], drying.series.offsets[index]
    return {
        "visit": visit.id,
        "started": visit.started.isoformat() if visit.started else None,
        "days": plain_value(float(drying.series.days[index])),
        "offset": plain_value(offset.value),
        "offset_sd": plain_value(offset.sd),
        "offset_from": offset.how,
        "air_temperature_c": visit.air_temperature_c,
        "air_rh_pct": visit.air_rh_pct,
    }


def _change(change: ChangeMap | None) -> dict[str, Any] | None:
    if change is None:
        return None
    return {
        "from": change.visits[0],
        "to": change.visits[-1],
        "area_m2": _plain_dict(change.area_m2),
        "detectable": plain_value(change.detectable),
        "sentence": change.sentence,
        "how": {key: one.how for key, one in change.fields.items()},
        "not_mapped": dict(change.refusals),
    }


def _rise(one: Rise) -> dict[str, Any]:
    names = ("begin", "end", "room", "area_m2", "x", "y", "change")
    return _plain_dict({name: getattr(one, name) for name in names})


def _forecast(one: Forecast) -> dict[str, Any]:
    return _plain_dict(
        {
            "zone": one.zone,
            "basis": one.basis,
            "target": one.target,
            "days": one.days,
            "low_days": one.low,
            "high_days": one.high,
            "no_latest_day": one.high == float("inf"),
            "why_no_latest_day": one.why_open,
            "chance_kept_wet": one.kept_wet,
            "sentence": one.sentence,
            "look_back": one.look_back,
        }
    )


def _plain_dict(content: dict[str, Any]) -> dict[str, Any]:
    return {key: plain_value(value) for key, value in content.items()}


def describe_drying(plan: DryingPlan, units: Units = Units()) -> str:
    """Return a drying plan in sentences, for a terminal."""
    say = Terminal(units)
    drying = plan.comparison.drying
    spans = [
        f"{one.id} {one.started:%Y-%m-%d}" if one.started else one.id
        for one in drying.series.visits
    ]
    parts = [f"{plan.comparison.survey.name}: {', '.join(spans)}", ""]
    parts += [say.item("-", text) for text in drying.statements]
    parts += ["", "Machines"]
    if plan.equipment is None:
        parts.append(say.paragraph(plan.no_equipment))
    else:
        parts += _machines(plan.equipment, say)
    if plan.comparison.notes:
        parts += ["", "Notes", *(say.item("-", note) for note in plan.comparison.notes)]
    return "\n".join([*parts, "", say.paragraph(DISCLAIMER)])


def _machines(equipment: EquipmentPlan, say: Terminal) -> list[str]:
    placed = equipment.placement
    parts = [say.item("-", text) for text in placed.statements]
    parts += [say.item(row.machine, row.sentence) for row in placed.moves.itertuples()]
    parts += [say.item("-", note) for note in placed.notes]
    return [
        *parts,
        "Before machines are moved:",
        *(say.item("[ ]", text) for text in placed.cautions),
    ]


def export_drying(plan: DryingPlan, folder: Path) -> list[Path]:
    """Write tables (CSV), areas and moves (GeoJSON), maps of change (NetCDF), summary (JSON)."""
    return write_run("drying", plan.comparison.survey, folder, [partial(_files, plan)])


def _files(plan: DryingPlan, folder: Path) -> list[Path]:
    drying = plan.comparison.drying
    tables = {
        "visits": pd.DataFrame([_visit(drying, i) for i in range(len(drying.series.clean))]),
        "wet-area": pd.DataFrame([asdict(one) for one in drying.wet_areas]),
        "mean-changes": drying.means,
        "areas": drying.areas,
        "rises": pd.DataFrame([_rise(one) for one in drying.rises]),
        "features": drying.features,
        "forecasts": pd.DataFrame([_forecast(one) for one in drying.forecasts]),
        "air": drying.air,
        "drives": drying.drives,
        "logger-curves": drying.logs.curves,
        "machine-logs": drying.logs.machines,
    }
    if plan.equipment is not None:
        tables["moves"] = plan.equipment.placement.moves
    written = [
        write_table(table, folder / f"drying-{name}.csv")
        for name, table in tables.items()
        if not table.empty
    ]
    moves = None if plan.equipment is None else plan.equipment.placement.moves
    written += write_drying_shapes(drying, moves, folder)
    written.append(write_change_grid(plan.comparison, folder))
    written.append(write_summary(summarise_drying(plan), folder / "drying.json"))
    return written
