"""Where to drill, why, how deep."""

from moisturemap.drilling.plan import HOLE_COLUMNS, PURPOSES, DrillPlan

__all__ = ["HOLE_COLUMNS", "PURPOSES", "DrillPlan"]
