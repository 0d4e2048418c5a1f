"""Where the drying machines should stand: a ranking by distance and reach, not airflow."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from moisturemap.equipment.air_space import air_space
from moisturemap.equipment.demand import Demand
from moisturemap.equipment.facility import Choice, choose, worth
from moisturemap.equipment.machine import KINDS, Machine, machine_notes
from moisturemap.equipment.move_words import described_move, score_sentence
from moisturemap.equipment.placement_options import PlacementOptions
from moisturemap.equipment.position import TURNS, Positions, at_machines, find_positions
from moisturemap.equipment.score import PlacementScore
from moisturemap.equipment.service import by_nearness, by_stream, ways
from moisturemap.equipment.sizing import SizingRule
from moisturemap.floorplan import FloorPlan, shortest_path

Array = NDArray[np.float64]

MOVE_COLUMNS = (
    "machine",
    "kind",
    "action",
    "x",
    "y",
    "direction_deg",
    "new_x",
    "new_y",
    "new_direction_deg",
    "way_m",
    "gain_alone",
    "loss_if_left",
    "serves",
    "sentence",
    "geometry",
)
"""``action`` is "move", "turn", "stay", "bring" or "remove"; ``way_m`` is the walk; ``gain_alone``
is the gain over today when only this machine moves, ``loss_if_left`` what is lost over the whole
proposal when it alone is left where it stands, both in percent of what could be served; geometry is
the way to the new place, or a point."""

RANKING = (
    "This ranks positions by distance round walls and by reach; it is no simulation of airflow. "
    "Read again after a day and move on what the readings say."
)

CAUTIONS = (
    "Electricity and water: a competent person checks supply, leads and machines before they stand "
    "on or near wet floor; use a residual-current device (RCD, GFCI), keep leads and plugs off the "
    "wet and never touch switches or breakers with wet hands. Local code and licensed practice "
    "come first.",
    "Keep escape routes and keep-clear areas free; leads and hoses are a trip hazard.",
    "Do not run direct-fired heaters in closed rooms; ventilate, use a carbon-monoxide alarm, and "
    "mind back-draughts of gas appliances.",
    "With contaminated water or mould, moving air spreads it: contain and clean first.",
    "Timber that dries too fast splits and cups. Forced drying leaves a dry skin over a wet core: "
    "turn it off before calibrated tests as their method says.",
)


@dataclass(frozen=True)
class Placement:
    """Proposed positions of the drying machines.

    Attributes
    ----------
    moves : geopandas.GeoDataFrame
        Columns ``MOVE_COLUMNS``, the most useful first.
    scores : tuple of PlacementScore
        One a kind.
    demand : Demand
    sizing : tuple of SizingRule
    statements, cautions, notes : tuple of str
    options : PlacementOptions
    """

    moves: gpd.GeoDataFrame
    scores: tuple[PlacementScore, ...]
    demand: Demand
    sizing: tuple[SizingRule, ...] = ()
    statements: tuple[str, ...] = ()
    cautions: tuple[str, ...] = CAUTIONS
    notes: tuple[str, ...] = ()
    options: PlacementOptions = field(default_factory=PlacementOptions)


def place_machines(
    plan: FloorPlan,
    demand: Demand,
    machines: Sequence[Machine],
    options: PlacementOptions | None = None,
) -> Placement:
    """Propose where each machine should stand.

    Dehumidifiers: weighted k-median, the mean way of air from the wet floor to the nearest one.
    Air movers: weighted coverage of the wet floor by their streams. Ways go round walls and
    through open doors.
    """
    options = options or PlacementOptions()
    machines = tuple(machines)
    space, notes = air_space(plan, options.closed_doors)
    notes = (*notes, *machine_notes(machines, plan))
    rows: list[dict[str, object]] = []
    scores = []
    for kind, wanted in zip(KINDS, (options.dehumidifiers, options.air_movers), strict=True):
        own = tuple(one for one in machines if one.kind == kind)
        count = len(own) if wanted is None else wanted
        if not own and not count:
            continue
        if not len(demand.points):
            rows += [_row(one, "stay") for one in own]
            continue
        site = _Site.of(plan, space, kind, own, demand, options)
        notes = (*notes, *site.notes)
        found, score = _placed(site, count, options)
        rows += found
        scores.append(score)
        notes = (*notes, *_unreached(site, found))
    moves = gpd.GeoDataFrame(rows, columns=list(MOVE_COLUMNS), geometry="geometry")
    rank = {"move": 0, "bring": 0, "turn": 0, "stay": 1, "remove": 2}
    if len(moves):
        order = np.lexsort((-moves["loss_if_left"].astype(float), moves["action"].map(rank)))
        moves = moves.iloc[order].reset_index(drop=True)
    statements = tuple(score_sentence(one) for one in scores)
    if not len(demand.points):
        statements = (
            "No floor is mapped above the wet level: there is nothing to place machines by.",
        )
    return Placement(
        moves,
        tuple(scores),
        demand,
        (),
        (*statements, RANKING),
        CAUTIONS,
        tuple(dict.fromkeys(notes)),
        options,
    )


@dataclass(frozen=True)
class _Site:
    """One kind of machine on one floor: positions and how they serve.

    ``in_the_way`` are the machines that stand in a keep-clear area and cannot stay.
    """

    kind: str
    space: BaseGeometry
    machines: tuple[Machine, ...]
    positions: Positions
    service: Array
    full: float
    demand: Demand
    notes: tuple[str, ...]
    in_the_way: frozenset[int] = frozenset()

    @classmethod
    def of(
        cls,
        plan: FloorPlan,
        space: BaseGeometry,
        kind: str,
        machines: tuple[Machine, ...],
        demand: Demand,
        options: PlacementOptions,
    ) -> _Site:
        """Lay out positions, today's first, and work out how each serves each wet place."""
        free, notes = find_positions(plan, space, kind, options.cable_m)
        now = at_machines(machines)
        if kind == "air-mover":
            now = _with_best_turn(space, now, demand, options.throw_m)
        positions = Positions(
            np.concatenate([now.points, free.points]),
            np.concatenate([now.direction_deg, free.direction_deg]),
        )
        way = ways(space, positions, demand.points)
        if kind == "air-mover":
            service, full = by_stream(way, positions, demand.points, options.throw_m), 1.0
        else:
            longest = float(way[np.isfinite(way)].max()) if np.isfinite(way).any() else 1.0
            full = max(longest, 1e-6)
            service = by_nearness(way, full)
        blocked, said = _in_the_way(plan, machines)
        notes = (*notes, *said)
        return cls(kind, space, machines, positions, service, full, demand, notes, blocked)

    def share(self, chosen: Sequence[int]) -> float:
        """Percent of what could be served that a choice serves."""
        best = self.full * float(self.demand.weight.sum())
        return 100.0 * worth(self.service, self.demand.weight, tuple(chosen)) / best


