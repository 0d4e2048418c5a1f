"""A decision on the terminal."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace
from typing import Any, cast

import pandas as pd

from moisturemap.acceptance import ChanceView
from moisturemap.bundles import Judgement
from moisturemap.results.decision import chance_sentence, describe_decision

SHARED = "time at service conditions before the test: not stated (at least 48 h is asked for)"
OWN = "the room was not held at service conditions during the test"


def _tests() -> pd.DataFrame:
    common = {
        "raw": 86.0,
        "unit": "%RH",
        "correction": float("nan"),
        "at_service": float("nan"),
        "limit": 85.0,
        "method": "in-situ-rh",
        "standing": "invalid",
        "verdict": "not judged",
        "why": "the test is invalid",
    }
    rows = [
        {"hole": "H1", "reasons": SHARED},
        {"hole": "H2", "reasons": f"{SHARED}\n{OWN}"},
        {"hole": "H3", "reasons": ""},
    ]
    return pd.DataFrame([common | row for row in rows])


def test_each_reason_stands_once_behind_its_holes() -> None:
    """What holds for several tests is not said again for each."""
    unjudged = pd.DataFrame({"hole": ["H1", "H2"], "why": [SHARED, SHARED]})
    decision: Any = SimpleNamespace(
        verdict="not proven",
        sentence="Not proven.",
        as_of=datetime(2026, 3, 9, tzinfo=UTC),
        reasons=(),
        tests=_tests(),
        unjudged=unjudged,
        coverage=pd.DataFrame(),
        next_steps=(),
        proof="",
        chance=None,
        curves=(),
        statements=(),
    )
    judgement: Any = SimpleNamespace(survey=SimpleNamespace(name="Floor"), decision=decision)
    told = describe_decision(cast("Judgement", judgement))
    tests, unjudged_told = told.split("Recorded and not judged")
    assert tests.count(SHARED[:40]) == unjudged_told.count(SHARED[:40]) == 1
    assert f"  H1, H2 {SHARED[:40]}" in tests
    assert f"  H2   {OWN[:40]}" in tests


def test_a_chance_between_tests_never_claims_certainty() -> None:
    """Neither 100% nor 0%, which no model of a few tests gives."""
    for chance, said in ((0.9996, "more than 99%"), (0.4, "40%"), (0.001, "less than 1%")):
        view = ChanceView(chance, 0.2, pd.DataFrame(), "kriged")
        assert f"exceeds the limit is {said};" in chance_sentence(view)
