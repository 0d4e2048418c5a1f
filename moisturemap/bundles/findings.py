"""A decision on a floor beside the scan it was taken with."""

from __future__ import annotations

from dataclasses import dataclass

from moisturemap.acceptance import Decision
from moisturemap.bundles.drying import DryingPlan
from moisturemap.bundles.study import Study
from moisturemap.survey import Survey


@dataclass(frozen=True)
class Judgement:
    """A decision with the survey and, where it was used, the study of the scan."""

    survey: Survey
    decision: Decision
    study: Study | None


@dataclass(frozen=True)
class Findings:
    """The study of a scan; the decision where tests are recorded, drying where visits repeat."""

    survey: Survey
    decision: Decision | None
    study: Study
    drying: DryingPlan | None = None
