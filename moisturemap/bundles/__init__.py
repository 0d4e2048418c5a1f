"""Frozen bundles of results: what use cases return, and what figures, words and files read."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
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

_HOMES = {
    "AnomalyOverride": "overrides",
    "DryingPlan": "drying",
    "EquipmentPlan": "drying",
    "Findings": "findings",
    "HoleOverride": "overrides",
    "Judgement": "findings",
    "LaidOut": "scan",
    "Overrides": "overrides",
    "SetAside": "set_aside",
    "Study": "study",
    "StudyOptions": "study",
    "SurveyCheck": "scan",
    "VisitComparison": "drying",
    "override_of": "overrides",
    "overrides_of": "overrides",
    "set_aside_above_level": "set_aside",
}
"""Names and the files they live in; loaded on first use, because a map needs no forecast."""

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


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    found = getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    globals()[name] = found
    return found
