"""Drying machines: where they stand, and where they should."""

from moisturemap.equipment.air_space import refuse_unknown_doors
from moisturemap.equipment.demand import Demand, find_demand, with_unread
from moisturemap.equipment.facility import (
    Choice,
    Clearance,
    choose,
    enumerate_all,
    searched,
    worth,
)
from moisturemap.equipment.machine import Machine, machines_of
from moisturemap.equipment.moves import MOVE_COLUMNS
from moisturemap.equipment.place import CAUTIONS, RANKING, Placement, place_machines
from moisturemap.equipment.placement_options import PlacementOptions
from moisturemap.equipment.score import PlacementScore
from moisturemap.equipment.service import HALF_ANGLE_DEG
from moisturemap.equipment.sizing import SizingRule, size_machines
from moisturemap.equipment.together import APART_M
from moisturemap.equipment.unreached import UnreachedFloor

__all__ = [
    "APART_M",
    "Clearance",
    "UnreachedFloor",
    "CAUTIONS",
    "Choice",
    "Demand",
    "HALF_ANGLE_DEG",
    "MOVE_COLUMNS",
    "Machine",
    "Placement",
    "PlacementOptions",
    "PlacementScore",
    "RANKING",
    "SizingRule",
    "choose",
    "enumerate_all",
    "find_demand",
    "machines_of",
    "place_machines",
    "refuse_unknown_doors",
    "searched",
    "size_machines",
    "worth",
    "with_unread",
]
