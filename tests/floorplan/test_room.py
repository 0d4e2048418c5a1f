"""Faces of a layer that can dry, by what its record and its words tell of what lies below."""

from __future__ import annotations

import pytest

from moisturemap.floorplan import Slab


@pytest.mark.parametrize(
    ("base", "faces"),
    [
        ("cement screed on EPS boards", 1),
        ("cement screed on polythene", 1),
        ("cement screed on separating layer", 1),
        ("cement screed on rubber acoustic mat", 1),
        ("concrete slab, foil-faced insulation to soffit", 1),
        ("concrete slab, bitumen sheet below", 1),
        ("concrete slab, soffit painted with epoxy", 1),
        ("Zementestrich auf Trittschalldämmung", 1),
        ("chape sur isolant", 1),
        ("concrete slab", 2),
        ("concrete slab without membrane", 2),
        ("cement screed with EPS beads", 2),
    ],
)
def test_a_lower_face_is_closed_by_the_words_of_the_base(base: str, faces: int):
    """ASTM F2170 10.2: 40% of the thickness where it dries from the top alone."""
    assert Slab(base, 65.0, drying_faces=2, on="suspended").open_faces == faces
