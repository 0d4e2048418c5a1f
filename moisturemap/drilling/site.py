"""The floor as the planner sees it: places, what is known there, and where a hole may stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree
from shapely import unary_union
from shapely.geometry.base import BaseGeometry

from moisturemap.drilling.ground import Ground
from moisturemap.floorplan import FloorPlan, Wall, exterior_walls, walls
from moisturemap.zones import block_side, thin

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

WETTEST = 0.05
"""Share of the floor that counts as its wettest part."""

WIDENED = 1.6
"""Factor on the spread of the draws (project choice, measured on invented floors)."""

DOUBT = 0.3
"""Share of the draws in which narrow peaks are taken for buried objects (project choice)."""

FAR = 3.5
"""Sds by which a place may rise or the threshold fall in a draw; beyond both together, places are
not drawn (our choice: one draw in a million)."""

NARROW_M, NEIGHBOURS = 0.9, 13
"""Distance [m] and most places of the local median that takes narrow peaks away."""

NEAR_WALL_M = 0.9144
"""A hole this close to an exterior wall stands for it: ASTM F2170 asks for one within 3 ft (1 m) of
each on slabs on or below grade (from memory, verify); the smaller of the two holds [m]."""

SHORTEST_WALL_M = 1.0
"""Shorter walls of a room ask for no hole of their own (our choice) [m]."""

EXTERIOR_M = 0.3
"""A room's wall this close to an exterior wall's line is that wall [m]."""

MOST_DOUBT = 2.0
"""Beyond this a likelier thing keeps no hole further away: in a wet zone the odds mean little."""

SIDES = ("north", "east", "south", "west")


@dataclass(frozen=True)
class Site:
    """Places that stand for the floor, and where holes may stand.

    Attributes
    ----------
    points : ndarray, shape (m, 2)
        Places [m]; the later ones may be pinned or done holes.
    weight : ndarray, shape (m,)
        Share of the floor each stands for.
    domain, room : ndarray of int, shape (m,)
    mean : ndarray, shape (m,)
        Mapped reading; NaN where nothing is mapped.
    rank : ndarray, shape (m,)
        Share of the mapped floor that reads less; NaN where nothing is mapped.
    allowed : ndarray of bool, shape (m,)
        Where a hole may be proposed.
    wettest : ndarray of bool, shape (draws, m)
        Whether the place lies in the wettest twentieth of each conditional draw of the floor.
    in_zone : ndarray of bool, shape (m, zones)
        Whether the place lies in the zone.
    at_top : ndarray of bool, shape (m, peaks)
        Whether a hole there tests the peak of a zone: where it reads nearly as high, anywhere in
        the zone where no hole can stand there.
    top_share : ndarray, shape (peaks,)
        Share of the wet area, that of a zone shared by its peaks.
    zone_names : tuple of str
    near_wall : ndarray of bool, shape (m, walls)
    wall_names : tuple of dict of str to str
        What each exterior wall is called in each room behind it.
    doubt : ndarray, shape (m,)
        Chance that something lies within the clearance, over that under unread floor.
    """

    points: Array
    weight: Array
    domain: NDArray[np.intp]
    room: NDArray[np.intp]
    mean: Array
    rank: Array
    allowed: Mask
    wettest: Mask
    in_zone: Mask
    at_top: Mask
    top_share: Array
    zone_names: tuple[str, ...]
    near_wall: Mask
    wall_names: tuple[dict[str, str], ...]
    room_names: tuple[str, ...]
    doubt: Array


def doubt_of(log_odds: Array) -> Array:
    """Chance of something hidden over that under unread floor, at most ``MOST_DOUBT``."""
    return np.asarray(np.exp(np.minimum(log_odds, np.log(MOST_DOUBT))))


def _doubts(log_odds: Array, in_zone: Mask, allowed: Mask) -> Array:
    """Doubt of places; a wet zone's clearest place counts no more than a usual one of the floor.

    Else zones would be shunned, for wet floor reads roughly.
    """
    doubt = doubt_of(log_odds)
    usual = float(np.median(doubt[allowed])) if allowed.any() else 0.0
    for members in in_zone.T:
        if (members & allowed).any():
            doubt[members] -= max(float(doubt[members & allowed].min()) - usual, 0.0)
    return doubt


def make_site(ground: Ground, clear: Mask, extra: Array) -> Site:
    """Thin the floor to places and gather what is known there.

    Parameters
    ----------
    ground : Ground
    clear : ndarray of bool, shape (ny, nx)
        Cells on which a hole may stand.
    extra : ndarray, shape (k, 2)
        Pinned and done holes [m], appended to the places with no weight.
    """
    grid, cells = ground.surface.grid, ground.cells
    side = block_side(cells, ground.options.places)
    row, column, weight = thin(cells, side, _preference(ground, cells, clear))
    points = np.column_stack([grid.x[column], grid.y[row]])
    allowed = clear[row, column]
    domain, room = grid.domain[row, column], grid.room[row, column]
    mean = ground.surface.mean[row, column]
    odds = ground.log_odds[row, column]
    if len(extra):
        domain_x, room_x, mean_x = _at(ground, extra)
        points = np.concatenate([points, extra])
        weight = np.concatenate([weight, np.zeros(len(extra))])
        allowed = np.concatenate([allowed, np.zeros(len(extra), dtype=bool)])
        domain, room = np.concatenate([domain, domain_x]), np.concatenate([room, room_x])
        mean = np.concatenate([mean, mean_x])
        odds = np.concatenate([odds, np.zeros(len(extra))])
    weight = weight / weight.sum()
    rooms = [one.name for one in ground.plan.rooms]
    unread = np.isin(room, [rooms.index(one) for one in ground.unread])
    mean = np.where(unread, np.nan, mean)
    in_zone, zone_share, zone_names = _zones(ground, points)
    near, names = _walls(ground, points)
    return Site(
        points,
        weight,
        domain,
        room,
        mean,
        _rank(ground, mean),
        allowed,
        _wettest(ground, points, weight, np.where(unread, -1, domain)),
        in_zone,
        _at_top(ground, points, in_zone, allowed),
        _shared(ground, zone_share),
        zone_names,
        near,
        names,
        tuple(rooms),
        _doubts(odds, in_zone, allowed),
    )


def _at_top(ground: Ground, points: Array, in_zone: Mask, allowed: Mask) -> Mask:
    """Which places test which peak of a zone, (m, peaks)."""
    at = _cell_of(ground, points)
    found = np.zeros((len(points), len(ground.zone_tops)), dtype=bool)
    for peak, (number, top) in enumerate(ground.zone_tops):
        high = in_zone[:, number] & top[at]
        found[:, peak] = high if (high & allowed).any() else in_zone[:, number]
    return found


def _shared(ground: Ground, zone_share: Array) -> Array:
    """Share of each peak, that of its zone over their number."""
    zones = np.array([number for number, _ in ground.zone_tops], dtype=np.intp)
    return zone_share[zones] / np.bincount(zones, minlength=zone_share.size)[zones]


def _preference(ground: Ground, cells: Mask, clear: Mask) -> Array:
    """Key by which a block chooses its place: clear cells, in the wet part the wettest of them.

    Elsewhere that which speaks least for something hidden.
    """
    mean = np.where(cells, ground.surface.mean, np.nan)
    key = np.where(clear, doubt_of(ground.log_odds), np.inf)
    known = np.isfinite(mean)
    if known.any():
        wet = known & (mean >= np.quantile(mean[known], 1.0 - 2.0 * WETTEST))
        wet = clear & known & np.any([wet, *(top for _, top in ground.zone_tops)], axis=0)
        key[wet] = np.nanmin(mean) - mean[wet] - 1.0
    return key


def _at(ground: Ground, places: Array) -> tuple[NDArray[np.intp], NDArray[np.intp], Array]:
    """Domain, room and mapped reading at places [m]."""
    row, column = _cell_of(ground, places)
    mean = ground.surface.mean[row, column]
    grid = ground.surface.grid
    return grid.domain[row, column], grid.room[row, column], mean


def _cell_of(ground: Ground, places: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Row and column of the cells places (m, 2) lie in [m]."""
    grid = ground.surface.grid
    column = np.searchsorted(grid.x, places[:, 0] - 0.5 * grid.spacing)
    row = np.searchsorted(grid.y, places[:, 1] - 0.5 * grid.spacing)
    return np.clip(row, 0, grid.y.size - 1), np.clip(column, 0, grid.x.size - 1)


