"""The main path, one file per use case."""

from moisturemap.workflow.check import SurveyCheck, check_path, check_survey
from moisturemap.workflow.demo import copy_demo, demo_plans
from moisturemap.workflow.describe import describe, describe_drilling, describe_remarks
from moisturemap.workflow.drill import drill_options, export_drill_plan, summarise_drilling
from moisturemap.workflow.drying import VisitComparison, compare_visits
from moisturemap.workflow.drying_summary import (
    DryingPlan,
    describe_drying,
    drying_options,
    export_drying,
    placement_options,
    plan_drying,
    summarise_drying,
)
from moisturemap.workflow.export import export_study
from moisturemap.workflow.judge import (
    Findings,
    Judgement,
    describe_decision,
    export_decision,
    judge,
    judge_or_map,
    summarise_decision,
)
from moisturemap.workflow.pack import Packed, pack_survey
from moisturemap.workflow.placement import EquipmentPlan, place_equipment
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.scan_layout import (
    LaidOut,
    describe_layout,
    export_layout,
    lay_out_scan,
    summarise_layout,
)
from moisturemap.workflow.study import Study, StudyOptions, study
from moisturemap.workflow.summary import summarise

__all__ = [
    "DryingPlan",
    "EquipmentPlan",
    "VisitComparison",
    "compare_visits",
    "describe_drying",
    "drying_options",
    "export_drying",
    "place_equipment",
    "placement_options",
    "plan_drying",
    "summarise_drying",
    "Findings",
    "Judgement",
    "LaidOut",
    "Packed",
    "Study",
    "StudyOptions",
    "SurveyCheck",
    "check_path",
    "check_survey",
    "copy_demo",
    "demo_plans",
    "describe",
    "describe_decision",
    "describe_drilling",
    "describe_layout",
    "describe_remarks",
    "drill_options",
    "export_decision",
    "export_drill_plan",
    "export_layout",
    "export_study",
    "judge",
    "judge_or_map",
    "lay_out_scan",
    "pack_survey",
    "read_survey",
    "study",
    "summarise",
    "summarise_decision",
    "summarise_drilling",
    "summarise_layout",
]
