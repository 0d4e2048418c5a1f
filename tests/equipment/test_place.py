"""Where machines should stand: doors, keep-clear areas, power, counts."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon, box

from moisturemap.equipment import Demand, Machine, PlacementOptions, place_machines, size_machines
from moisturemap.equipment.air_space import air_space
from moisturemap.equipment.position import find_positions
from moisturemap.equipment.position_words import along_wall, where_words
from moisturemap.equipment.site import Site
from moisturemap.equipment.together import APART_M, choose_together
from moisturemap.errors import OptionError
from moisturemap.floorplan import FloorPlan, PlanLine, Room, geodesic_distance

WEST, EAST = box(0, 0, 5, 4), box(5.1, 0, 10, 4)
HALL = FloorPlan((Room("hall", box(0, 0, 12, 8)),))


def door(x0: float, y0: float, x1: float, y1: float, name: str = "door") -> PlanLine:
    """A door line."""
    return PlanLine("door", LineString([(x0, y0), (x1, y1)]), name)


def socket(x: float, y: float) -> PlanLine:
    """A power point."""
    return PlanLine("power-point", Point(x, y), "socket")


def _demand(*points: tuple[float, float]) -> Demand:
    places = np.array(points)
    count = len(places)
    return Demand(
        places, np.ones(count), np.zeros(count, dtype=bool), np.full(count, "A", dtype=object)
    )


def _rooms(*lines: PlanLine) -> FloorPlan:
    return FloorPlan((Room("west", WEST), Room("east", EAST)), lines)


def test_rooms_without_a_door_are_apart() -> None:
    """No way leads from one to the other, and a note says why."""
    space, notes = air_space(_rooms())
    assert np.isinf(geodesic_distance(space, [[1, 1]], [[9, 1]])).all()
    assert "no doors" in notes[0]


def test_an_open_door_joins_and_a_closed_one_parts() -> None:
    """By the list of closed doors or by its name."""
    plan = _rooms(door(5.05, 1, 5.05, 2, "hall door"))
    way = geodesic_distance(air_space(plan)[0], [[1, 1.5]], [[9, 1.5]])
    assert way[0, 0] == pytest.approx(8.0, abs=0.05)
    shut, notes = air_space(plan, ("hall door",))
    assert np.isinf(geodesic_distance(shut, [[1, 1.5]], [[9, 1.5]])).all()
    assert "closed" in notes[0]
    named = _rooms(door(5.05, 1, 5.05, 2, "hall door closed"))
    assert np.isinf(geodesic_distance(air_space(named)[0], [[1, 1.5]], [[9, 1.5]])).all()


@pytest.mark.parametrize(
    ("lines", "allowed"),
    [
        ((door(5.05, 1, 5.05, 2, "hall door"),), "Allowed: hall door"),
        ((door(5.05, 1, 5.05, 2, ""),), "those of the plan have none"),
        ((), "it shows none"),
    ],
)
def test_a_door_the_plan_does_not_show_is_refused(lines, allowed: str) -> None:
    """Taken for a slip of the keys: the door meant would count as open."""
    with pytest.raises(OptionError, match="no door of this name") as refusal:
        air_space(_rooms(*lines), ("hal door",))
    assert "'hal door'" in str(refusal.value)
    assert allowed in str(refusal.value)
    if "hall door" in allowed:
        shut, _ = air_space(_rooms(*lines), (" Hall  Door",))
        assert np.isinf(geodesic_distance(shut, [[1, 1.5]], [[9, 1.5]])).all()


def test_a_machine_beyond_the_cable_round_the_wall_is_named() -> None:
    """It stands 9.9 m straight from the point and 10.7 m by the door: new places keep within 10."""
    joined = _rooms(door(5.05, 3, 5.05, 4, "door"))
    plan = FloorPlan(joined.rooms, (*joined.lines, socket(9.9, 0.5)))
    mover = Machine("F1", "air-mover", 0.4, 0.5, 0.0)
    notes = place_machines(plan, _demand((2, 0.5), (2.5, 0.5)), [mover]).notes
    (told,) = [one for one in notes if one.startswith("Beyond 10 m of cable")]
    assert "round walls and through open doors: F1 (10." in told
    near = place_machines(plan, _demand((2, 0.5)), [mover], PlacementOptions(cable_m=12.0)).notes
    assert not any("Beyond" in one for one in near)


def test_a_wall_inside_a_room_is_walked_round() -> None:
    """An interior wall lengthens the way of air."""
    wall = PlanLine("interior-wall", LineString([(6, 0), (6, 7)]))
    space, _ = air_space(FloorPlan(HALL.rooms, (wall,)))
    assert geodesic_distance(space, [[5, 1]], [[7, 1]])[0, 0] > 11.5


def test_positions_keep_clear_and_near_power() -> None:
    """No place in a keep-clear area, none beyond the cable."""
    clear = PlanLine("keep-clear", box(0, 0, 6, 8))
    plan = FloorPlan(HALL.rooms, (clear, socket(12.0, 4.0)))
    positions, notes = find_positions(plan, air_space(plan)[0], "dehumidifier", 4.0)
    assert positions.points[:, 0].min() > 6.0
    assert np.hypot(*(positions.points - [12.0, 4.0]).T).max() <= 4.01
    assert "power point" in notes[0]


def test_power_out_of_reach_is_said() -> None:
    """When no place is within the cable, power is left out of account."""
    plan = FloorPlan((Room("hall", box(0, 0, 60, 40)),), (socket(0.0, 0.0),))
    _, notes = find_positions(plan, air_space(plan)[0], "dehumidifier", 0.3)
    assert "left out of account" in notes[0]


def test_a_dehumidifier_moves_to_the_wet_floor() -> None:
    """The move, its way and its gain."""
    placed = place_machines(
        HALL, _demand((10, 6), (10.5, 6.5), (11, 6)), [Machine("D1", "dehumidifier", 1.0, 1.0)]
    )
    move = placed.moves.iloc[0]
    assert move.action == "move"
    assert np.hypot(move.new_x - 10.5, move.new_y - 6.1) < 1.0
    assert move.way_m == pytest.approx(np.hypot(move.new_x - 1, move.new_y - 1), abs=0.05)
    assert move.gain_alone > 50
    assert "no simulation of airflow" in " ".join(placed.statements)


def test_a_machine_that_stands_well_stays() -> None:
    """A move that adds next to nothing is not proposed."""
    placed = place_machines(HALL, _demand((10, 6)), [Machine("D1", "dehumidifier", 10.0, 5.5)])
    assert list(placed.moves["action"]) == ["stay"]


def test_a_machine_outside_the_plan_is_said_and_moved_in() -> None:
    """It serves nothing where it stands."""
    placed = place_machines(HALL, _demand((10, 6)), [Machine("D9", "dehumidifier", 40.0, 6.0)])
    assert any("outside every room" in note for note in placed.notes)
    assert "listed at (40, 6), outside every room of the plan" in placed.moves.iloc[0].sentence
    assert placed.moves.iloc[0].action == "move"


def test_an_air_mover_is_turned_towards_the_wet_floor() -> None:
    """The stream covers the wet place."""
    mover = Machine("F1", "air-mover", 8.0, 6.0, 180.0)
    placed = place_machines(HALL, _demand((10, 6), (10.5, 6)), [mover])
    move = placed.moves.iloc[0]
    assert move.action in ("move", "turn")
    assert placed.scores[0].proposed > placed.scores[0].today


def test_a_machine_in_a_keep_clear_area_is_moved_out() -> None:
    """Even where it serves best."""
    plan = FloorPlan(HALL.rooms, (PlanLine("keep-clear", box(9, 5, 11, 7)),))
    placed = place_machines(plan, _demand((10, 6)), [Machine("D1", "dehumidifier", 10.0, 6.0)])
    move = placed.moves.iloc[0]
    assert move.action == "move"
    assert not box(9, 5, 11, 7).contains(Point(move.new_x, move.new_y))
    assert any("kept clear" in note for note in placed.notes)


def test_wet_floor_behind_a_closed_door_is_said() -> None:
    """One dehumidifier cannot dry two rooms that are apart."""
    placed = place_machines(
        _rooms(), _demand((2, 2), (8, 2)), [Machine("D1", "dehumidifier", 2.0, 2.0)]
    )
    (lost,) = placed.unreached
    assert (lost.room, round(lost.share_pct)) == ("east", 50)
    assert lost.causes == ("no-door",)
    assert "Not reached: the wet floor of east" in placed.statements[0]


def test_more_machines_than_there_are_and_fewer() -> None:
    """One to bring, one to remove."""
    machines = [Machine("D1", "dehumidifier", 1.0, 1.0)]
    more = place_machines(
        HALL, _demand((10, 6), (1, 1)), machines, PlacementOptions(dehumidifiers=2)
    )
    assert set(more.moves["action"]) == {"stay", "bring"}
    fewer = place_machines(HALL, _demand((10, 6)), machines, PlacementOptions(dehumidifiers=0))
    assert list(fewer.moves["action"]) == ["remove"]


def test_a_dry_floor_moves_nothing() -> None:
    """There is nothing to place machines by."""
    nothing = Demand(
        np.empty((0, 2)), np.empty(0), np.empty(0, dtype=bool), np.empty(0, dtype=object)
    )
    placed = place_machines(HALL, nothing, [Machine("D1", "dehumidifier", 1.0, 1.0)])
    assert list(placed.moves["action"]) == ["stay"]
    assert "nothing to place" in placed.statements[0]


def test_cautions_are_always_there_and_nothing_is_called_safe() -> None:
    """Electricity and water first."""
    placed = place_machines(HALL, _demand((10, 6)), [])
    said = " ".join((*placed.cautions, *placed.statements)).casefold()
    assert "electricity and water" in said
    assert "safe" not in said.replace("safety", "")


def test_the_rule_of_thumb_is_cited_and_marked() -> None:
    """10 m2 in one room: 1 + ceil(107.6 / 70) to 1 + ceil(107.6 / 50) air movers."""
    machines = [
        Machine("F1", "air-mover", 1, 1),
        Machine("D1", "dehumidifier", 1, 1, None, 80, "l/day"),
    ]
    movers, capacity = size_machines(machines, {"hall": 10.0}, 50.0, 2.5, 4)
    assert (movers.low, movers.high, movers.present) == (3.0, 4.0, 1.0)
    assert "secondary" in movers.source
    # 125 m3 = 4414.3 ft3, 50 ft3 a pint: 88.3 pints = 41.8 l
    assert capacity.low == pytest.approx(41.77, abs=0.05)
    assert capacity.present == 80.0


@pytest.mark.parametrize(
    "wrong", [{"throw_m": 0.0}, {"dehumidifiers": -1}, {"water_class": 5}, {"ceiling_m": 0.5}]
)
def test_impossible_options_are_refused(wrong: dict[str, float]) -> None:
    """Naming what is allowed."""
    with pytest.raises(OptionError, match="Allowed"):
        PlacementOptions(**wrong)  # type: ignore[arg-type]


def test_moves_are_a_layer() -> None:
    """Paths as geometry, for a map."""
    placed = place_machines(HALL, _demand((10, 6)), [Machine("D1", "dehumidifier", 1.0, 1.0)])
    assert isinstance(placed.moves, gpd.GeoDataFrame)
    assert placed.moves.geometry.iloc[0].distance(Point(1, 1)) < 1e-6


def test_unreached_floor_is_left_out_of_distances() -> None:
    """A machine shut in with dry floor has no distance to the wet floor behind the door."""
    shut = _rooms(door(5.05, 1, 5.05, 2, "hall door"))
    options = PlacementOptions(closed_doors=("hall door",))
    placed = place_machines(
        _power_west(shut), _demand((8, 2)), [Machine("D1", "dehumidifier", 1.0, 1.0)], options
    )
    (score,) = placed.scores
    assert np.isnan(score.today)
    assert np.isnan(score.proposed)
    assert score.unreached_pct == pytest.approx(100.0)
    (lost,) = placed.unreached
    assert lost.causes == ("closed-door", "power")
    assert "hall door" in lost.sentence
    assert "competent person" in lost.sentence
    assert "none is within reach of any wet floor" in " ".join(placed.statements)


def _power_west(plan: FloorPlan) -> FloorPlan:
    return FloorPlan(plan.rooms, (*plan.lines, socket(0.5, 3.5)))


@pytest.mark.parametrize("seed", range(6))
def test_machines_never_stand_on_each_other(seed: int) -> None:
    """Of all kinds, as proposed, however they stood before."""
    rng = np.random.default_rng(seed)
    middle = rng.uniform([2, 2], [10, 6])
    wet = middle + rng.uniform(-1, 1, (12, 2))
    machines = [
        Machine("D1", "dehumidifier", *middle),
        Machine("D2", "dehumidifier", *(middle + 0.1)),
        Machine("F1", "air-mover", *middle, 0.0),
        Machine("F2", "air-mover", *(middle - 0.1)),
    ]
    placed = place_machines(HALL, _demand(*map(tuple, wet)), machines)
    stand = placed.moves[placed.moves["action"] != "remove"][["new_x", "new_y"]].to_numpy(float)
    apart = np.hypot(*(stand[:, None] - stand).T)[np.triu_indices(len(stand), 1)]
    assert len(stand) == 4
    assert apart.min() >= APART_M - 1e-9


def test_an_air_mover_stands_beside_the_patch_and_blows_across_it() -> None:
    """Off the wet floor, with the middle of the patch in front of it."""
    x, y = np.meshgrid(np.arange(5.0, 7.1, 0.5), np.arange(3.0, 5.1, 0.5))
    patch = np.column_stack([x.ravel(), y.ravel()])
    placed = place_machines(
        HALL, _demand(*map(tuple, patch)), [Machine("F1", "air-mover", 6.0, 4.0, 0.0)]
    )
    move = placed.moves.iloc[0]
    stand = np.array([move.new_x, move.new_y])
    assert np.hypot(*(patch - stand).T).min() >= 0.35
    towards = np.degrees(np.arctan2(4.0 - stand[1], 6.0 - stand[0]))
    assert abs((towards - move.new_direction_deg + 180) % 360 - 180) <= 25
    assert "blowing" in move.sentence
    assert "across zone A" in move.sentence
    assert "points" not in move.sentence


def test_a_dehumidifier_stands_beside_the_patch_too() -> None:
    """Leads and plugs stay off the wet floor where there is dry floor to stand on."""
    x, y = np.meshgrid(np.arange(5.0, 7.1, 0.5), np.arange(3.0, 5.1, 0.5))
    patch = np.column_stack([x.ravel(), y.ravel()])
    placed = place_machines(
        HALL, _demand(*map(tuple, patch)), [Machine("D1", "dehumidifier", 1.0, 1.0)]
    )
    move = placed.moves.iloc[0]
    assert np.hypot(*(patch - [move.new_x, move.new_y]).T).min() >= 0.35
    assert "off the wet floor" not in move.sentence


def test_a_dehumidifier_moved_away_from_its_zone_says_why() -> None:
    """It stood in the middle of zone A and was moved from it "for zone A"."""
    x, y = np.meshgrid(np.arange(5.0, 7.1, 0.5), np.arange(3.0, 5.1, 0.5))
    demand = _demand(*map(tuple, np.column_stack([x.ravel(), y.ravel()])))
    placed = place_machines(HALL, demand, [Machine("D1", "dehumidifier", 6.0, 4.0)])
    move = placed.moves.iloc[0]
    assert move.action == "move"
    assert "off the wet floor it stands on: from there it serves" in move.sentence


def test_a_place_is_said_by_walls() -> None:
    """As a technician would find it with a tape."""
    assert where_words(HALL, 0.8, 6.8) == (
        "the north-west corner of hall, 0.80 m from the west wall and 1.20 m from the north wall"
    )
    assert where_words(HALL, 6.0, 0.5).startswith("beside the south wall of hall, 0.50 m")
    assert where_words(HALL, 6.0, 4.0).startswith("the middle of hall")
    aside = where_words(HALL, 2.5, 3.0)
    assert aside == "hall, 2.50 m from the west wall and 3.00 m from the south wall"
    assert along_wall(HALL, 6.0, 0.5, 0.0) == "south wall"
    assert along_wall(HALL, 6.0, 0.5, 90.0) == ""


def test_the_load_of_each_power_point_is_said() -> None:
    """Which machines hang on it; a competent person knows what its circuit carries."""
    plan = FloorPlan(HALL.rooms, (socket(0.0, 4.0), socket(12.0, 4.0)))
    machines = [Machine("D1", "dehumidifier", 2, 2), Machine("F1", "air-mover", 3, 3, 0.0)]
    notes = " ".join(place_machines(plan, _demand((10, 6), (10, 5)), machines).notes)
    assert "Nearest power of each machine" in notes
    assert "competent person" in notes


@pytest.mark.parametrize("seed", range(5))
def test_machines_placed_together_come_near_every_pair_tried(seed: int) -> None:
    """One dehumidifier and one air mover against all pairs that keep clear of each other."""
    rng = np.random.default_rng(100 + seed)
    wet = rng.uniform([1, 1], [11, 7], (20, 2))
    demand = _demand(*map(tuple, wet))
    space = air_space(HALL)[0]
    options = PlacementOptions()
    sites = {
        kind: Site.of(HALL, space, (), kind, demand, options)
        for kind in ("dehumidifier", "air-mover")
    }
    found = choose_together(sites, dict.fromkeys(sites, 1))
    value = sum(sites[kind].share(one.chosen) for kind, one in found.items())
    shares = {
        kind: 100.0 * (site.service @ demand.weight) / (site.full * demand.weight.sum())
        for kind, site in sites.items()
    }
    first, second = (site.positions.points for site in sites.values())
    pairs = shares["dehumidifier"][:, None] + shares["air-mover"][None, :]
    pairs[np.hypot(*(first[:, None] - second).T).T < APART_M] = -1.0
    assert value >= 0.98 * pairs.max()


def test_machines_of_one_circuit_are_added_up() -> None:
    """Points that name the same circuit share its load; what logs show is summed and rated."""
    points = [
        PlanLine("power-point", Point(x, 4.0), f"P{n} circuit 4, 6 A")
        for n, x in ((1, 0.0), (2, 12.0))
    ]
    plan = FloorPlan(HALL.rooms, tuple(points))
    machines = [
        Machine("D1", "dehumidifier", 2, 2, current_a=4.5),
        Machine("D2", "dehumidifier", 10, 2, current_a=3.0),
        Machine("F1", "air-mover", 3, 3, 0.0),
    ]
    notes = " ".join(place_machines(plan, _demand((10, 6), (2, 5)), machines).notes)
    assert "circuit 4 (6 A): D1, D2, F1, together 7.5 A and what F1 draws" in notes
    assert "more than 6 A: part them over other circuits" in notes


def test_wet_floor_no_air_mover_can_stand_beside_names_the_cable() -> None:
    """Where power is too far for a stream to reach it."""
    plan = FloorPlan(HALL.rooms, (socket(0.0, 4.0),))
    machines = [Machine("F1", "air-mover", 1, 3, 0.0)]
    found = place_machines(plan, _demand((11, 6), (11, 5)), machines, PlacementOptions(cable_m=3.0))
    assert [(one.kind, one.causes) for one in found.unreached] == [("air-mover", ("power",))]
    assert "Not in the stream of any air mover" in found.statements[0]


def test_an_air_mover_blows_along_the_wall_of_a_wet_strip() -> None:
    """From its end, not from the wet."""
    strip = [(float(x), 0.4) for x in np.linspace(2.0, 10.0, 40)]
    (row,) = place_machines(
        HALL, _demand(*strip), [Machine("F1", "air-mover", 11, 1, 90.0)]
    ).moves.itertuples()
    assert "along the south wall" in row.sentence


def test_a_machine_without_a_place_is_not_called_superfluous() -> None:
    """It is wanted, but the room is too small for it beside the others."""
    plan = FloorPlan((Room("wc", box(0, 0, 2, 1.6)),))
    machines = [Machine(f"D{n}", "dehumidifier", 1, 0.8) for n in (1, 2, 3)]
    moves = place_machines(plan, _demand((1, 0.8), (1.2, 0.8)), machines).moves
    left = moves[moves["action"] == "remove"]
    assert len(left)
    assert left["sentence"].str.contains("finds no place that keeps clear").all()


def test_a_room_without_a_door_of_its_own_names_the_door_before_the_power() -> None:
    """A door elsewhere, or one to the yard, leads nobody into it; said once for both kinds."""
    hall, vault = Room("hall", box(0, 0, 8, 6)), Room("vault", box(8.2, 0, 12, 6))
    office = Room("office", box(0, 6.2, 8, 9))
    lines = (door(3, 6.1, 4, 6.1), door(0, 1, 0, 2), socket(0.2, 3.0))
    plan = FloorPlan((hall, vault, office), lines)
    machines = [Machine("D1", "dehumidifier", 1, 1), Machine("F1", "air-mover", 1, 3, 0.0)]
    found = place_machines(plan, _demand((10, 3), (4, 3)), machines)
    assert {one.room: one.causes for one in found.unreached} == {"vault": ("no-door", "power")}
    assert sum("vault" in text for text in found.statements) == 1


def test_an_air_mover_near_its_best_place_is_turned_not_carried() -> None:
    """It stands beside the patch and blows away from it."""
    machines = [Machine("F1", "air-mover", 4.1, 3.1, 180.0)]
    found = place_machines(HALL, _demand((6, 3), (6.5, 3)), machines)
    row = found.moves.iloc[0]
    assert row["action"] == "turn"
    assert (row["new_x"], row["new_y"]) == (4.1, 3.1)
    assert "where it stands: blowing east" in row["sentence"]


def test_a_wall_of_several_that_face_one_way_is_told_by_the_room_behind() -> None:
    """The inner east wall of an L, with an office in its corner."""
    shop = Room("shop", Polygon([(0, 0), (14, 0), (14, 4), (6, 4), (6, 11), (0, 11)]))
    plan = FloorPlan((shop, Room("office", box(6.2, 4.2, 10, 11))))
    assert "the east wall towards office" in where_words(plan, 4.9, 7.0)
