"""Plan the holes of a floor."""

from __future__ import annotations

from collections.abc import Callable

import geopandas as gpd
import numpy as np
import shapely

from moisturemap.anomalies import Anomalies
from moisturemap.drilling.cautions import cautions, heating_cautions
from moisturemap.drilling.clearance import SETTING_OUT_M
from moisturemap.drilling.counts import BY_LIMIT, COUNT_RULES, count_rule, counted, methods_of
from moisturemap.drilling.depth import is_timber, without_depth
from moisturemap.drilling.draft import Draft, start_draft
from moisturemap.drilling.ground import Ground
from moisturemap.drilling.objective import Objective, search
from moisturemap.drilling.options import DrillOptions, Place
from moisturemap.drilling.plan import HOLE_COLUMNS, DrillPlan
from moisturemap.drilling.purpose import Purpose, purposes
from moisturemap.drilling.read_high import holes_where_read_high
from moisturemap.drilling.site import Mask, make_site
from moisturemap.drilling.statements import plan_statements
from moisturemap.drilling.sweep_first import sweep_first
from moisturemap.drilling.unreached import closed_rooms, unreached_zones
from moisturemap.drilling.wall_tests import wall_tests
from moisturemap.errors import OptionError
from moisturemap.floorplan import Domain, FloorPlan
from moisturemap.zones import MappedVisit

Progress = Callable[[str, float], None] | None

BESIDE_M = 0.5
"""A hole that confirms an anomaly stands within this of the edge of its clearance [m]."""


def plan_holes(
    mapped: MappedVisit,
    *,
    options: DrillOptions | None = None,
    progress: Progress = None,
) -> DrillPlan:
    """Plan holes that find the wettest floor, serve calibration, and keep clear of what is known.

    Parameters
    ----------
    mapped : MappedVisit
        The drilled tests of its survey are kept clear of (or counted, see
        ``DrillOptions.count_earlier``).
    options : DrillOptions, optional
    progress : callable, optional

    Returns
    -------
    DrillPlan
        Deterministic. A place whose clearances cannot be met gets no hole, and a statement says
        why.

    Raises
    ------
    OptionError
        When ``options.beside`` names no anomaly.
    """
    options = options or DrillOptions()
    say = progress or (lambda phrase, fraction: None)
    say("gathering what holes keep clear of", 0.05)
    plan, anomalies = mapped.survey.plan, mapped.found
    _known(options.beside, anomalies)
    draft = start_draft(mapped, options)
    solid, timber = parts_of(mapped.domains, plan)
    if solid:
        say("choosing holes", 0.2)
        draft.statements += _plan_part(draft, solid, _count(draft, solid))
    if timber:
        say("choosing pin tests in timber", 0.6)
        _plan_part(draft, timber, _pin_count(draft, timber))
    say("holes planned", 1.0)
    holes = gpd.GeoDataFrame(draft.rows, columns=list(HOLE_COLUMNS), geometry="geometry")
    rooms = [room for room in plan.rooms if room.name in set(holes["room"])]
    draft.warnings += without_depth(rooms)
    flagged = [str(name) for name in anomalies.table["anomaly"]]
    return DrillPlan(
        holes,
        " ".join(draft.rules),
        cautions(rooms, flagged, bool(timber)),
        (*draft.unreached, *draft.warnings, *draft.statements),
        tuple(draft.unreached),
        (*heating_cautions(rooms), *draft.warnings),
        tuple(draft.blocked),
    )


def parts_of(
    domains: tuple[Domain, ...], plan: FloorPlan
) -> tuple[tuple[Domain, ...], tuple[Domain, ...]]:
    """Split domains into those drilled (concrete, screed) and those of timber."""
    timber = tuple(d for d in domains if is_timber(plan.room(d.rooms[0]).slab))
    return tuple(d for d in domains if d not in timber), timber


def _known(names: tuple[str, ...], anomalies: Anomalies) -> None:
    have = [str(name) for name in anomalies.table["anomaly"]]
    for name in names:
        if name not in have:
            allowed = ", ".join(have) or "none is flagged"
            raise OptionError("no such anomaly to drill beside", value=name, allowed=allowed)


