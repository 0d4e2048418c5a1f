"""Invented floors with known truth."""

from moisturemap.synthetic.field import MoistureField, Plume
from moisturemap.synthetic.floor import SyntheticFloor, make_floor
from moisturemap.synthetic.folder import write_folder
from moisturemap.synthetic.recipe import OUTLINES, PLUMES, RECIPES, FloorRecipe, mixed_recipe
from moisturemap.synthetic.service import SERVICE_KINDS, Service

__all__ = [
    "OUTLINES",
    "PLUMES",
    "RECIPES",
    "SERVICE_KINDS",
    "FloorRecipe",
    "MoistureField",
    "Plume",
    "Service",
    "SyntheticFloor",
    "make_floor",
    "mixed_recipe",
    "write_folder",
]
