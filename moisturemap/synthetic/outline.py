"""Plans of invented floors."""

from __future__ import annotations

from shapely.geometry import LineString, Polygon, box

from moisturemap.floorplan import FloorPlan, PlanLine, Room, Slab
from moisturemap.synthetic.recipe import FloorRecipe

WALL = 0.12
"""Thickness of the thin inner walls of a floor of several rooms [m]."""

COLUMN = 0.4
"""Side of a column [m]."""

SLAB = Slab(base="concrete slab", thickness_mm=150.0, drying_faces=1, heated=False, pour="pour 1")


def _l_shape(width: float, depth: float) -> Polygon:
    return Polygon(
        [
            (0, 0),
            (width, 0),
            (width, 0.55 * depth),
            (0.5 * width, 0.55 * depth),
            (0.5 * width, depth),
            (0, depth),
        ]
    )


def _c_shape(width: float, depth: float) -> Polygon:
    arm = 0.36 * depth
    return Polygon(
        [
            (0, 0),
            (width, 0),
            (width, arm),
            (0.4 * width, arm),
            (0.4 * width, depth - arm),
            (width, depth - arm),
            (width, depth),
            (0, depth),
        ]
    )


def _columns(width: float, depth: float) -> Polygon:
    across, up = max(1, int(width // 4) - 1), max(1, int(depth // 4) - 1)
    holes = []
    for i in range(across):
        for j in range(up):
            x, y = width * (i + 1) / (across + 1), depth * (j + 1) / (up + 1)
            half = COLUMN / 2
            holes.append(box(x - half, y - half, x + half, y + half).exterior.coords[:])
    return Polygon(box(0, 0, width, depth).exterior.coords[:], holes)


def _rooms(width: float, depth: float) -> tuple[Room, ...]:
    x, y, half = 0.55 * width, 0.5 * depth, WALL / 2
    boxes = {
        "living": box(0, 0, x - half, y - half),
        "bedroom": box(0, y + half, x - half, depth),
        "kitchen": box(x + half, 0, width, y - half),
        "bath": box(x + half, y + half, width, depth),
    }
    return tuple(Room(name, polygon, SLAB) for name, polygon in boxes.items())


def make_plan(recipe: FloorRecipe) -> FloorPlan:
    """Lay out the plan of a recipe: rooms, exterior walls and the inner walls between rooms."""
    width, depth = recipe.width, recipe.depth
    if recipe.outline == "rooms":
        rooms = _rooms(width, depth)
        ring = LineString(box(0, 0, width, depth).exterior.coords)
        x, y = 0.55 * width, 0.5 * depth
        inner = (
            PlanLine("interior-wall", LineString([(x, 0), (x, depth)]), "spine wall"),
            PlanLine("interior-wall", LineString([(0, y), (width, y)]), "cross wall"),
        )
        return FloorPlan(rooms, (PlanLine("exterior-wall", ring, "outer wall"), *inner))
    shapes = {
        "rectangle": lambda w, d: box(0, 0, w, d),
        "l-shape": _l_shape,
        "c-shape": _c_shape,
        "columns": _columns,
    }
    polygon = shapes[recipe.outline](width, depth)
    ring = LineString(polygon.exterior.coords)
    return FloorPlan(
        (Room("hall", polygon, SLAB),), (PlanLine("exterior-wall", ring, "outer wall"),)
    )
