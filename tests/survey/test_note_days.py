"""Days that notes name."""

from __future__ import annotations

from datetime import date

import pytest

from moisturemap.survey.note_days import days_named


@pytest.mark.parametrize(
    "note",
    [
        "flooded on 8 March",
        "March 8th, hose left on",
        "am 8. März Wasser im Raum",
        "le 8 mars",
        "2026-03-08: wet",
        "8.3. nass",
        "08.03.2026",
        "8/3/2026",
        "8th Mar 2026",
    ],
)
def test_a_day_is_understood_as_people_write_it(note: str):
    assert date(2026, 3, 8) in days_named(note, 2026)


@pytest.mark.parametrize("note", ["", "8.5 mm", "may be wet", "31 February", "hole 3.4.5", "v 2.0"])
def test_what_is_no_day_is_none(note: str):
    assert days_named(note, 2026) == ()
