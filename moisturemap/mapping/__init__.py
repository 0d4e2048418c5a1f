"""Readings and flags to a surface with its uncertainty."""

from moisturemap.mapping.cell_values import CellValues
from moisturemap.mapping.field import KrigedField
from moisturemap.mapping.floor_embedding import FloorEmbedding
from moisturemap.mapping.map import map_readings, remap, used_locations
from moisturemap.mapping.options import MappingOptions
from moisturemap.mapping.surface import DomainField, MoistureSurface

__all__ = [
    "CellValues",
    "DomainField",
    "FloorEmbedding",
    "KrigedField",
    "MappingOptions",
    "MoistureSurface",
    "map_readings",
    "remap",
    "used_locations",
]
