"""Words about a flagged line or spot over the visits."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest

from moisturemap.drying.feature import feature_words

MARK = SimpleNamespace(anomaly="U1", kind="line", strength=math.nan)


def test_a_mark_set_by_hand_has_no_strength_to_print() -> None:
    """Nobody measured it: no number stands for it, and it is not judged by one."""
    words = feature_words(MARK, (-6.5, 2.8), math.nan, "cannot-tell")
    assert words.startswith("U1 (line, marked by hand) changed by -6.5 (sd 2.8)")
    assert "nan" not in words
    assert "another visit" not in words


def test_a_measured_line_keeps_its_strength() -> None:
    """The strength and the fall to expect are those measured."""
    line = SimpleNamespace(anomaly="L1", kind="line", strength=18.0)
    words = feature_words(line, (0.4, 1.0), 9.0, "steady")
    assert "+18 above its surroundings" in words
    assert "would have lost 9.0" in words


@pytest.mark.parametrize("verdict", ["dried", "steady", "rose"])
def test_a_change_does_not_settle_what_is_contested(verdict: str) -> None:
    """Its own sentence says that the readings cannot tell: the change speaks for one side."""
    line = SimpleNamespace(anomaly="L1", kind="line", strength=14.0, standing="contested")
    words = feature_words(line, (-6.3, 0.6), 5.0, verdict)
    assert "speaks for" in words
    assert "stays contested" in words
    assert "by itself does not" not in words
