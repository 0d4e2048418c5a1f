"""Days with the month in words."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from moisturemap.errors import SurveyError
from moisturemap.files.moment import is_day_only, parse_moments
from moisturemap.files.named_day import named_day


def read(text: str) -> datetime:
    moments, _ = parse_moments([text], UTC, lambda row: f"row {row}", "tests.csv")
    return moments[0].to_pydatetime()


@pytest.mark.parametrize(
    ("text", "clock"),
    [
        ("9 March 2026 10:30", (10, 30)),
        ("9-Mar-26 10am", (10, 0)),
        ("March 9, 2026 3:05 PM", (15, 5)),
        ("Mon 9 March 2026 at 10:30", (10, 30)),
        ("9. März 2026 10:30 Uhr", (10, 30)),
        ("9 mars 2026 à 10h30", (10, 30)),
        ("9th March 2026", None),
    ],
)
def test_a_month_in_words_is_read(text: str, clock: tuple[int, int] | None):
    assert read(text) == datetime(2026, 3, 9, *(clock or (0, 0)), tzinfo=UTC)
    assert is_day_only(text) is (clock is None)


@pytest.mark.parametrize(
    "text", ["March 2026", "31 June 2026", "9 March 2026 10", "9 Brumaire 2026"]
)
def test_what_is_no_day_is_refused(text: str):
    with pytest.raises(SurveyError, match="not a date or time"):
        read(text)


def test_may_is_no_verb():
    assert named_day("9 May 2026").day == date(2026, 5, 9)
    assert named_day("9 may be 2026") is None
