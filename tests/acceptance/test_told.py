"""What accompanies a floor that meets."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from invented_tests import decide
from test_fell_fast import twice

from moisturemap.workflow.study import study


@pytest.mark.thorough
def test_a_small_corner_that_nobody_read_is_told_and_where():
    survey = twice(timedelta(days=7))
    corner = (survey.readings["x"] < 1.5) & (survey.readings["y"] < 1.5)
    partly = replace(survey, readings=survey.readings[~corner].reset_index(drop=True))
    decision = decide(partly, study(partly))
    assert decision.verdict == "meets"
    assert any("m2 of the 48 m2 of shop, around (0." in one for one in decision.reasons), (
        decision.reasons
    )
    whole = decide(survey, study(survey))
    assert not any("nobody read" in one for one in whole.reasons)