def _with_best_turn(
    space: BaseGeometry, now: Positions, demand: Demand, throw_m: float
) -> Positions:
    """Give machines without a direction the one that serves most from where they stand."""
    headings = now.direction_deg.copy()
    turns = np.arange(TURNS) * 360.0 / TURNS
    for index in np.flatnonzero(np.isnan(headings)):
        around = Positions(np.repeat(now.points[index : index + 1], TURNS, axis=0), turns)
        way = ways(space, around, demand.points)
        service = by_stream(way, around, demand.points, throw_m)
        headings[index] = turns[int((service @ demand.weight).argmax())]
    return Positions(now.points, headings)


def _placed(
    site: _Site, count: int, options: PlacementOptions
) -> tuple[list[dict[str, object]], PlacementScore]:
    """Choose positions, give them to machines and leave alone what is hardly worth moving."""
    standing = len(site.machines)
    choice = _choose(site, count)
    target = _assigned(site, choice.chosen)
    target = _without_small_moves(site, target, options.least_gain)
    final = [*target.values()]
    rows = []
    for machine, place in target.items():
        rows.append(_move(site, machine, place, target))
    for machine in range(standing):
        if machine not in target:
            rows.append(_row(site.machines[machine], "remove"))
    today = tuple(range(standing))
    before, after = site.share(today), site.share(final)
    score = _score(site, before, after, choice.exact)
    return rows, score


def _choose(site: _Site, count: int) -> Choice:
    """Choose among free positions and those where machines stand and may stay."""
    service = site.service.copy()
    service[list(site.in_the_way)] = 0.0
    return choose(service, site.demand.weight, count)


def _in_the_way(
    plan: FloorPlan, machines: tuple[Machine, ...]
) -> tuple[frozenset[int], tuple[str, ...]]:
    """Return the machines that stand in a keep-clear area, and a sentence on each."""
    clear = [line.geometry for line in plan.lines_of("keep-clear")]
    found = frozenset(
        index
        for index, one in enumerate(machines)
        if any(area.intersects(Point(one.x, one.y)) for area in clear)
    )
    return found, tuple(
        f"{machines[index].name} stands in an area to be kept clear: move it out."
        for index in sorted(found)
    )


def _unreached(site: _Site, rows: Sequence[dict[str, object]]) -> tuple[str, ...]:
    """Say how much of the wet floor no dehumidifier reaches as proposed, behind closed doors."""
    placed = np.array(
        [(row["new_x"], row["new_y"]) for row in rows if row["action"] != "remove"], dtype=float
    ).reshape(-1, 2)
    if site.kind != "dehumidifier" or not len(placed):
        return ()
    way = ways(site.space, Positions(placed, np.full(len(placed), np.nan)), site.demand.points)
    lost = ~np.isfinite(way).any(axis=0)
    share = 100.0 * float(site.demand.weight[lost].sum() / site.demand.weight.sum())
    if share < 0.5:
        return ()
    return (
        f"{share:.0f} % of the wet floor's need lies where the air of no dehumidifier reaches: "
        "open a door, or bring one more.",
    )