def _rank(ground: Ground, mean: Array) -> Array:
    """Share of the mapped floor that reads less than each place; cells are counted, not places.

    Places stand for the wettest of their block, so that a share of places is none of floor.
    """
    rooms = [room.name for room in ground.plan.rooms]
    surface = ground.surface
    unread = np.isin(surface.grid.room, [rooms.index(one) for one in ground.unread])
    mapped = surface.mean[ground.cells & ~unread]
    mapped = np.sort(mapped[np.isfinite(mapped)])
    below = np.searchsorted(mapped, mean) / max(mapped.size, 1)
    return np.asarray(np.where(np.isfinite(mean), below, np.nan))


def _wettest(ground: Ground, points: Array, weight: Array, domain: NDArray[np.intp]) -> Mask:
    """Whether each place lies in the wettest twentieth, draw by draw."""
    options, surface = ground.options, ground.surface
    mapped = np.zeros(len(points), dtype=bool)
    near = np.tile(np.arange(len(points))[:, None], NEIGHBOURS)
    for index, part in enumerate(surface.domains):
        here = np.flatnonzero(domain == index)
        if part.key in surface.fields and here.size:
            mapped[here] = True
            near[here] = here[_neighbours(points[here])]
    if not mapped.any():
        return np.zeros((options.draws, len(points)), dtype=bool)
    likely = _maybe_wettest(_bounds(ground, points), np.where(mapped, weight, 0.0), near)
    wanted = np.unique(near[likely & mapped])
    values = np.full((options.draws, len(points)), -np.inf)
    for index, part in enumerate(surface.domains):
        here = wanted[domain[wanted] == index]
        if here.size:
            field = surface.fields[part.key]
            values[:, here] = field.draws(points[here], options.draws, options.seed + index)
    values = _doubted(values, near, likely & mapped)
    order = np.argsort(-values, axis=1)
    reached = np.cumsum(np.where(mapped, weight, 0.0)[order], axis=1)
    last = (reached < WETTEST * reached[:, -1:]).sum(axis=1)
    lowest = np.take_along_axis(values, np.take_along_axis(order, last[:, None], 1), 1)
    return np.asarray((values >= lowest) & likely & mapped)


