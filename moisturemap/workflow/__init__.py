"""The main path, one file per use case."""

from moisturemap.workflow.check import SurveyCheck, check_survey
from moisturemap.workflow.demo import copy_demo, demo_plans
from moisturemap.workflow.describe import describe, describe_drilling, describe_remarks
from moisturemap.workflow.drill import drill_options, export_drill_plan, summarise_drilling
from moisturemap.workflow.export import export_study
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.study import Study, StudyOptions, study
from moisturemap.workflow.summary import summarise

__all__ = [
    "Study", "StudyOptions", "SurveyCheck", "check_survey", "copy_demo", "demo_plans", "describe",
    "describe_drilling", "describe_remarks", "drill_options", "export_drill_plan",
    "export_study", "read_survey", "study", "summarise", "summarise_drilling",
]  # fmt: skip
