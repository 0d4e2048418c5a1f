"""Services are services wherever their word stands in a drawing."""

from __future__ import annotations

import pytest

from moisturemap.floorplan import is_harmless, kind_of


@pytest.mark.parametrize(
    "word",
    [
        "gas pipe interior wall",
        "Stromkabel Tür",
        "tendon exterior wall",
        "data grid",
        "Heizung Wand",
    ],
)
def test_a_service_beside_a_wall_is_a_service(word: str) -> None:
    """A hole was proposed 0.12 m from such a line."""
    assert kind_of(word) == "known-service"
    assert not is_harmless(word)


@pytest.mark.parametrize(
    ("word", "kind"),
    [("service door", "door"), ("utility wall", "interior-wall"), ("Heizraum", "room")],
)
def test_what_a_wall_or_room_is_for_runs_in_no_floor(word: str, kind: str) -> None:
    """Its name alone makes no service of it."""
    assert kind_of(word) == kind


@pytest.mark.parametrize(
    ("layer", "kind"),
    [
        ("Exterior walls", "exterior-wall"),
        ("A-EXTERNAL-WALLS", "exterior-wall"),
        ("Facades", "exterior-wall"),
        ("Interior walls", "interior-wall"),
        ("Expansion joints", "movement-joint"),
        ("Day joints", "day-joint"),
        ("Exterior walls heating pipes", "known-service"),
    ],
)
def test_plurals_are_understood(layer: str, kind: str) -> None:
    """As "Exterior walls", which was read as interior walls."""
    assert kind_of(layer) == kind
