"""Texts of a figure are the user's words as they can be drawn, within the page."""

from __future__ import annotations

from pathlib import Path

from matplotlib.figure import Figure

from moisturemap.figures import save_figure
from moisturemap.figures.plain_text import MISSING, settle_texts


def page(words: str) -> Figure:
    """A page with one title."""
    figure = Figure(figsize=(5, 2))
    figure.text(0.05, 0.8, words)
    return figure


def test_what_the_font_lacks_becomes_a_square_without_a_warning(tmp_path: Path) -> None:
    """A drop of water, as an emoji, in the name of a room; warnings would fail this test."""
    figure = page("Küche \N{DROPLET} 2")
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


def test_a_title_that_would_run_over_the_edge_ends_in_dots() -> None:
    """5 kB of title; each line of a text is cut by itself."""
    figure = page("wide title " * 450 + "\nshort")
    settle_texts(figure)
    first, second = figure.texts[0].get_text().split("\n")
    assert first.endswith("…")
    assert second == "short"
    assert figure.texts[0].get_window_extent().x1 <= figure.bbox.x1
    assert len(first) > 30
