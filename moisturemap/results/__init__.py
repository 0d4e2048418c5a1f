"""Results as words, tables, layers and files."""

from moisturemap.results.decision import describe_decision, export_decision, summarise_decision
from moisturemap.results.drilling_files import export_drill_plan, summarise_drilling
from moisturemap.results.drying_summary import describe_drying, export_drying, summarise_drying
from moisturemap.results.explain_place import explain_place
from moisturemap.results.key_numbers import key_numbers
from moisturemap.results.layout import describe_layout, export_layout, summarise_layout
from moisturemap.results.map_layers import map_layers, reading_layer
from moisturemap.results.study_files import export_study
from moisturemap.results.study_words import describe, describe_drilling, describe_remarks
from moisturemap.results.summary import records, summarise

__all__ = [
    "describe",
    "describe_decision",
    "describe_drilling",
    "describe_drying",
    "describe_layout",
    "describe_remarks",
    "explain_place",
    "export_decision",
    "export_drill_plan",
    "export_drying",
    "export_layout",
    "export_study",
    "key_numbers",
    "map_layers",
    "reading_layer",
    "records",
    "summarise",
    "summarise_decision",
    "summarise_drilling",
    "summarise_drying",
    "summarise_layout",
]