def _neighbours(points: Array) -> NDArray[np.intp]:
    """Places around each place, itself instead of those too far away: (m, NEIGHBOURS)."""
    own = np.arange(len(points))[:, None]
    count = min(NEIGHBOURS, len(points))
    distance, near = cKDTree(points).query(points, k=np.arange(1, count + 1))
    near = np.where(distance <= NARROW_M, near, own)
    return np.hstack([near, np.tile(own, NEIGHBOURS - count)])


def _bounds(ground: Ground, points: Array) -> tuple[Array, Array]:
    """Bound the readings of each place in next to all draws; NaN where none is mapped."""
    at = _cell_of(ground, points)
    mean, sd = ground.surface.mean[at], ground.surface.sd[at]
    return mean - FAR * WIDENED * sd, mean + FAR * WIDENED * sd


def _maybe_wettest(bounds: tuple[Array, Array], weight: Array, near: NDArray[np.intp]) -> Mask:
    """Whether a place comes into the wettest twentieth of any draw; when in doubt it does.

    Only these are drawn: on a floor with a wet zone they are few. A median keeps the order of its
    values, so that medians of the bounds bound the medians of the draws.
    """
    low, high = bounds
    low = np.minimum(low, np.median(low[near], axis=1))
    high = np.maximum(high, np.median(high[near], axis=1))
    known = np.isfinite(low) & np.isfinite(high)
    order = np.argsort(-np.where(known, low, -np.inf), kind="stable")
    reached = np.cumsum(np.where(known, weight, 0.0)[order])
    lowest = low[order[int((reached < WETTEST * weight.sum()).sum()) % len(order)]]
    return np.asarray(~known | ~(high < lowest))