def _assigned(site: _Site, chosen: Sequence[int]) -> dict[int, int]:
    """Give each chosen position the machine with the shortest way to it; new machines follow.

    Keys below the number of machines are machines, others are new ones.
    """
    standing = len(site.machines)
    if not standing:
        return dict(enumerate(chosen))
    target = site.positions.points[list(chosen)].reshape(-1, 2)
    way = ways(site.space, at_machines(site.machines), target)
    straight = np.hypot(*(np.array([(m.x, m.y) for m in site.machines])[:, None, :] - target).T).T
    way = np.where(np.isfinite(way), way, straight + 1e3)
    machine, column = linear_sum_assignment(way)
    given = {int(m): int(chosen[c]) for m, c in zip(machine, column, strict=True)}
    left = [place for index, place in enumerate(chosen) if index not in set(column.tolist())]
    return given | {standing + index: int(place) for index, place in enumerate(left)}


def _without_small_moves(site: _Site, target: dict[int, int], least: float) -> dict[int, int]:
    """Leave machines where they stand when moving them adds next to nothing."""
    current = dict(target)
    full = site.share([*current.values()])
    while True:
        losses = {
            machine: full - site.share([*(current | {machine: machine}).values()])
            for machine, place in current.items()
            if machine < len(site.machines) and place != machine and machine not in site.in_the_way
        }
        small = [machine for machine, loss in losses.items() if loss < 100.0 * least]
        if not small:
            return current
        easiest = min(small, key=lambda machine: losses[machine])
        current[easiest] = easiest
        full = site.share([*current.values()])


def _move(site: _Site, machine: int, place: int, target: dict[int, int]) -> dict[str, object]:
    """Describe what happens to one machine."""
    standing = len(site.machines)
    point, heading = site.positions.points[place], float(site.positions.direction_deg[place])
    today = list(range(standing))
    after = site.share([*target.values()])
    others = [where for who, where in target.items() if who != machine]
    if machine < standing:
        one = site.machines[machine]
        alone = [where if who != machine else place for who, where in enumerate(today)]
        gain = site.share(alone) - site.share(today)
        loss = after - site.share([*others, machine])
        moved = math.hypot(point[0] - one.x, point[1] - one.y)
        action = "stay" if place == machine else "turn" if moved < 0.05 else "move"
    else:
        letter = "D" if site.kind == "dehumidifier" else "F"
        name = f"new {letter}{machine - standing + 1}"
        one = Machine(name, site.kind, math.nan, math.nan)
        gain = site.share([*today, place]) - site.share(today)
        loss = after - site.share(others)
        action = "bring"
    row = _row(one, action)
    path = _path(site, one, point) if action == "move" else Point(*map(float, point))
    row |= {
        "new_x": float(point[0]),
        "new_y": float(point[1]),
        "new_direction_deg": heading,
        "way_m": float(path.length),
        "gain_alone": gain,
        "loss_if_left": loss,
        "serves": _served(site, place, others),
        "geometry": path,
    }
    row["sentence"] = described_move(row)
    return row


def _path(site: _Site, one: Machine, point: Array) -> BaseGeometry:
    way = shortest_path(site.space, (one.x, one.y), (float(point[0]), float(point[1])))
    return way if way is not None else LineString([(one.x, one.y), tuple(map(float, point))])


def _served(site: _Site, place: int, others: Sequence[int]) -> str:
    """Say which wet places a machine serves better than the others do."""
    rest = site.service[list(others)].max(axis=0) if others else np.zeros(site.service.shape[1])
    mine = (site.service[place] > rest) & (site.service[place] > 0)
    if not mine.any():
        return ""
    weight = np.where(mine, site.demand.weight, 0.0)
    names = sorted(
        {str(z) for z in site.demand.zone[mine] if z},
        key=lambda name: -float(weight[site.demand.zone == name].sum()),
    )
    said = [f"zone {name}" for name in names[:3]] or ["wet floor outside the zones"]
    if (site.demand.stagnant & mine).any():
        said.append("floor that does not dry")
    return ", ".join(said)


def _row(one: Machine, action: str) -> dict[str, object]:
    """Begin a row: the machine as it stands."""
    heading = math.nan if one.direction_deg is None else one.direction_deg
    where = Point(one.x, one.y) if math.isfinite(one.x) else Point()
    row: dict[str, object] = {
        "machine": one.name,
        "kind": one.kind,
        "action": action,
        "x": one.x,
        "y": one.y,
        "direction_deg": heading,
        "new_x": one.x,
        "new_y": one.y,
        "new_direction_deg": heading,
        "way_m": 0.0,
        "gain_alone": 0.0,
        "loss_if_left": 0.0,
        "serves": "",
        "geometry": where,
    }
    row["sentence"] = described_move(row)
    return row


def _score(site: _Site, before: float, after: float, exact: bool) -> PlacementScore:
    if site.kind == "air-mover":
        today = before if site.machines else math.nan
        return PlacementScore(site.kind, "%", today, after, after - before, exact)
    today = site.full * (1.0 - before / 100.0) if site.machines else math.nan
    proposed = site.full * (1.0 - after / 100.0)
    return PlacementScore(site.kind, "m", today, proposed, after - before, exact)
