"""Texts of a figure are the user's words as they can be drawn, within the page."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.figure import Figure

from moisturemap.figures import save_figure
from moisturemap.figures.plain_text import settle_texts
from moisturemap.figures.typeface import (
    MISSING,
    drawable,
    missing_letters,
    typefaces_for,
    width_of,
    wrapped,
)


def page(words: str) -> Figure:
    """A page with one title."""
    figure = Figure(figsize=(5, 2))
    figure.text(0.05, 0.8, words)
    return figure


def test_what_the_font_lacks_becomes_a_square_without_a_warning(tmp_path: Path) -> None:
    """A letter that was never assigned; warnings would fail this test."""
    figure = page("Küche \u0378 2")
    save_figure(figure, tmp_path, "page")
    assert figure.texts[0].get_text() == f"Küche {MISSING} 2"


def test_dollar_signs_are_no_formula(tmp_path: Path) -> None:
    """A broken formula would stop the drawing."""
    figure = page("cost $x^$ and $")
    save_figure(figure, tmp_path, "page")
    assert figure.texts[0].get_text() == "cost $x^$ and $"


def test_a_name_cannot_turn_the_direction_of_a_title() -> None:
    """The control goes, the letters stay."""
    figure = page("store \u202ereversed")
    settle_texts(figure)
    assert figure.texts[0].get_text() == "store reversed"


def test_a_name_is_drawn_without_its_control_characters(tmp_path: Path) -> None:
    """A warning that the font lacks them would fail this test; what parts words stays a space."""
    figure = page("sto\x00re\x07\t2\x1c\u0085b")
    save_figure(figure, tmp_path, "page")
    assert figure.texts[0].get_text() == "store 2  b"
    assert wrapped("sto\x00re\x9f 2", 4.0, 7.0) == ["store 2"]


def test_what_follows_a_name_from_right_to_left_stays_on_its_right() -> None:
    """A mark of direction after it, before the colon; set anew it is not doubled."""
    once = drawable("B5, \u063a\u0631\u0641\u0629: 73.1 %RH")
    assert once == "B5, \u063a\u0631\u0641\u0629\u200e: 73.1 %RH"
    assert drawable(once) == once


def test_a_script_of_the_system_is_drawn(tmp_path: Path) -> None:
    """Where the system has a font for it, a name is set in that font and no square is left."""
    name = "厨房 kitchen"
    if missing_letters(name):
        pytest.skip("no font of this system draws Chinese")
    figure = page(name)
    save_figure(figure, tmp_path, "page")
    assert figure.texts[0].get_text() == name
    assert figure.texts[0].get_fontfamily()[1:] == [one.family for one in typefaces_for(name)]


@pytest.mark.thorough
@settings(deadline=None, max_examples=40)
@given(st.text(min_size=1, max_size=60), st.floats(0.3, 4.0))
def test_wrapping_loses_no_letter(words: str, width: float) -> None:
    """Every letter that is drawn stands in some line, in order."""
    drawn = "".join(drawable(words).split())
    assert "".join("".join(wrapped(words, width, 7.0)).split()) == drawn


def test_no_line_is_wider_than_asked() -> None:
    """5 kB of title and one endless word."""
    for text in ("wide title " * 450, "x" * 400):
        assert max(width_of(line, 9.0) for line in wrapped(text, 2.0, 9.0)) <= 2.0
