"""Where to read, and what such a grid can miss."""

from moisturemap.scanning.coverage import scan_spacing
from moisturemap.scanning.detection import (
    grid_limits,
    mesh_alias,
    miss_probability,
    ridge_share,
    smallest_spot,
    telling_apart,
)
from moisturemap.scanning.frame import frame_doubt
from moisturemap.scanning.layout import LayoutOptions, ScanLayout, lay_out
from moisturemap.scanning.left_rows import left_rows
from moisturemap.scanning.names import ONE_PLACE_M, NamedPlace, named_apart
from moisturemap.scanning.remark import LEVELS, OF_RECORD, Remark
from moisturemap.scanning.review import review
from moisturemap.scanning.sweeps import SWEEP_COLUMNS, confirming_sweeps, sweep_places
from moisturemap.scanning.units_meant import remarks_on_units

__all__ = [
    "LEVELS",
    "OF_RECORD",
    "ONE_PLACE_M",
    "SWEEP_COLUMNS",
    "LayoutOptions",
    "NamedPlace",
    "Remark",
    "ScanLayout",
    "confirming_sweeps",
    "frame_doubt",
    "left_rows",
    "grid_limits",
    "lay_out",
    "mesh_alias",
    "miss_probability",
    "named_apart",
    "remarks_on_units",
    "review",
    "ridge_share",
    "scan_spacing",
    "smallest_spot",
    "sweep_places",
    "telling_apart",
]
