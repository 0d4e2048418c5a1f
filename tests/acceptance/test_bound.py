"""A result written as a bound is held against the limit as one."""

from __future__ import annotations

import pytest
from invented_tests import decide, floor, good_tests


@pytest.mark.parametrize("value", [80.0, 85.0, 90.0])
def test_a_result_below_a_value_neither_clears_nor_exceeds(value: float) -> None:
    """Written as "<85" it tells nothing of a limit of 85, wherever the bound lies."""
    tests = good_tests()
    tests[0] = {**tests[0], "value": value, "censored": "below"}
    found = decide(floor(tests))
    assert found.verdict == "not proven"
    assert found.tests["verdict"][0] not in ("meets", "exceeds")
