"""What may be a result above the limit beside the results, in notes and columns nobody knows."""

from __future__ import annotations

import pytest
from invented_tests import decide, floor, good_tests

from moisturemap.acceptance.noted_numbers import may_be_result, tells_higher


def beside(**first: object) -> tuple[str, str]:
    """The verdict where a test has further fields."""
    tests = good_tests(value=75.0)
    made = floor([{**tests[0], **first}, *tests[1:]])
    decision = decide(made)
    return decision.verdict, " ".join(decision.reasons)


def test_the_floor_meets_its_limit_without_them():
    assert beside(batch="91", age_days="90", client="Weavers")[0] == "meets"


@pytest.mark.parametrize(
    "heading", ["max", "RH after 72h", "corrected", "retest 2", "probe B", "korrigiert"]
)
def test_a_number_above_the_limit_in_a_column_nobody_knows_is_no_floor_that_meets(heading: str):
    found, why = beside(**{heading: "91.5"})
    assert found == "not proven"
    assert f"'{heading}: 91.5' beside H1" in why


@pytest.mark.parametrize(
    "text", ["drilled with water", "probe loose, seal broken", "void - repeat", "ungültig"]
)
def test_words_in_a_column_nobody_knows_are_a_note(text: str):
    """So is what a comma cuts off a note that nobody put in quotes."""
    found, why = beside(**{"column 26": text})
    assert found == "not proven"
    assert f"'column 26: {text}', which may mean" in why


@pytest.mark.parametrize(
    "note",
    [
        "VOID",
        "ignore this one",
        "to be repeated",
        "not measured; assumed",
        "probe out of calibration",
        "value taken over from H2",
        "91 % on second probe",
        "read 91 at first",
        "wiederholen",
        "à refaire",
    ],
)
def test_a_note_that_takes_a_result_back_asks_to_be_cleared_up(note: str):
    assert beside(note=note)[0] == "not proven"


@pytest.mark.parametrize(
    "note",
    ["beside column 90", "0.9 m from the door", "read at 9:15", "permit 88", "ok", "H91, corner"],
)
def test_other_numbers_and_words_do_not(note: str):
    assert beside(note=note)[0] == "meets"


@pytest.mark.parametrize(
    ("heading", "text", "method", "limit", "told"),
    [
        ("max", "2,4", "carbide", 2.0, True),
        ("max", "3", "carbide", 2.0, True),
        ("pour age days", "28", "carbide", 2.0, False),
        ("second dish", "5.5", "mver", 3.0, True),
        ("elevation", "95", "in-situ-rh", 85.0, False),
        ("elevation RH", "95", "in-situ-rh", 85.0, True),
        ("anything", "250", "in-situ-rh", 85.0, False),
        ("anything", "84", "in-situ-rh", 85.0, False),
    ],
)
def test_numbers_in_range_of_the_method_are_told(
    heading: str, text: str, method: str, limit: float, told: bool
):
    assert may_be_result(heading, text, method, limit) is told


@pytest.mark.parametrize(
    ("note", "told"),
    [("2.4 on the second sample", True), ("3 holes beside", False), ("3 CM-% at first", True)],
)
def test_a_whole_number_in_a_note_is_a_result_of_other_methods_only_with_its_unit(note, told):
    assert tells_higher(note, "carbide", 2.0) is told


def test_whole_numbers_beside_timber_may_be_results():
    """Timber is read to the whole per cent."""
    assert tells_higher("corner 19", "pin", 12.0)
    assert not tells_higher("board 19", "pin", 12.0)
    assert not tells_higher("corner 19", "carbide", 2.0)
