"""A record that names a lower limit than the one its floor is held against."""

from __future__ import annotations

from dataclasses import replace

import pytest
from invented_tests import LIMIT, decide, floor, good_tests


def with_words(source: str = LIMIT.source, **details: str):
    """The good floor (78 %RH, limit 85) with other words."""
    survey = floor(good_tests())
    return decide(
        replace(
            survey,
            limit=replace(LIMIT, source=source),
            details={**survey.details, **details},
        )
    )


@pytest.mark.parametrize(
    "source", ["max 75 %RH, data sheet 12", "data sheet 12: 75 %", "Datenblatt 3, 75,5 % r.F."]
)
def test_a_source_that_names_a_lower_limit_asks(source: str):
    """A floor at 78 fails the document it is said to meet."""
    decision = with_words(source)
    assert decision.verdict == "not proven"
    assert any(source in reason and "lower limit" in reason for reason in decision.reasons)


@pytest.mark.parametrize(
    "details",
    [
        {"covering": "rubber (max 75 %RH)"},
        {"adhesive": "dispersion, 75 % RH"},
        {"note": "limit of the maker 75 %RH"},
        {"covering": "engineered oak, 15 mm, max 60"},
        {"covering": "parquet <= 60"},
        {"covering": "parquet up to 65"},
        {"covering": "vinyl, RH 65"},
        {"adhesive": "vinyl adhesive max. 70"},
    ],
)
def test_so_do_covering_adhesive_and_note(details: dict[str, str]):
    """The same number in another field is the same number."""
    assert with_words(**details).verdict == "not proven"


@pytest.mark.parametrize(
    ("source", "details"),
    [
        ("data sheet 12: 85 %RH, heated 75 %RH", {}),
        ("data sheet 12: 95 %", {}),
        ("DIN 18560-1: 2.0 CM-%, risk 5 %", {}),
        ("data sheet 12", {"note": "air of 50 %RH in service"}),
        ("data sheet 12", {"note": "air RH 50 in service, max 60 people, up to 45 dB"}),
        ("data sheet 12, limit 85", {"covering": "oak, max 60 mm wide, limit 2.0"}),
        ("data sheet 12, max 40-60 m2, max 60 °C", {}),
        ("data sheet 12, 75 % (cleared: A. B., 2026-03-10)", {}),
    ],
)
def test_other_numbers_do_not(source: str, details: dict[str, str]):
    """The stated limit besides, a higher one, another unit, no limit, or cleared up."""
    decision = with_words(source, **details)
    assert not any("lower limit" in reason for reason in decision.reasons)
