"""What is said of a proposal."""

from __future__ import annotations

from moisturemap.equipment.move_words import score_sentence
from moisturemap.equipment.score import PlacementScore


def test_a_longer_way_is_explained_where_machines_leave_the_wet_floor() -> None:
    """A gain that comes of standing off the wet is no shorter way, and says so."""
    farther = score_sentence(PlacementScore("dehumidifier", "m", 1.7, 1.9, 10.9, exact=True))
    nearer = score_sentence(PlacementScore("dehumidifier", "m", 1.9, 1.7, 10.9, exact=True))
    assert "moved off it" in farther
    assert "moved off it" not in nearer
