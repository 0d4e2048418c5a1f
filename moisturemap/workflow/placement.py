"""Where the drying machines should stand."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import pandas as pd
import shapely

from moisturemap.bundles import DryingPlan, EquipmentPlan, Overrides, Study, VisitComparison
from moisturemap.drying import WHOLE_FLOOR, DryingOptions, took_up_sentence
from moisturemap.equipment import (
    Machine,
    PlacementOptions,
    find_demand,
    machines_of,
    place_machines,
    refuse_unknown_doors,
    size_machines,
    with_unread,
)
from moisturemap.errors import NotEnoughData
from moisturemap.floorplan import FloorPlan, PlanLine
from moisturemap.survey import Survey
from moisturemap.workflow.drying import compare_visits

CLEAR_OF_LEAK_M = 1.0
"""Machines and their leads stay so far from floor that still takes up water [m] (our choice)."""

Progress = Callable[[str, float], None] | None


def place_equipment(
    survey: Survey,
    *,
    comparison: VisitComparison | None = None,
    options: PlacementOptions | None = None,
    drying_options: DryingOptions | None = None,
    progress: Progress = None,
) -> EquipmentPlan:
    """Propose where each drying machine should stand.

    Parameters
    ----------
    survey : Survey
    comparison : VisitComparison, optional
        When it is at hand.
    options : PlacementOptions, optional
        Counts, reach, cable, closed doors.
    drying_options : DryingOptions, optional
    progress : callable, optional

    Raises
    ------
    NotEnoughData
        Without a wet level: then nothing tells where drying is wanted.
    """
    options = options or PlacementOptions()
    comparison = comparison or compare_visits(survey, options=drying_options, progress=progress)
    latest = comparison.latest
    level = latest.wet.level.value
    if level is None:
        message = (
            "no wet level is known, so nothing tells where drying is wanted; "
            f"{latest.wet.level.explanation}"
        )
        raise NotEnoughData(message)
    visit, table = _standing(survey, latest.visit.id)
    machines = _with_currents(machines_of(table), survey)
    demand = find_demand(
        latest.moisture,
        level,
        latest.zones,
        comparison.drying.areas,
        stagnant_weight=options.stagnant_weight,
        drive=_drive(comparison),
    )
    unread = comparison.drying.not_read
    demand = with_unread(demand, unread.points, unread.values - level, unread.cell_m2)
    placement = place_machines(
        _clear_of_leaks(comparison),
        demand,
        machines,
        options,
        air_c=latest.visit.air_temperature_c,
    )
    wet = _wet_by_room(comparison)
    rooms = [room.polygon.area for room in survey.plan.rooms if room.name in wet]
    sizing = size_machines(machines, wet, sum(rooms), options.ceiling_m, options.water_class)
    notes = [*placement.notes]
    if table.empty and options.dehumidifiers is None and options.air_movers is None:
        notes.append("No machine is listed for any visit: name how many there are to place them.")
    elif visit and visit != latest.visit.id:
        notes.append(
            f"No machines are listed for {latest.visit.id}: those of {visit} are taken to "
            "stand where they stood."
        )
    notes += _water_notes(comparison)
    if comparison.drying.drives.empty:
        notes.append(
            "No calibrated test tells the humidity of the slab: the drying drive is taken "
            "as the same over the whole floor."
        )
    said = (*placement.statements, *(rule.sentence for rule in sizing))
    done = replace(placement, sizing=sizing, notes=tuple(notes), statements=said)
    return EquipmentPlan(survey, comparison, visit, done)


def _clear_of_leaks(comparison: VisitComparison) -> FloorPlan:
    """Return the plan with the floor where water may still arrive to be kept clear.

    A rise over most of the floor is damp air or the meter rather than a leak.
    """
    drying, plan = comparison.drying, comparison.survey.plan
    latest = comparison.latest.visit.id
    wet = [*drying.rising.geometry, *(one.geometry for one in drying.rises if one.end == latest)]
    area = shapely.union_all(wet)
    mapped = 0.0 if drying.change is None else sum(drying.change.area_m2.values())
    if area.is_empty or area.area > WHOLE_FLOOR * mapped:
        return plan
    around = area.buffer(CLEAR_OF_LEAK_M)
    parts = shapely.get_parts(shapely.make_valid(around))
    lines = tuple(PlanLine("keep-clear", part, "possible leak") for part in parts)
    return replace(plan, lines=(*plan.lines, *lines))


def _water_notes(comparison: VisitComparison) -> list[str]:
    """Say that machines do not stand in for stopping the source."""
    drying = comparison.drying
    if len(drying.rising):
        names = ", ".join(drying.rising["area"])
        return [
            f"Readings still rise at {names}: stop the source first. No machine is placed there or "
            f"within {CLEAR_OF_LEAK_M:g} m; those around only carry off what keeps arriving."
        ]
    if drying.rises:
        return [
            f"{took_up_sentence(drying.rises)} Find the source and make sure it has stopped: "
            "machines there may only carry off what keeps arriving."
        ]
    return []


def _with_currents(machines: tuple[Machine, ...], survey: Survey) -> tuple[Machine, ...]:
    """Add the largest current that the log of a machine shows."""
    drawn = {
        log.machine: max(
            (one.current_a for one in log.entries if one.current_a is not None), default=None
        )
        for log in survey.machine_logs
    }
    return tuple(replace(one, current_a=drawn.get(one.name)) for one in machines)


def _standing(survey: Survey, visit: str) -> tuple[str, pd.DataFrame]:
    """Machines of a visit, or of the latest before it that lists any."""
    ids = [one.id for one in survey.visits]
    for one in reversed(ids[: ids.index(visit) + 1]):
        table = survey.equipment[survey.equipment["visit"] == one]
        if len(table):
            return one, table
    return "", survey.equipment.iloc[:0]


def _drive(comparison: VisitComparison) -> dict[str, float]:
    """Vapour-pressure difference of each tested zone, relative to their mean."""
    table = comparison.drying.drives
    tested = {
        str(zone): table["zone"].astype(str).str.startswith(f"zone {zone} ")
        for zone in comparison.latest.zones["zone"]
    }
    drives = {
        zone: float(table.loc[rows, "drive_pa"].mean())
        for zone, rows in tested.items()
        if rows.any()
    }
    mean = sum(drives.values()) / len(drives) if drives else 0.0
    return {zone: drive / mean for zone, drive in drives.items()} if mean > 0 else {}


def _wet_by_room(comparison: VisitComparison) -> dict[str, float]:
    """Floor above the wet level in each room [m2]."""
    found = {}
    for room in comparison.survey.plan.rooms:
        area = sum(
            float(zone.intersection(room.polygon).area) for zone in comparison.latest.zones.geometry
        )
        if area > 0:
            found[room.name] = area
    return found


def plan_drying(
    survey: Survey,
    *,
    visits: Sequence[str] | None = None,
    study: Study | None = None,
    options: DryingOptions | None = None,
    placement: PlacementOptions | None = None,
    overrides: Overrides | None = None,
    progress: Progress = None,
) -> DryingPlan:
    """Compare the visits of a survey and place its machines; what cannot be done is said.

    Parameters
    ----------
    survey : Survey
    visits : sequence of str, optional
        Ids to compare; all with readings when left out.
    study : Study, optional
    options : DryingOptions, optional
    placement : PlacementOptions, optional
        Counts and reach of the machines.
    overrides : Overrides, optional
        What people decided about anomalies and holes; a study at hand holds them already.
    progress : callable, optional
        Called with a phrase and a fraction from 0 to 1.

    Raises
    ------
    OptionError
        When a door said to stand closed is none of the plan.
    """
    wanted = placement or PlacementOptions()
    refuse_unknown_doors(survey.plan, wanted.closed_doors)
    comparison = compare_visits(
        survey,
        visits=visits,
        study=study,
        options=options,
        overrides=overrides,
        progress=progress,
    )
    asked = wanted.dehumidifiers is not None or wanted.air_movers is not None
    if survey.equipment.empty and not asked:
        return DryingPlan(
            comparison,
            None,
            "No machine is listed in the survey and no number was asked for, so none is placed.",
        )
    try:
        equipment = place_equipment(survey, comparison=comparison, options=wanted)
    except NotEnoughData as refusal:
        return DryingPlan(comparison, None, f"No machine is placed: {refusal}")
    return DryingPlan(comparison, equipment)
