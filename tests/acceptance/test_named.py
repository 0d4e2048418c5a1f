"""Names of holes and editions that say more than they name."""

from __future__ import annotations

import pytest
from invented_tests import decide, floor, good_tests


def first_with(**changes: object):
    """The good floor, its first test changed."""
    first, *others = good_tests()
    return decide(floor([{**first, **changes}, *others]))


@pytest.mark.parametrize(
    "hole",
    [
        *("A (void)", "A abandoned", "H1 wet", "A - failed", "A not sealed", "A NG", "A?"),
        *("H1 ungültig", "void hole", "12 old"),
    ],
)
def test_a_name_that_says_the_hole_is_void_asks(hole: str):
    """It is the one cell a tester fills in on site."""
    decision = first_with(hole=hole)
    assert decision.verdict == "not proven"
    assert any(hole in reason for reason in decision.reasons)


@pytest.mark.parametrize(
    "hole",
    ["A", "H1", "12b", "T-4", "A north", "3 (corner)", "H1 60 mm", "A upper", "Loch 3", "KB-EG-03"],
)
def test_a_name_that_names_does_not(hole: str):
    """Codes, sides and depths are names."""
    assert first_with(hole=hole).verdict == "meets"


def test_the_name_of_a_hole_makes_no_word_of_a_note_harmless():
    """A hole called void does not let the note say so."""
    asked = first_with(hole="A (kicked)", note="kicked")
    assert any("the note beside" in reason for reason in asked.reasons)


@pytest.mark.parametrize(
    "edition",
    [
        *("not to standard", "ASTM F2170-19a not followed", "own method", "NOT FOLLOWED"),
        *("24 h short test", "nicht nach Norm"),
    ],
)
def test_an_edition_that_is_no_document_asks(edition: str):
    """The record says itself that no document was followed."""
    decision = first_with(edition=edition)
    assert decision.verdict == "not proven"
    assert any(edition in reason for reason in decision.reasons)


@pytest.mark.parametrize(
    "edition",
    [
        *("ASTM F2170-19a", "DIN 18560-1:2015-11", "BS 8203:2017 Annex A", "DIN EN 1264-4"),
        *("ASTM F2170 2019, revision of March", "own method (cleared: A. B., 2026-03-10)"),
    ],
)
def test_an_edition_that_is_one_does_not(edition: str):
    """Designations, parts and years, and what somebody cleared up."""
    reasons = first_with(edition=edition).reasons
    assert not any("known to be a document" in reason for reason in reasons)
