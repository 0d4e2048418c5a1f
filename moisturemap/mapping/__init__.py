"""Readings and flags to a surface with its uncertainty."""

from moisturemap.mapping.cell_values import CellValues
from moisturemap.mapping.earlier_floor import EarlierFloor, SameInstrument
from moisturemap.mapping.field import KrigedField
from moisturemap.mapping.floor_embedding import FloorEmbedding
from moisturemap.mapping.floor_told import floor_told
from moisturemap.mapping.map import map_readings, map_without, remap, used_locations
from moisturemap.mapping.options import MappingOptions
from moisturemap.mapping.surface import DomainField, MoistureSurface

__all__ = [
    "CellValues",
    "DomainField",
    "EarlierFloor",
    "FloorEmbedding",
    "KrigedField",
    "MappingOptions",
    "MoistureSurface",
    "SameInstrument",
    "floor_told",
    "map_readings",
    "map_without",
    "remap",
    "used_locations",
]
