"""Many floors: each studied as on its own, side by side, into one dataset.

See ``docs/many-floors.md``.
"""

from moisturemap.batch.dataset import SCHEMA_VERSION, TABLES
from moisturemap.batch.listing import FloorSource, find_surveys
from moisturemap.batch.options import BatchOptions
from moisturemap.batch.run import BatchResult, floors_known, run_batch

__all__ = [
    "SCHEMA_VERSION",
    "TABLES",
    "BatchOptions",
    "BatchResult",
    "FloorSource",
    "find_surveys",
    "floors_known",
    "run_batch",
]
