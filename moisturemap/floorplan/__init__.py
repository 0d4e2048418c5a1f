"""The floor as geometry in metres."""

from moisturemap.floorplan.assemble import MOST_CORNERS, extent_words, make_plan, metres_per
from moisturemap.floorplan.domain import Domain, domains
from moisturemap.floorplan.drawn_kind import is_harmless, kind_of, names_service
from moisturemap.floorplan.geodesic import (
    GeodesicOptions,
    geodesic_distance,
    is_convex_enough,
    shortest_path,
)
from moisturemap.floorplan.grid import CellGrid, make_grid
from moisturemap.floorplan.line import (
    LINE_KINDS,
    NOT_KEPT_CLEAR,
    NOTED_IN,
    PlanLine,
    unknown_service,
    unknown_words,
    with_what_it_encloses,
)
from moisturemap.floorplan.loose_lines import areas_between
from moisturemap.floorplan.mend import mend
from moisturemap.floorplan.outline import LENGTH_UNITS, Outline
from moisturemap.floorplan.plan import FloorPlan
from moisturemap.floorplan.review import check_plan
from moisturemap.floorplan.room import BUILD_UPS, MEMBRANES, SLAB_POSITIONS, Room, Slab
from moisturemap.floorplan.site_place import SitePlace
from moisturemap.floorplan.size import CHECK_ONE_WALL, doubted_size
from moisturemap.floorplan.storey import Storey
from moisturemap.floorplan.storey_place import storeys_by_place
from moisturemap.floorplan.wall import (
    Corner,
    Wall,
    corners,
    exterior_walls,
    kinds_of_gaps,
    nearest_wall,
    walls,
)
from moisturemap.floorplan.walls_asked import walls_asked

__all__ = [
    "BUILD_UPS",
    "CHECK_ONE_WALL",
    "MEMBRANES",
    "SLAB_POSITIONS",
    "SitePlace",
    "Storey",
    "CellGrid",
    "Corner",
    "Domain",
    "FloorPlan",
    "LENGTH_UNITS",
    "LINE_KINDS",
    "MOST_CORNERS",
    "NOTED_IN",
    "Outline",
    "PlanLine",
    "Room",
    "Slab",
    "Wall",
    "GeodesicOptions",
    "areas_between",
    "check_plan",
    "corners",
    "domains",
    "doubted_size",
    "extent_words",
    "exterior_walls",
    "geodesic_distance",
    "kinds_of_gaps",
    "is_convex_enough",
    "is_harmless",
    "kind_of",
    "names_service",
    "make_grid",
    "make_plan",
    "mend",
    "metres_per",
    "nearest_wall",
    "shortest_path",
    "unknown_service",
    "NOT_KEPT_CLEAR",
    "unknown_words",
    "with_what_it_encloses",
    "walls",
    "storeys_by_place",
    "walls_asked",
]
