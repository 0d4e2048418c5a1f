"""Frozen bundles of results: what use cases return, and what figures, words and files read."""

from moisturemap.bundles.drying import DryingPlan, EquipmentPlan, VisitComparison
from moisturemap.bundles.findings import Findings, Judgement
from moisturemap.bundles.overrides import (
    AnomalyOverride,
    HoleOverride,
    Overrides,
    override_of,
    overrides_of,
)
from moisturemap.bundles.scan import LaidOut, SurveyCheck
from moisturemap.bundles.set_aside import SetAside, set_aside_above_level
from moisturemap.bundles.study import Study, StudyOptions

__all__ = [
    "AnomalyOverride",
    "DryingPlan",
    "EquipmentPlan",
    "Findings",
    "HoleOverride",
    "Judgement",
    "LaidOut",
    "Overrides",
    "SetAside",
    "Study",
    "StudyOptions",
    "SurveyCheck",
    "VisitComparison",
    "override_of",
    "overrides_of",
    "set_aside_above_level",
]