def _doubted(drawn: Array, near: NDArray[np.intp], likely: Mask) -> Array:
    """Widen draws about their mean, and take narrow peaks out of a share of them.

    A map knows nothing of buried objects that nobody flagged; on invented floors that hold some,
    plain draws promised to hit the wettest twentieth on 98% and hit it on 90%. Holes that also
    find it when a narrow peak is such an object are worth more.
    """
    known = np.isfinite(drawn[0])
    mean = drawn[:, known].mean(axis=0)
    drawn[:, known] = mean + WIDENED * (drawn[:, known] - mean)
    count = round(DOUBT * len(drawn))
    drawn[:count, likely] = np.median(drawn[:count][:, near[likely]], axis=2)
    return drawn


def _zones(ground: Ground, points: Array) -> tuple[Mask, Array, tuple[str, ...]]:
    zones = ground.zones
    if zones.empty:
        return np.zeros((len(points), 0), dtype=bool), np.empty(0), ()
    inside = [shapely.intersects_xy(zone, points[:, 0], points[:, 1]) for zone in zones.geometry]
    share = zones["area_m2"].to_numpy(float) * zones["confidence"].to_numpy(float)
    names = tuple(str(name) for name in zones["zone"])
    return np.column_stack(inside), share / max(float(share.sum()), 1e-12), names


def _walls(ground: Ground, points: Array) -> tuple[Mask, tuple[dict[str, str], ...]]:
    """Which places stand for which exterior wall, each by its own room's part of it."""
    near, names = [], []
    places = shapely.points(points)
    for wall in outer_walls(ground.plan):
        rooms = [room for room in wall.lines if any(room in d.rooms for d in ground.domains)]
        if not rooms:
            continue
        beside = np.zeros(len(points), dtype=bool)
        for room in rooms:
            inside = shapely.distance(ground.plan.room(room).polygon, places) <= 1e-6
            beside |= inside & (shapely.distance(wall.lines[room], places) <= NEAR_WALL_M)
        near.append(beside)
        names.append(wall.names)
    if not near:
        return np.zeros((len(points), 0), dtype=bool), ()
    return np.column_stack(near), tuple(names)


@dataclass(frozen=True, slots=True)
class OuterWall:
    """An exterior wall, one straight line along the rooms behind it.

    Attributes
    ----------
    names : dict of str to str
        What it is called, by room.
    lines : dict of str to shapely geometry
        Its part along each room [m].
    """

    names: dict[str, str]
    lines: dict[str, BaseGeometry]


def outer_walls(plan: FloorPlan) -> list[OuterWall]:
    """Return the exterior walls, each straight run once however many rooms stand along it.

    Room walls shorter than 1 m, faces of columns and walls less than half along an exterior wall
    are left out.
    """
    outside, _ = exterior_walls(plan)
    band = outside.buffer(EXTERIOR_M)
    runs: list[tuple[str, list[Wall], list[str]]] = []
    for room in plan.rooms:
        for wall in walls(room):
            if wall.length < SHORTEST_WALL_M or not wall.name.startswith(SIDES):
                continue
            if wall.line.intersection(band).length < 0.5 * wall.length:
                continue
            side = wall.name.split()[0]
            run = next((r for r in runs if r[0] == side and _in_line(r[1][0], wall)), None)
            if run is None:
                runs.append((side, [wall], [room.name]))
            else:
                run[1].append(wall)
                run[2].append(room.name)
    return [_outer_wall(found, rooms, len(plan.rooms) > 1) for _, found, rooms in runs]


def _in_line(one: Wall, other: Wall) -> bool:
    """Whether two walls of one side continue each other, within ``EXTERIOR_M``."""
    start, end = np.asarray(one.line.coords)[[0, -1], :2]
    run = (end - start) / one.length
    off = np.asarray(other.line.coords)[[0, -1], :2] - start
    return bool(np.all(np.abs(off @ np.array([-run[1], run[0]])) <= EXTERIOR_M))


def _outer_wall(found: list[Wall], rooms: list[str], several: bool) -> OuterWall:
    names: dict[str, str] = {}
    lines: dict[str, BaseGeometry] = {}
    for wall, room in zip(found, rooms, strict=True):
        names.setdefault(room, f"{wall.name} of {room}" if several else wall.name)
        lines[room] = unary_union([lines[room], wall.line]) if room in lines else wall.line
    return OuterWall(names, lines)
