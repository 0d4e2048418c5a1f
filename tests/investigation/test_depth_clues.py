"""What the depth of the water tells of single causes and of two at once."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

from moisturemap.investigation.depth_clues import depth_clues


def test_two_causes_at_once_that_faded_are_no_cause_of_their_own() -> None:
    """Depth may be silent on a pair: an investigation ended in a traceback over its name."""
    place: Any = SimpleNamespace(name="H1")
    faded = ("wall+condensation", "wall")
    explanation: Any = SimpleNamespace(
        explained=True, best="ground", observations=(), singles=(), silent=faded
    )
    kinds = [clue.key for clue in depth_clues(place, explanation, ())]
    assert kinds == ["depth-profile: wall"]
