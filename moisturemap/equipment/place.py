"""Where the drying machines should stand: a ranking by distance and reach, not airflow.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import geopandas as gpd
import numpy as np
from numpy.typing import NDArray

from moisturemap.equipment.air_space import air_space
from moisturemap.equipment.cold_air import cold_sentences, iced, iced_row
from moisturemap.equipment.demand import Demand
from moisturemap.equipment.machine import KINDS, Machine, machine_notes
from moisturemap.equipment.move_words import score_sentence
from moisturemap.equipment.moves import MOVE_COLUMNS, move_row, plain_row
from moisturemap.equipment.placement_options import PlacementOptions
from moisturemap.equipment.power_load import cable_notes, power_notes
from moisturemap.equipment.score import PlacementScore
from moisturemap.equipment.site import Site
from moisturemap.equipment.sizing import SizingRule
from moisturemap.equipment.together import APART_M, assigned, choose_together, without_small_moves
from moisturemap.equipment.unreached import UnreachedFloor, unreached_floor, unreached_sentences
from moisturemap.floorplan import FloorPlan

Array = NDArray[np.float64]

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
    unreached : tuple of UnreachedFloor
        Wet floor that no dehumidifier reaches as proposed, or beside which no air mover can
        stand, with the cause.
    statements, cautions, notes : tuple of str
    options : PlacementOptions
    """

    moves: gpd.GeoDataFrame
    scores: tuple[PlacementScore, ...]
    demand: Demand
    sizing: tuple[SizingRule, ...] = ()
    unreached: tuple[UnreachedFloor, ...] = ()
    statements: tuple[str, ...] = ()
    cautions: tuple[str, ...] = CAUTIONS
    notes: tuple[str, ...] = ()
    options: PlacementOptions = field(default_factory=PlacementOptions)


def place_machines(
    plan: FloorPlan,
    demand: Demand,
    machines: Sequence[Machine],
    options: PlacementOptions | None = None,
    *,
    air_c: float | None = None,
) -> Placement:
    """Propose where each machine should stand.

    Dehumidifiers: weighted k-median, the mean way of air from the wet floor to the nearest one.
    Air movers: weighted coverage of the wet floor by their streams, from beside it. Ways go round
    walls and through open doors. All kinds are placed together, ``APART_M`` apart from each other.

    Parameters
    ----------
    plan : FloorPlan
    demand : Demand
    machines : sequence of Machine
        As they stand today.
    options : PlacementOptions, optional
    air_c : float, optional
        Air of the rooms [C]: a refrigerant dehumidifier that ices there is not placed.

    Returns
    -------
    Placement

    Raises
    ------
    OptionError
        When a door said to stand closed is none of the plan.
    """
    options = options or PlacementOptions()
    listed, lost_to_cold = tuple(machines), iced(machines, air_c)
    machines = tuple(one for one in listed if one not in lost_to_cold)
    space, notes = air_space(plan, options.closed_doors)
    notes = (*notes, *machine_notes(listed, plan))
    own = {kind: tuple(one for one in machines if one.kind == kind) for kind in KINDS}
    wanted = dict(zip(KINDS, (options.dehumidifiers, options.air_movers), strict=True))
    counts = {
        kind: len(own[kind]) if wanted[kind] is None else int(wanted[kind] or 0) for kind in KINDS
    }
    kinds = [kind for kind in KINDS if own[kind] or counts[kind]]
    if not len(demand.points):
        rows = [plain_row(one, "stay") for one in sorted(listed, key=lambda m: KINDS.index(m.kind))]
        dry = "No floor is mapped above the wet level: there is nothing to place machines by."
        return _placement(rows, demand, (dry,), notes, options)
    sites = {kind: Site.of(plan, space, own[kind], kind, demand, options) for kind in kinds}
    rows, scores, final = _proposed(sites, counts, options)
    lost: tuple[UnreachedFloor, ...] = ()
    for kind, site in sites.items():
        notes = (*notes, *site.notes, *_without_a_place(site, counts[kind], final[kind]))
        lost = (*lost, *unreached_floor(site, final[kind], options))
    if sites:
        current = {one.name: one.current_a for one in machines if one.current_a is not None}
        site = next(iter(sites.values()))
        notes = (
            *notes,
            *cable_notes(site, rows, options.cable_m),
            *power_notes(site, rows, current),
        )
    rows += [iced_row(one, air_c) for one in lost_to_cold]
    wanted_more = counts["dehumidifier"] > len(own["dehumidifier"])
    cold = cold_sentences(listed, air_c, wanted=wanted_more)
    said = (*cold, *unreached_sentences(lost), *(score_sentence(one) for one in scores))
    placed = _placement(rows, demand, said, notes, options)
    return replace(placed, scores=tuple(scores), unreached=lost)


def _placement(
    rows: list[dict[str, object]],
    demand: Demand,
    said: tuple[str, ...],
    notes: tuple[str, ...],
    options: PlacementOptions,
) -> Placement:
    moves = gpd.GeoDataFrame(rows, columns=list(MOVE_COLUMNS), geometry="geometry")
    rank = {"move": 0, "bring": 0, "turn": 0, "stay": 1, "remove": 2}
    if len(moves):
        order = np.lexsort((-moves["loss_if_left"].astype(float), moves["action"].map(rank)))
        moves = moves.iloc[order].reset_index(drop=True)
    unique = tuple(dict.fromkeys(notes))
    return Placement(moves, (), demand, statements=(*said, RANKING), notes=unique, options=options)


def _proposed(
    sites: dict[str, Site], counts: dict[str, int], options: PlacementOptions
) -> tuple[list[dict[str, object]], list[PlacementScore], dict[str, list[int]]]:
    """Choose positions, give them to machines and leave alone what is hardly worth moving."""
    choices = choose_together(sites, counts)
    stands = {kind: sites[kind].positions.points[list(one.chosen)] for kind, one in choices.items()}
    rows, scores, final = [], [], {}
    for kind, choice in choices.items():
        site = sites[kind]
        others = [points for other, points in stands.items() if other != kind]
        around = np.concatenate([np.empty((0, 2)), *others])
        target = without_small_moves(
            site, assigned(site, choice.chosen), options.least_gain, around
        )
        final[kind] = [*target.values()]
        stands[kind] = site.positions.points[final[kind]].reshape(-1, 2)
        rows += [move_row(site, machine, place, target) for machine, place in target.items()]
        left = [index for index in range(len(site.machines)) if index not in target]
        rows += [
            plain_row(site.machines[index], "remove", crowded=len(target) < counts[kind])
            for index in left
        ]
        scores.append(site.score(final[kind], choice.exact))
    return rows, scores, final


def _without_a_place(site: Site, count: int, final: list[int]) -> tuple[str, ...]:
    if len(final) >= count:
        return ()
    return (
        f"Only {len(final)} of {count} {site.kind.replace('-', ' ')}s find a place {APART_M:g} m "
        "from every other machine.",
    )
