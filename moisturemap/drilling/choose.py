"""Plan the holes of a floor."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Point

from moisturemap.anomalies import Anomalies
from moisturemap.drilling.cautions import cautions
from moisturemap.drilling.clearance import (
    Obstacle,
    flagged_obstacles,
    forbidden,
    hole_obstacles,
    objections,
    plan_obstacles,
)
from moisturemap.drilling.counts import COUNT_RULES, count_rule
from moisturemap.drilling.depth import hole_depth, is_timber
from moisturemap.drilling.objective import Objective, search
from moisturemap.drilling.options import DrillOptions, Place
from moisturemap.drilling.plan import HOLE_COLUMNS, DrillPlan
from moisturemap.drilling.purpose import Purpose, purposes
from moisturemap.drilling.setout import set_out
from moisturemap.drilling.site import Ground, make_site
from moisturemap.drilling.statements import plan_statements
from moisturemap.floorplan import Domain, FloorPlan
from moisturemap.mapping import MoistureSurface
from moisturemap.survey import Survey
from moisturemap.zones import WetZones

Array = NDArray[np.float64]
Progress = Callable[[str, float], None] | None

DRILLED_METHODS = ("rh-in-situ", "rh-sleeve")
"""Methods of tests that leave a hole."""


@dataclass
class _Draft:
    """A plan in the making."""

    surface: MoistureSurface
    wet: WetZones
    anomalies: Anomalies
    plan: FloorPlan
    options: DrillOptions
    obstacles: list[Obstacle]
    done: list[Place]
    statements: list[str] = field(default_factory=list)
    rules: list[str] = field(default_factory=list)
    rows: list[dict[str, object]] = field(default_factory=list)


def plan_holes(
    surface: MoistureSurface,
    wet: WetZones,
    anomalies: Anomalies,
    plan: FloorPlan,
    survey: Survey,
    *,
    options: DrillOptions | None = None,
    progress: Progress = None,
) -> DrillPlan:
    """Plan holes that find the wettest floor, serve calibration, and keep clear of what is known.

    Parameters
    ----------
    surface : MoistureSurface
    wet : WetZones
    anomalies : Anomalies
    plan : FloorPlan
    survey : Survey
        Its drilled tests are kept clear of (or counted, see ``DrillOptions.count_earlier``).
    options : DrillOptions, optional
    progress : callable, optional

    Returns
    -------
    DrillPlan
        Deterministic. A place whose clearances cannot be met gets no hole, and a statement says why.
    """
    options = options or DrillOptions()
    say = progress or (lambda phrase, fraction: None)
    say("gathering what holes keep clear of", 0.05)
    draft = _draft(surface, wet, anomalies, plan, survey, options)
    timber = tuple(d for d in surface.domains if is_timber(plan.room(d.rooms[0]).slab))
    solid = tuple(d for d in surface.domains if d not in timber)
    for step, part in enumerate((solid, timber)):
        if part:
            say("choosing places", 0.2 + 0.4 * step)
            _plan_part(draft, part, pins=part is timber)
    say("holes planned", 1.0)
    holes = gpd.GeoDataFrame(draft.rows, columns=list(HOLE_COLUMNS), geometry="geometry")
    rooms = [room for room in plan.rooms if room.name in set(holes["room"])]
    flagged = [str(name) for name in anomalies.table["anomaly"]]
    return DrillPlan(
        holes, " ".join(draft.rules), cautions(rooms, flagged, bool(timber)),
        tuple(draft.statements),
    )  # fmt: skip


def _draft(
    surface: MoistureSurface, wet: WetZones, anomalies: Anomalies, plan: FloorPlan,
    survey: Survey, options: DrillOptions,
) -> _Draft:  # fmt: skip
    """Gather the obstacles, earlier holes and the notes they make."""
    flagged, notes = flagged_obstacles(anomalies.table, plan, options)
    earlier = _earlier(survey)
    done = [*options.done, *(earlier if options.count_earlier else [])]
    kept_clear = [] if options.count_earlier else earlier
    obstacles = [
        *plan_obstacles(plan, options), *flagged,
        *hole_obstacles(done, "done hole", options),
        *hole_obstacles(kept_clear, "earlier hole", options),
    ]  # fmt: skip
    if kept_clear:
        words = "hole is" if len(kept_clear) == 1 else "holes are"
        notes.append(
            f"{len(kept_clear)} earlier {words} kept clear of and not counted; where the sleeves "
            "still stand they can be read again instead of drilling anew."
        )
    return _Draft(surface, wet, anomalies, plan, options, obstacles, done, statements=notes)


def _earlier(survey: Survey) -> list[Place]:
    """Places of drilled tests of the survey [m], each once."""
    tests = survey.tests
    if tests.empty:
        return []
    drilled = tests[tests["method"].isin(DRILLED_METHODS)]
    places = drilled[["x", "y"]].astype(float).dropna().drop_duplicates()
    return [(float(x), float(y)) for x, y in places.to_numpy()]


def _plan_part(draft: _Draft, domains: tuple[Domain, ...], *, pins: bool) -> None:
    """Plan the holes of the concrete and screed, or the pin tests of the timber."""
    options, plan = draft.options, draft.plan
    count = _count(draft, domains, pins=pins)
    done = [place for place in draft.done if _on(domains, plan, place)]
    pinned = [place for place in options.wanted if _on(domains, plan, place)]
    pinned = _accepted(draft, pinned)
    rejected = [Point(place).buffer(options.reject_radius_m) for place in options.unwanted]
    area = forbidden(draft.obstacles).union(forbidden(hole_obstacles(pinned, "pin", options)))
    for circle in rejected:
        area = area.union(circle)
    ground = Ground(draft.surface, draft.wet, plan, domains, area, options)
    site = make_site(ground, ground.clear_cells(), np.array([*done, *pinned]).reshape(-1, 2))
    objective = Objective(site, options.weights, options.clearance_m)
    fixed = list(range(len(site.points) - len(done) - len(pinned), len(site.points)))
    added = search(objective, fixed, max(0, count - len(fixed)))
    _say_shortfall(draft, domains, count - len(fixed) - len(added))
    chosen = [*fixed, *added]
    names = [str(n) for n in draft.wet.zones["zone"]]
    names = names[: site.in_zone.shape[1]]
    status = ["done"] * len(done) + ["pinned"] * len(pinned) + ["proposed"] * len(added)
    for place, purpose, state in zip(chosen, purposes(objective, chosen, names), status, strict=True):
        _add_row(draft, ground, site.points[place], purpose, state)
    if not pins:
        draft.statements += plan_statements(ground, objective, chosen)


def _count(draft: _Draft, domains: tuple[Domain, ...], *, pins: bool) -> int:
    """Number of holes for a part of the floor, with the sentence that explains it."""
    outline = draft.plan.outline
    area = sum(float(domain.geometry.intersection(outline).area) for domain in domains)
    if pins:
        rule = COUNT_RULES["timber-pin"]
        count = max(3, int(np.ceil(rule.first_count * area / rule.first_area_m2)))
        draft.rules.append(f"Timber, {area:.1f} m2: {count} pin tests in proportion to "
                           f"{rule.document}: {rule.words}; verify.")  # fmt: skip
        return count
    rule = count_rule(draft.options.count_rule)
    if draft.options.count is not None:
        draft.rules.append(
            f"{draft.options.count} holes as chosen by the user; the rule would be "
            f"{rule.sentence(area)}"
        )
        return draft.options.count
    count, words = rule.count(area), rule.sentence(area)
    if count < len(domains):
        words += (
            f" Raised to {len(domains)} so that each separately mapped part of the floor gets one."
        )
    draft.rules.append(words)
    return max(count, len(domains))


def _on(domains: tuple[Domain, ...], plan: FloorPlan, place: Place) -> bool:
    room = plan.room_at(*place)
    return room is not None and any(domain.geometry.covers(Point(place)) for domain in domains)


def _accepted(draft: _Draft, pinned: list[Place]) -> list[Place]:
    """Return the pinned places that keep their clearances; say why the others do not."""
    kept: list[Place] = []
    for place in pinned:
        others = hole_obstacles(kept, "pinned hole", draft.options)
        why = objections([*draft.obstacles, *others], *place)
        if why:
            draft.statements.append(
                f"No hole at the pinned place x {place[0]:.2f}, y {place[1]:.2f}: {'; '.join(why)}."
            )
        else:
            kept.append(place)
    return kept


def _say_shortfall(draft: _Draft, domains: tuple[Domain, ...], missing: int) -> None:
    if missing <= 0:
        return
    rooms = ", ".join(dict.fromkeys(name for domain in domains for name in domain.rooms))
    draft.statements.append(
        f"{missing} fewer than the count: no further place in {rooms} keeps clear of what is "
        "flagged, known, walls, joints, rejected places and other holes. Locate the services and "
        "correct the plan, or agree a smaller clearance with whoever answers for them."
    )


def _add_row(
    draft: _Draft, ground: Ground, point: Array, purpose: Purpose, status: str
) -> None:
    x, y = (float(value) for value in np.round(point, 2))
    room = draft.plan.room_at(x, y) or draft.plan.room_at(*point)
    assert room is not None
    domain = next(d for d in ground.domains if room.name in d.rooms)
    depth = hole_depth(room.slab)
    tape = set_out(room, x, y)
    field_ = draft.surface.fields.get(domain.key)
    expected = float(field_.predict(np.array([[x, y]]))[0][0]) if field_ else np.nan
    prefix = "P" if is_timber(room.slab) else "H"
    number = 1 + sum(str(row["hole"]).startswith(prefix) for row in draft.rows)
    draft.rows.append({
        "hole": f"{prefix}{number}", "room": room.name, "domain": domain.key,
        "purpose": purpose.name, "why": purpose.why, "expected": expected, "x": x, "y": y,
        "depth_mm": depth.depth_mm, "depth_note": depth.note, "set_out": tape.sentence,
        "from_a": tape.from_a, "distance_a_m": tape.distance_a, "from_b": tape.from_b,
        "distance_b_m": tape.distance_b, "status": status, "geometry": Point(x, y),
    })  # fmt: skip
