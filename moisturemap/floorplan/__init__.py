"""The floor as geometry in metres."""

from moisturemap.floorplan.distance import (
    WayOptions,
    in_room_distance,
    is_convex_enough,
    shortest_path,
)
from moisturemap.floorplan.domain import Domain, domains
from moisturemap.floorplan.grid import CellGrid, make_grid
from moisturemap.floorplan.line import LINE_KINDS, PlanLine
from moisturemap.floorplan.plan import FloorPlan
from moisturemap.floorplan.room import Room, Slab
from moisturemap.floorplan.wall import Corner, Wall, corners, exterior_walls, nearest_wall, walls

__all__ = [
    "LINE_KINDS", "CellGrid", "Corner", "Domain", "FloorPlan", "PlanLine", "Room", "Slab", "Wall",
    "WayOptions", "corners", "domains", "exterior_walls", "in_room_distance", "is_convex_enough",
    "make_grid", "nearest_wall", "shortest_path", "walls",
]  # fmt: skip
