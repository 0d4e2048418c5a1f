"""Limits, evidence, decision: what the calibrated tests of a floor prove."""

from moisturemap.acceptance.after_holes import asked_after
from moisturemap.acceptance.asked import Asked, holes_words
from moisturemap.acceptance.chance import ChanceView
from moisturemap.acceptance.check import CHECK_COLUMNS, check_table, judge_check
from moisturemap.acceptance.correction import Checks, Correction, checks_around, correction_of
from moisturemap.acceptance.cover import Cover
from moisturemap.acceptance.coverage import COVERAGE_COLUMNS
from moisturemap.acceptance.decide import (
    PROFILE_COLUMNS,
    DecideOptions,
    Decision,
    Weighed,
    decide,
    limits_by_room,
    weigh,
)
from moisturemap.acceptance.evidence import FINDING_COLUMNS, TEST_VERDICT_COLUMNS, JudgedTest
from moisturemap.acceptance.known import later_scans
from moisturemap.acceptance.proof import places_for_share, share_shown
from moisturemap.acceptance.record import TestEntry, entries_of
from moisturemap.acceptance.result import emission_rate, result_of
from moisturemap.acceptance.rule import RuleBook, packaged_rules
from moisturemap.acceptance.salt import SALTS, Salt, salt_named
from moisturemap.acceptance.sealed import ProfileVerdict, sealed_words
from moisturemap.acceptance.unjudged import (
    UNJUDGED_COLUMNS,
    reasons_not_judged,
    why_not_judged,
)
from moisturemap.acceptance.validity import Finding, examine
from moisturemap.acceptance.verdict import CONFLICTING, USUAL_RISK, limit_value

__all__ = [
    "CHECK_COLUMNS",
    "CONFLICTING",
    "COVERAGE_COLUMNS",
    "FINDING_COLUMNS",
    "SALTS",
    "PROFILE_COLUMNS",
    "TEST_VERDICT_COLUMNS",
    "UNJUDGED_COLUMNS",
    "USUAL_RISK",
    "Asked",
    "ChanceView",
    "Checks",
    "Correction",
    "Cover",
    "DecideOptions",
    "Decision",
    "Finding",
    "JudgedTest",
    "RuleBook",
    "Salt",
    "ProfileVerdict",
    "TestEntry",
    "Weighed",
    "asked_after",
    "check_table",
    "checks_around",
    "correction_of",
    "decide",
    "emission_rate",
    "entries_of",
    "examine",
    "holes_words",
    "judge_check",
    "later_scans",
    "limit_value",
    "limits_by_room",
    "packaged_rules",
    "places_for_share",
    "reasons_not_judged",
    "result_of",
    "salt_named",
    "sealed_words",
    "share_shown",
    "weigh",
    "why_not_judged",
]
