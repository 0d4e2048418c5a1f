"""Where the water comes from: evidence for and against each cause, and the next measurement.

The method is described in ``docs/method/investigation.md``.
"""

from moisturemap.investigation.answers import Answers
from moisturemap.investigation.cause import CAUSES, STANDINGS, Cause
from moisturemap.investigation.clue import KINDS, Clue
from moisturemap.investigation.explain import (
    CAP,
    DIVIDED,
    Explanation,
    Observation,
    band,
    explain,
)
from moisturemap.investigation.histories import Histories
from moisturemap.investigation.inquiry import inquire
from moisturemap.investigation.plan_clues import WetPlace, diffusion_reach
from moisturemap.investigation.question import NOT_KNOWN, QUESTIONS, Question
from moisturemap.investigation.result import (
    CAUSE_COLUMNS,
    EVIDENCE_COLUMNS,
    NEXT_COLUMNS,
    Investigation,
)
from moisturemap.investigation.scene import Findings
from moisturemap.investigation.standing import Standing
from moisturemap.investigation.story import Story
from moisturemap.investigation.tested import DatedReading, TestedPlace

__all__ = [
    "CAP",
    "CAUSES",
    "CAUSE_COLUMNS",
    "DIVIDED",
    "EVIDENCE_COLUMNS",
    "KINDS",
    "NEXT_COLUMNS",
    "NOT_KNOWN",
    "QUESTIONS",
    "STANDINGS",
    "Answers",
    "Cause",
    "Clue",
    "DatedReading",
    "Explanation",
    "Findings",
    "Histories",
    "Investigation",
    "Observation",
    "Question",
    "Standing",
    "Story",
    "TestedPlace",
    "WetPlace",
    "band",
    "diffusion_reach",
    "explain",
    "inquire",
]
