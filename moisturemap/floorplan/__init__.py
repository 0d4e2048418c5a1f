"""The floor as geometry in metres."""

from moisturemap.floorplan.domain import Domain
from moisturemap.floorplan.grid import CellGrid
from moisturemap.floorplan.line import LINE_KINDS, PlanLine
from moisturemap.floorplan.plan import FloorPlan
from moisturemap.floorplan.room import Room, Slab

__all__ = ["LINE_KINDS", "CellGrid", "Domain", "FloorPlan", "PlanLine", "Room", "Slab"]
