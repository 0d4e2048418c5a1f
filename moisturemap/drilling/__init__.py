"""Where to drill, why, how deep."""

from moisturemap.drilling.chance import (
    chance_missed,
    chance_missed_random,
    chance_missed_square,
    chance_missed_triangular,
    ratio_for_miss,
)
from moisturemap.drilling.choose import plan_holes
from moisturemap.drilling.counts import COUNT_RULES, count_rule
from moisturemap.drilling.depth import HoleDepth, hole_depth
from moisturemap.drilling.draft import SAME_HOLE_M
from moisturemap.drilling.evidence import (
    evidence_sentence,
    fraction_believed,
    fraction_shown,
    holes_needed,
    k_factor,
)
from moisturemap.drilling.options import DrillOptions, Weights
from moisturemap.drilling.plan import (
    HOLE_COLUMNS,
    PURPOSE_WORDS,
    PURPOSES,
    DrillPlan,
    drill_plan_table,
    no_holes,
    purpose_words,
)
from moisturemap.drilling.setout import SetOut, set_out
from moisturemap.survey import CountRule

__all__ = [
    "SAME_HOLE_M",
    "COUNT_RULES",
    "HOLE_COLUMNS",
    "PURPOSES",
    "PURPOSE_WORDS",
    "CountRule",
    "DrillOptions",
    "DrillPlan",
    "HoleDepth",
    "SetOut",
    "Weights",
    "chance_missed",
    "chance_missed_random",
    "chance_missed_square",
    "chance_missed_triangular",
    "count_rule",
    "drill_plan_table",
    "evidence_sentence",
    "fraction_believed",
    "fraction_shown",
    "hole_depth",
    "holes_needed",
    "k_factor",
    "no_holes",
    "plan_holes",
    "purpose_words",
    "ratio_for_miss",
    "set_out",
]
