"""Columns of the tester's own: what is not known to be harmless there is asked about."""

from __future__ import annotations

import pytest
from invented_tests import decide, floor, good_tests

from moisturemap.acceptance.noted_columns import open_words

ASKED = [
    ("valid", "no"),
    ("ok?", "no"),
    ("ok?", "?"),
    ("stable", "0"),
    ("equilibrium reached", "no"),
    ("liner", "none"),
    ("liner fitted", "n/a"),
    ("outcome", "FAIL"),
    ("seal", "open"),
    ("windows", "open"),
    ("heating", "on"),
    ("heating off", "yes"),
    ("drilled with", "water"),
    ("method of drilling", "wet"),
    ("surface water", "yes"),
    ("weather", "storm"),
    ("seen", "x"),
    ("pump", "running"),
    ("dicht", "nein"),
    ("Wasser", "ja"),
    ("client", "rejected it, leak"),
    ("F", "x 3.4 y 3: went up"),
]
HARMLESS = [
    ("valid", "yes"),
    ("ok?", "OK"),
    ("status", "pass"),
    ("crack", "no"),
    ("leak", "none"),
    ("sealed", "yes"),
    ("dicht", "ja"),
    ("client", "Weavers"),
    ("Auftrag", "Halle 4"),
    ("checked by", "M. Oduya"),
    ("batch", "A7"),
    ("age", "90 days"),
    ("pour", "3"),
    ("pour", "1"),
    ("battery", "96 %"),
    ("put in", "2026-03-08 07:00"),
    ("put in", "2026-03-08T07:00:00Z"),
    ("bore", "19 mm"),
    ("lux", "-"),
    ("where", "corner by the door"),
    ("sky", "storm (cleared: A. B., 2026-03-12)"),
    ("sky (cleared: A. B., 2026-03-12)", "storm"),
]


@pytest.mark.parametrize(("heading", "text"), ASKED)
def test_what_is_not_known_to_be_harmless_under_its_heading_is_asked_about(heading, text):
    assert open_words(heading, text)


@pytest.mark.parametrize(("heading", "text"), HARMLESS)
def test_numbers_names_and_good_answers_are_not(heading, text):
    assert not open_words(heading, text)


@pytest.mark.parametrize(
    ("heading", "text", "verdict"),
    [
        ("windows", "open", "not proven"),
        ("liner", "none", "not proven"),
        ("sky", "storm", "not proven"),
        ("sky (cleared: A. B., 2026-03-12)", "storm", "meets"),
        ("valid (cleared: A. B., 2026-03-12)", "no", "not proven"),
        ("bore", "19 mm", "meets"),
        ("F", "x 3.4 y 3: 91 %RH", "not proven"),
        ("days", "91 %RH", "not proven"),
        ("days", "91", "meets"),
        ("days", "79 %RH", "meets"),
    ],
)
def test_a_floor_meets_its_limit_only_without_such_columns(heading, text, verdict):
    first, *others = good_tests()
    decision = decide(floor([{**first, heading: text}, *others]))
    assert decision.verdict == verdict, decision.reasons
