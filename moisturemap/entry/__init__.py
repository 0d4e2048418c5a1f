"""Typed and imported input as rows, plans and options."""

from moisturemap.entry.options import drill_options, drying_options, placement_options
from moisturemap.entry.plan_exchange import plan_from_plain, plan_to_plain, stored_plan, turned
from moisturemap.entry.project_parts import instrument_of
from moisturemap.entry.typed_test import examine_typed

__all__ = [
    "drill_options",
    "drying_options",
    "examine_typed",
    "instrument_of",
    "placement_options",
    "plan_from_plain",
    "plan_to_plain",
    "stored_plan",
    "turned",
]