def _area(draft: Draft, domains: tuple[Domain, ...]) -> float:
    outline = draft.plan.outline
    return sum(float(domain.geometry.intersection(outline).area) for domain in domains)


def _count(draft: Draft, domains: tuple[Domain, ...]) -> int:
    """Return how many holes, and note the sentence that explains it."""
    area = _area(draft, domains)
    count, words = counted(draft.options.count_rule, _methods(draft), area)
    if draft.options.count is not None:
        draft.rules.append(
            f"{draft.options.count} holes as chosen by the user; the rule would be {words}"
        )
        return draft.options.count
    if count < len(domains):
        words += (
            f" Raised to {len(domains)} so that each separately mapped part of the floor gets one."
        )
    draft.rules.append(words)
    return max(count, len(domains))


def _methods(draft: Draft) -> frozenset[str]:
    """Return the methods of the rule that was chosen, or those of the limits of the job."""
    rule = draft.options.count_rule
    return (
        methods_of(draft.mapped.survey) if rule == BY_LIMIT else frozenset(count_rule(rule).methods)
    )


def _pin_count(draft: Draft, domains: tuple[Domain, ...]) -> int:
    """Return how many pin tests for timber, and note the sentence that explains it."""
    area = _area(draft, domains)
    rule = COUNT_RULES["pin"]
    count = rule.count(area)
    draft.rules.append(
        f"Timber, {area:.1f} m2: {count} pin tests by {rule.document}: {rule.words}; verify."
    )
    return count


def _plan_part(draft: Draft, domains: tuple[Domain, ...], count: int) -> list[str]:
    """Plan one part of the floor; return the statements about its holes."""
    done = draft.on(domains, draft.done)
    pinned = draft.accepted(draft.on(domains, list(draft.options.wanted)))
    closed = draft.closed(pinned)
    ground = Ground(
        draft.surface,
        draft.wet,
        draft.plan,
        domains,
        closed,
        draft.options,
        draft.anomalies.rises,
        draft.mapped.unread_rooms,
    )
    clear = ground.clear_cells
    beside = _beside(draft, ground, clear)
    kept = draft.standing(draft.on(domains, list(draft.options.kept)), pinned)
    high = holes_where_read_high(draft, ground, domains, [*done, *pinned, *kept])
    more = len(beside) + _beyond_count(draft, len(high))
    beside += high
    fixed_places = [*done, *pinned, *(place for _, place in beside), *kept]
    site = make_site(ground, clear, np.array(fixed_places, dtype=float).reshape(-1, 2))
    before = np.array(draft.on(domains, draft.earlier), dtype=float).reshape(-1, 2)
    apart = draft.options.clearance_m + SETTING_OUT_M
    objective = Objective(site, draft.options.weights, apart, before)
    fixed = list(range(len(site.points) - len(fixed_places), len(site.points)))
    earlier = len(done) + len(kept)
    wanted = max(0, count + more - len(fixed), _one_more(objective, fixed, earlier))
    added = search(objective, fixed, wanted)
    _say_shortfall(draft, domains, wanted - len(added))
    if draft.options.count is None:
        added += _at_peaks(draft, ground, objective, [*fixed, *added])
    chosen = [*fixed, *added]
    status = ["done"] * len(done) + ["pinned"] * len(pinned)
    status += ["proposed"] * (len(beside) + len(kept) + len(added))
    reasons = purposes(objective, chosen, _among(draft, domains))
    first = len(done) + len(pinned)
    reasons[first : first + len(beside)] = [reason for reason, _ in beside]
    order = sorted(range(len(chosen)), key=lambda i: reasons[i].name != "wettest")
    for i in order:
        draft.add_row(domains, site.points[chosen[i]], reasons[i], status[i])
    draft.unreached += unreached_zones(ground, draft.obstacles, site.points[chosen])
    draft.unreached += closed_rooms(ground, draft.obstacles)
    draft.statements[:0] = wall_tests(ground, site.points[chosen], _methods(draft))
    swept = sweep_first(ground, draft.rows[-len(order) :] if order else [])
    draft.warnings += [one for one in swept if one not in draft.warnings]
    return plan_statements(ground, objective, chosen)


