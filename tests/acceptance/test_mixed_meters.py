"""Readings of one scan that are told to be of another meter, mode or range."""

from __future__ import annotations

import pandas as pd
import pytest
from invented_tests import decide, floor, good_tests

from moisturemap.acceptance.mixed_meters import mixed_meters_doubts


def said(notes: list[str]) -> str:
    rows = [
        {"visit": "v1", "instrument": "S1", "x": float(k), "y": 1.0, "value": 30.0, "note": note}
        for k, note in enumerate(notes)
    ]
    judged = decide(floor(good_tests())).judged
    return " ".join(mixed_meters_doubts(floor(good_tests(), readings=pd.DataFrame(rows)), judged))


@pytest.mark.parametrize(
    "note",
    [
        *("read with meter B", "second meter", "meter changed here", "low range", "mode: CM mode"),
        *("mit Gerät 2", "autre appareil"),
    ],
)
def test_another_meter_or_mode_is_asked_about(note: str):
    """Scales of meters never merge (trade practice; ASTM F2659 asks for make, model and mode)."""
    assert repr(note) in said(["", "", note])


@pytest.mark.parametrize(
    "notes",
    [
        ["mode: relative"] * 3,
        ["", "meter lifted and turned", "by meter cupboard"],
        ["", "near the electric meter", "with the meter turned"],
        ["", "read with meter B (cleared: A. B., 2026-03-11)", ""],
    ],
)
def test_one_meter_throughout_is_not(notes: list[str]):
    assert said(notes) == ""
