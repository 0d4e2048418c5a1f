"""A study with what people on the job decided about anomalies and holes."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from moisturemap.anomalies import Anomalies
from moisturemap.drilling import DrillOptions, plan_holes
from moisturemap.errors import OptionError
from moisturemap.mapping import map_readings
from moisturemap.survey import USED_FLAGS, Survey
from moisturemap.workflow.study import Study, StudyOptions, study, used_values
from moisturemap.zones import choose_wet_level, find_zones

Progress = Callable[[str, float], None] | None

SAME_PLACE_M = 0.6
"""A decision about an anomaly holds for one of its kind within this distance [m]."""

TAPE_M = 0.02
"""Holes are rounded to the tape; within this distance a wish is met [m]."""

MARK_REACH_M = {"line": 0.15, "spot": 0.25, "mesh": 0.0}
"""Readings within this distance of a mark are set aside [m]; a mesh takes those inside it."""


@dataclass(frozen=True, kw_only=True)
class AnomalyDecision:
    """What somebody decided about an anomaly, or marked as one.

    ``verdict`` is "accepted", "dismissed" or "marked"; ``places`` holds a place on the anomaly,
    or for a mark its shape: one place a spot, two or more a line, three or more a mesh [m].
    """

    verdict: str
    kind: str
    places: tuple[tuple[float, float], ...]
    why: str
    who: str
    when: str


@dataclass(frozen=True, kw_only=True)
class HoleDecision:
    """A wish about a hole [m].

    ``verdict`` is "pinned" (drill there), "rejected" (not there) or "moved" (to ``to``).
    """

    verdict: str
    x: float
    y: float
    to: tuple[float, float] | None = None
    why: str
    who: str
    when: str


@dataclass(frozen=True)
class Decisions:
    """Decisions of the people on one job, in the order they were taken."""

    anomalies: tuple[AnomalyDecision, ...] = ()
    holes: tuple[HoleDecision, ...] = ()

    def as_plain(self) -> dict[str, Any]:
        """Return plain types to be kept in the project."""
        return {
            "anomalies": [
                {**dataclasses.asdict(one), "places": [list(p) for p in one.places]}
                for one in self.anomalies
            ],
            "holes": [
                {**dataclasses.asdict(one), "to": list(one.to) if one.to else None}
                for one in self.holes
            ],
        }

    def with_anomaly(self, decision: AnomalyDecision) -> Decisions:
        """Return the decisions with one more."""
        return replace(self, anomalies=(*self.anomalies, decision))

    def with_hole(self, decision: HoleDecision) -> Decisions:
        """Return the decisions with one more; one about the same place takes its turn."""
        others = tuple(one for one in self.holes if (one.x, one.y) != (decision.x, decision.y))
        return replace(self, holes=(*others, decision))

    def without(self, which: str, index: int) -> Decisions:
        """Return the decisions without one of ``anomalies`` or ``holes``.

        Raises
        ------
        OptionError
            When there is no such decision.
        """
        kept = list(getattr(self, which))
        if not 0 <= index < len(kept):
            message = "there is no such decision"
            raise OptionError(message, value=index, allowed=f"0 to {len(kept) - 1}")
        del kept[index]
        return replace(self, **{which: tuple(kept)})


SETTING = "decisions"
"""Key of the decisions among the settings of a project."""


def decisions_of(settings: Mapping[str, Any]) -> Decisions:
    """Return the decisions kept in the settings of a project."""
    kept = settings.get(SETTING) or {}
    anomalies = [
        AnomalyDecision(**{**one, "places": tuple((float(x), float(y)) for x, y in one["places"])})
        for one in kept.get("anomalies", ())
    ]
    holes = [
        HoleDecision(**{**one, "to": tuple(one["to"]) if one.get("to") else None})
        for one in kept.get("holes", ())
    ]
    return Decisions(tuple(anomalies), tuple(holes))


def decided_study(
    survey: Survey,
    decisions: Decisions,
    *,
    visit: str | None = None,
    options: StudyOptions | None = None,
    progress: Progress = None,
) -> Study:
    """Go the main path for one visit and apply the decisions to it."""
    options = options or StudyOptions()
    found = study(survey, visit=visit, options=options, progress=progress)
    return apply_decisions(found, decisions, options=options)


def apply_decisions(
    undecided: Study, decisions: Decisions, *, options: StudyOptions | None = None
) -> Study:
    """Return a study with decisions applied: mapped again when readings come or go, then drilled.

    Raises
    ------
    OptionError
        When a decision is none that is known.
    """
    options = options or StudyOptions()
    result = undecided
    if any(one.verdict != "accepted" for one in decisions.anomalies):
        result = _mapped_again(result, _decide(result.found, decisions.anomalies), options)
    if result is not undecided or decisions.holes:
        chosen = _wishes(options.drilling, decisions.holes)
        drilling = plan_holes(
            result.moisture,
            result.wet,
            result.found,
            result.survey.plan,
            result.survey,
            options=chosen,
        )
        result = replace(result, drilling=drilling)
    return result


def _wishes(options: DrillOptions, holes: tuple[HoleDecision, ...]) -> DrillOptions:
    at = {
        verdict: tuple((one.x, one.y) for one in holes if one.verdict == verdict)
        for verdict in ("pinned", "rejected")
    }
    moved = tuple(((one.x, one.y), one.to) for one in holes if one.to is not None)
    return replace(options, pinned=at["pinned"], rejected=at["rejected"], moved=moved)


def unmet_wishes(decided: Study, decisions: Decisions) -> tuple[int, ...]:
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


def _mapped_again(before: Study, found: Anomalies, options: StudyOptions) -> Study:
    plan = before.survey.plan
    moisture = map_readings(
        found.readings,
        before.clean,
        plan,
        before.domains,
        before.moisture.grid,
        options=options.mapping,
    )
    level = choose_wet_level(before.survey, before.visit, used_values(found), surface=moisture)
    moisture = moisture.with_wet_level(level.value)
    wet = find_zones(moisture, level, plan, anomalies=found, options=options.zones)
    return replace(before, found=found, moisture=moisture, wet=wet)


def _decide(found: Anomalies, decisions: tuple[AnomalyDecision, ...]) -> Anomalies:
    for one in decisions:
        if one.verdict == "dismissed":
            found = _dismiss(found, one)
        elif one.verdict == "marked":
            found = _mark(found, one)
        elif one.verdict != "accepted":
            message = "no such decision about an anomaly"
            raise OptionError(message, value=one.verdict, allowed="accepted, dismissed, marked")
    return found


def decision_about(anomaly: Any, decisions: tuple[AnomalyDecision, ...]) -> AnomalyDecision | None:
    """Return the last decision about an anomaly (a row of its table), or None."""
    about = [one for one in decisions if one.verdict != "marked" and _is_meant(anomaly, one)]
    return about[-1] if about else None


def _is_meant(anomaly: Any, decision: AnomalyDecision) -> bool:
    near = anomaly.geometry.distance(Point(decision.places[0])) <= SAME_PLACE_M
    return bool(anomaly.kind == decision.kind and near)


def _dismiss(found: Anomalies, decision: AnomalyDecision) -> Anomalies:
    meant = [row.anomaly for row in found.table.itertuples() if _is_meant(row, decision)]
    readings = found.readings.copy()
    hit = readings["anomaly"].isin(meant)
    readings.loc[hit, "flag"] = "clear"
    words = f"flagged as {decision.kind}; dismissed by {decision.who}: {decision.why}"
    readings.loc[hit, "reason"] = words
    readings.loc[hit, "anomaly"] = ""
    table = found.table[~found.table["anomaly"].isin(meant)].reset_index(drop=True)
    return replace(found, table=table, readings=readings)


def check_decision(decision: AnomalyDecision) -> None:
    """Refuse a mark that has no shape.

    Raises
    ------
    OptionError
        When its kind cannot be marked or places are missing.
    """
    if decision.verdict == "marked":
        _shape(decision)


def _shape(decision: AnomalyDecision) -> BaseGeometry:
    least = {"line": 2, "spot": 1, "mesh": 3}.get(decision.kind)
    if least is None or len(decision.places) < least:
        message = "a mark needs a kind and enough places"
        raise OptionError(message, value=decision.kind, allowed="spot (1), line (2), mesh (3)")
    make = {"line": LineString, "spot": lambda p: Point(p[0]), "mesh": Polygon}[decision.kind]
    return make(decision.places)


def _mark(found: Anomalies, decision: AnomalyDecision) -> Anomalies:
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
    row |= dict.fromkeys(("strength", "score"), float("nan"))
    row |= {
        "anomaly": name,
        "kind": decision.kind,
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