def _at_peaks(draft: Draft, ground: Ground, objective: Objective, chosen: list[int]) -> list[int]:
    """Return a place at each peak of a surely wet zone that the count leaves out, and say so.

    The verdict asks for a test at each: a plan that names fewer proves nothing.
    """
    site, more = objective.site, list[int]()
    for peak, (number, _) in enumerate(ground.zone_tops):
        at = site.at_top[:, peak]
        if not ground.zone_cells[number][1] or at[[*chosen, *more]].any():
            continue
        free = np.array([k for k in objective.open_to([*chosen, *more]) if at[k]], dtype=np.intp)
        if free.size:
            more.append(int(free[np.argmax(site.mean[free])]))
    if more:
        count = "1 hole more" if len(more) == 1 else f"{len(more)} holes more"
        draft.rules.append(f"{count}, so that each peak of a wet zone gets one.")
        draft.rules.append(AT_PEAK)
    return more


AT_PEAK = (
    "A peak counts as tested where the zone reads nearly as high, and anywhere in the zone "
    "where no hole can stand so near."
)
"""What a hole at a peak is: the highest floor itself may lie metres off."""


def _beyond_count(draft: Draft, high: int) -> int:
    """Return how many of the holes where another scan read high the rule does not count."""
    if not high or draft.options.count is not None:
        return 0
    count = "1 hole more" if high == 1 else f"{high} holes more"
    draft.rules.append(f"{count}, where another scan or another meter read high.")
    return high


def _one_more(objective: Objective, fixed: list[int], earlier: int) -> int:
    """Return 1 when earlier holes fill the count but likely miss the wettest floor, else 0."""
    if not earlier:
        return 0
    return 1 if objective.site.wettest.any() and objective.hit_chance(fixed) < 0.5 else 0


def _among(draft: Draft, domains: tuple[Domain, ...]) -> str:
    """Say which holes those of a part are held against, where the floor has another part."""
    if len(domains) == len(draft.mapped.domains):
        return ""
    timber = is_timber(draft.plan.room(domains[0].rooms[0]).slab)
    return " in timber" if timber else " in concrete or screed"


def _beside(draft: Draft, ground: Ground, clear: Mask) -> list[tuple[Purpose, Place]]:
    """Return a place beside each anomaly to confirm: the highest reading just clear of it."""
    grid = ground.surface.grid
    mean = ground.surface.mean
    row, column = np.nonzero(clear)
    places = shapely.points(np.column_stack([grid.x[column], grid.y[row]]))
    found: list[tuple[Purpose, Place]] = []
    for name in draft.options.beside:
        obstacle = next(o for o in draft.obstacles if o.name.endswith(f" {name}"))
        gap = np.atleast_1d(shapely.distance(obstacle.geometry, places))
        near = np.flatnonzero(gap <= obstacle.clearance + BESIDE_M)
        if not near.size:
            continue
        best = near[np.argmax(np.nan_to_num(mean[row[near], column[near]], nan=-np.inf))]
        place = float(grid.x[column[best]]), float(grid.y[row[best]])
        why = f"{gap[best]:.2f} m beside {obstacle.name}: tells a wet floor from a buried object."
        found.append((Purpose("beside-anomaly", why), place))
    return found


def _say_shortfall(draft: Draft, domains: tuple[Domain, ...], missing: int) -> None:
    if missing <= 0:
        return
    rooms = ", ".join(dict.fromkeys(name for domain in domains for name in domain.rooms))
    draft.statements.append(
        f"{missing} fewer than the count: no further place in {rooms} keeps clear of what is "
        "flagged, known, walls, joints, rejected places and other holes. Locate the services and "
        "correct the plan."
    )
