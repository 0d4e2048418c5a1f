"""The use cases, one a file; each reads like the sentence of the job."""

from moisturemap.workflow.check import check_path, check_survey
from moisturemap.workflow.demo import copy_demo, demo_plans
from moisturemap.workflow.drying import compare_visits
from moisturemap.workflow.judge import judge, judge_or_map
from moisturemap.workflow.pack import Packed, pack_survey
from moisturemap.workflow.placement import place_equipment, plan_drying
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.scan_layout import lay_out_scan
from moisturemap.workflow.study import study

__all__ = [
    "Packed",
    "check_path",
    "check_survey",
    "compare_visits",
    "copy_demo",
    "demo_plans",
    "judge",
    "judge_or_map",
    "lay_out_scan",
    "pack_survey",
    "place_equipment",
    "plan_drying",
    "read_survey",
    "study",
]
