"""Readings and flags to a surface with its uncertainty."""

from moisturemap.mapping.cell_values import CellValues
from moisturemap.mapping.field import KrigedField
from moisturemap.mapping.map import map_readings, remap, used_spots
from moisturemap.mapping.options import MappingOptions
from moisturemap.mapping.surface import DomainField, MoistureSurface
from moisturemap.mapping.ways import FloorWays

__all__ = [
    "CellValues",
    "DomainField",
    "FloorWays",
    "KrigedField",
    "MappingOptions",
    "MoistureSurface",
    "map_readings",
    "remap",
    "used_spots",
]
