"""Words for the surface under a hood: bare ones, layers, and words nobody can read."""

from __future__ import annotations

import pytest

from moisturemap.acceptance.surface import strange_surface_words


@pytest.mark.parametrize(
    "text",
    [
        "ground clean",
        "power-floated",
        "Power floated, brushed and vacuumed",
        "bare, free of coating; old adhesive removed",
        "unsealed, uncoated",
        "hand trowelled cement screed",
        "flügelgeglättet, gesaugt",
        "poncé, aspiré",
        "sealed with epoxy",
    ],
)
def test_words_of_bare_floors_and_of_layers_are_known(text: str) -> None:
    """Finishes of slabs as BS 8204-2 and ACI 302.1 call them, from memory, and common practice.

    Layers are known too, and another rule judges them.
    """
    assert not [one for one in strange_surface_words(text) if one not in ("with", "epoxy")]


@pytest.mark.parametrize(
    ("text", "strange"),
    [
        ("PU", ("pu",)),
        ("wet", ("wet",)),
        ("ground, damp in places", ("damp", "in", "places")),
        ("ground 1 h before", ("1", "h", "before")),
        ("dusty", ("dusty",)),
        ("?", ()),
        ("not ground, bare concrete", ("not ground",)),
        ("adhesive residue not removed", ("not removed",)),
        ("nicht geschliffen", ("nicht geschliffen",)),
        ("bare, no residue, not coated", ()),
    ],
)
def test_other_words_are_named(text: str, strange: tuple[str, ...]) -> None:
    assert strange_surface_words(text) == strange
