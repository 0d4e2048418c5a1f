"""A study with what people on the job decided about anomalies and holes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from moisturemap.anomalies import Anomalies
from moisturemap.bundles import AnomalyOverride, HoleOverride, Overrides, Study, StudyOptions
from moisturemap.bundles.overrides import TAPE_M, is_meant
from moisturemap.drilling import DrillOptions, DrillPlan, plan_holes
from moisturemap.errors import OptionError
from moisturemap.survey import USED_FLAGS, Survey
from moisturemap.workflow.study import study
from moisturemap.zones import map_visit_again

Progress = Callable[[str, float], None] | None

ASKED = ("beside-anomaly", "read-high")
"""Purposes of holes that are planned anew each time, for what they are asked for."""

MARK_REACH_M = {"line": 0.15, "spot": 0.25, "mesh": 0.0}
"""Readings within this distance of a mark are set aside [m]; a mesh takes those inside it."""


def decided_study(
    survey: Survey,
    overrides: Overrides | None,
    *,
    visit: str | None = None,
    options: StudyOptions | None = None,
    with_holes: bool = True,
    progress: Progress = None,
) -> Study:
    """Go the main path for one visit, with what people decided where they decided anything.

    Parameters
    ----------
    survey : Survey
    overrides : Overrides or None
        As :func:`moisturemap.workflow.read_decided.read_decided` gives them.
    visit, options, with_holes, progress
        As for :func:`moisturemap.workflow.study.study`.

    Raises
    ------
    SurveyError, NotEnoughData
        As :func:`moisturemap.workflow.study.study`.
    OptionError
        When a decision is none that is known.
    """
    found = study(survey, visit=visit, options=options, with_holes=with_holes, progress=progress)
    if overrides is None:
        return found
    if not with_holes:
        return with_decided_things(found, overrides, options=options)
    return apply_overrides(found, overrides, options=options)


def apply_overrides(
    undecided: Study, decisions: Overrides, *, options: StudyOptions | None = None
) -> Study:
    """Return a study with decisions applied: mapped again when readings come or go, then drilled.

    Raises
    ------
    OptionError
        When a decision is none that is known.
    """
    result = with_decided_things(undecided, decisions, options=options)
    if result is undecided and not decisions.holes:
        return undecided
    return with_wished_holes(result, decisions, options=options)


def with_decided_things(
    undecided: Study, decisions: Overrides, *, options: StudyOptions | None = None
) -> Study:
    """Return a study with what was decided about anomalies; its holes are those it had.

    Raises
    ------
    OptionError
        When a decision is none that is known.
    """
    if all(one.verdict == "accepted" for one in decisions.anomalies):
        return undecided
    overridden = _decide(undecided.found, decisions.anomalies)
    return map_visit_again(undecided, overridden, options=options or StudyOptions())


def with_wished_holes(
    mapped: Study,
    decisions: Overrides,
    *,
    options: StudyOptions | None = None,
    progress: Progress = None,
) -> Study:
    """Return a study with its holes planned anew, as people want them; one moved moves alone."""
    chosen = _wishes((options or StudyOptions()).drilling, decisions.holes)
    if chosen.moved:
        before = plan_holes(mapped, options=replace(chosen, moved=()))
        chosen = replace(chosen, kept=_not_moved(before, chosen))
    return replace(mapped, drilling=plan_holes(mapped, options=chosen, progress=progress))


def _not_moved(before: DrillPlan, options: DrillOptions) -> tuple[tuple[float, float], ...]:
    """Return the places proposed before any hole was moved, but of those that were moved."""
    holes = before.holes
    free = holes[(holes["status"] == "proposed") & ~holes["purpose"].isin(ASKED)]
    places = zip(free["x"].astype(float), free["y"].astype(float), strict=True)
    old = [place for place, _ in options.moved]
    return tuple(one for one in places if all(math.dist(one, other) > TAPE_M for other in old))


def _wishes(options: DrillOptions, holes: tuple[HoleOverride, ...]) -> DrillOptions:
    at = {
        verdict: tuple((one.x, one.y) for one in holes if one.verdict == verdict)
        for verdict in ("pinned", "rejected")
    }
    moved = tuple(((one.x, one.y), one.to) for one in holes if one.to is not None)
    return replace(options, pinned=at["pinned"], rejected=at["rejected"], moved=moved)


def unmet_hole_overrides(decided: Study, decisions: Overrides) -> tuple[int, ...]:
    """Return which wishes for a hole, by their index, the drill plan could not meet.

    Its statements say why: too near to a wall, a joint, a service or something flagged.
    """
    holes = decided.drill_plan[["x", "y"]].to_numpy(float)
    unmet = []
    for index, one in enumerate(decisions.holes):
        place = one.to or ((one.x, one.y) if one.verdict == "pinned" else None)
        if place is None:
            continue
        away = np.hypot(*(holes - place).T) if len(holes) else np.array([np.inf])
        if away.min() > TAPE_M:
            unmet.append(index)
    return tuple(unmet)


def check_hole_wish(decided: Study, decisions: Overrides) -> None:
    """Refuse the last wish for a hole where it cannot be met.

    Raises
    ------
    OptionError
        With what is too near.
    """
    last = len(decisions.holes) - 1
    if last not in unmet_hole_overrides(decided, decisions):
        return
    one = decisions.holes[last]
    x, y = one.to or (one.x, one.y)
    place = f"x {x:.2f} m, y {y:.2f} m"
    why = [said for said in decided.drilling.statements if f"{place}:" in said]
    raise OptionError(why[0] if why else f"No hole can stand at {place}.")


def _decide(found: Anomalies, decisions: tuple[AnomalyOverride, ...]) -> Anomalies:
    for one in decisions:
        if one.verdict == "dismissed":
            found = _dismiss(found, one)
        elif one.verdict == "marked":
            found = _mark(found, one)
        elif one.verdict != "accepted":
            message = "no such decision about an anomaly"
            raise OptionError(message, value=one.verdict, allowed="accepted, dismissed, marked")
    return found


def _dismiss(found: Anomalies, decision: AnomalyOverride) -> Anomalies:
    meant = [row.anomaly for row in found.table.itertuples() if is_meant(row, decision)]
    readings = found.readings.copy()
    hit = readings["anomaly"].isin(meant)
    readings.loc[hit, "flag"] = "clear"
    words = f"flagged as {decision.kind}; dismissed by {decision.who}: {decision.why}"
    readings.loc[hit, "reason"] = words
    readings.loc[hit, "anomaly"] = ""
    table = found.table[~found.table["anomaly"].isin(meant)].reset_index(drop=True)
    return replace(found, table=table, readings=readings)


def check_override(decision: AnomalyOverride) -> None:
    """Refuse a mark that has no shape.

    Raises
    ------
    OptionError
        When its kind cannot be marked or places are missing.
    """
    if decision.verdict == "marked":
        _shape(decision)


def _shape(decision: AnomalyOverride) -> BaseGeometry:
    least = {"line": 2, "spot": 1, "mesh": 3}.get(decision.kind)
    if least is None or len(decision.places) < least:
        message = "a mark needs a kind and enough places"
        raise OptionError(message, value=decision.kind, allowed="spot (1), line (2), mesh (3)")
    make = {"line": LineString, "spot": lambda p: Point(p[0]), "mesh": Polygon}[decision.kind]
    return make(decision.places)


def _mark(found: Anomalies, decision: AnomalyOverride) -> Anomalies:
    shape = _shape(decision)
    name = f"U{sum(str(one).startswith('U') for one in found.table['anomaly']) + 1}"
    readings = found.readings.copy()
    places = shapely.points(readings["x"].to_numpy(float), readings["y"].to_numpy(float))
    near = shapely.distance(shape, places) <= MARK_REACH_M[decision.kind]
    hit = near & readings["flag"].isin(USED_FLAGS)
    readings.loc[hit, "flag"] = decision.kind
    readings.loc[hit, "reason"] = f"marked by {decision.who}: {decision.why}"
    readings.loc[hit, "anomaly"] = name
    first = readings[near].iloc[:1]
    row: dict[str, Any] = dict.fromkeys(found.table.columns)
    row |= dict.fromkeys(("odds", "strength", "score"), float("nan"))
    row |= {
        "anomaly": name,
        "kind": decision.kind,
        "standing": "thing",
        "length_m": float(shape.length),
        "width_m": 2 * MARK_REACH_M[decision.kind],
        "room": first["room"].iat[0] if len(first) else "",
        "domain": first["domain"].iat[0] if len(first) else "",
        "readings": int(hit.sum()),
        "persistence": "",
        "geometry": shape,
        "sentence": f"Marked by {decision.who}: {decision.why}",
    }
    added = gpd.GeoDataFrame([row], columns=found.table.columns, geometry="geometry")
    table = added if found.table.empty else pd.concat([found.table, added], ignore_index=True)
    return replace(found, table=gpd.GeoDataFrame(table, geometry="geometry"), readings=readings)
