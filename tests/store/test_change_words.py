"""What Undo would take back, as people read it."""

from __future__ import annotations

import json

import pytest

from moisturemap.store.change_words import difference_words, entry_words


@pytest.mark.parametrize(
    ("action", "layer", "rows", "ids", "words"),
    [
        ("add", "tests", [{"hole": "H1"}], "3", "added test H1"),
        ("add", "readings", [{"room": "kiln", "label": "A1"}], "9", "added reading kiln A1"),
        ("add", "readings", [{"room": "kiln", "label": None}], "9", "added reading 9"),
        (
            "remove",
            "readings",
            [{"label": f"A{i}"} for i in range(6)],
            "3-8",
            "removed readings 3-8",
        ),
        (
            "correct",
            "equipment",
            [{"machine": "D1"}, {"machine": "D2"}],
            "1, 2",
            "corrected machines D1, D2",
        ),
        ("correct", "settings", [{"key": "issued_holes"}], "4", "corrected setting issued holes"),
        ("add", "limits", [{"room": None}], "1", "added limit of the whole floor"),
        ("add", "instrument_checks", [{"instrument": "probe 4"}], "1", "added check of probe 4"),
    ],
)
def test_rows_are_named_as_on_the_page(
    action: str, layer: str, rows: list[dict[str, object]], ids: str, words: str
) -> None:
    """By hole, place, machine or room; by number where there are many or no names."""
    assert entry_words(action, layer, rows, ids) == words


def test_a_corrected_test_is_told_in_words() -> None:
    """No name of a column, no JSON, no None: of every kind of value a test may hold."""
    lined = {"lined": {"time": "2026-03-02T08:00:00+00:00"}, "censored": ""}
    later = {"lined": {"time": "2026-03-02T09:30:00+00:00"}, "censored": ""}
    old = {"hole": "H1", "air_temperature_c": None, "depth_mm": 26.0, "extra": json.dumps(lined)}
    new = {**old, "air_temperature_c": 21.111111, "extra": json.dumps(later)}
    assert difference_words("tests", old, new) == (
        "air above the slab from nothing to 21.1111 °C, "
        "hole lined and sealed from 2026-03-02 08:00 UTC to 2026-03-02 09:30 UTC"
    )


def test_what_a_reading_was_typed_as_is_told_once() -> None:
    """Its value; what was typed stands beside it only where the value is the same."""
    old = {"value": 40.0, "raw": "40", "x": 1.0}
    assert (
        difference_words("readings", old, {**old, "value": 45.0, "raw": "45"})
        == "value from 40 to 45"
    )
    assert difference_words("readings", old, {**old, "raw": "40,0"}) == "raw from 40 to 40,0"


def test_lists_and_outlines_are_not_poured_out() -> None:
    """Settings that hold lists are named alone; an outline is another one; the rest is counted."""
    rows = [{"key": "decisions", "value": json.dumps([{"a": n}])} for n in (1, 2)]
    assert difference_words("settings", *rows) == ""
    units = [{"key": "units", "value": json.dumps(one)} for one in ("metric", "us")]
    assert difference_words("settings", *units) == "from metric to us"
    rooms = [{"geometry": one, "heated": heated} for one, heated in (("01", None), ("02", True))]
    assert difference_words("rooms", *rooms) == "another outline, floor heating from nothing to yes"
    many = [{f"a_{i}": n for i in range(7)} for n in (1, 2)]
    assert difference_words("visits", *many).endswith("a 3 from 1 to 2, 3 more")
