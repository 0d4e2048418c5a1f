"""What people write for the material of a floor, and what it is."""

from __future__ import annotations

import pytest

from moisturemap.base_material import material_of, may_hold_heating, names_material

WRITTEN = {
    "calcium sulphate": (
        "calcium sulphate screed",
        "Calciumsulfatestrich",
        "anhydrite screed",
        "Anhydritestrich",
        "CA-C25-F5",
        "CAF-C30-F6",
        "flowing screed CAF",
        "gypsum screed",
        "anhydrite screed on concrete slab",
    ),
    "cement": ("concrete slab", "concrete", "cement screed", "Zementestrich", "CT-C30-F5", "CTF"),
    "timber": ("timber deck", "Plywood", "18 mm ply", "OSB board", "particleboard", "Holzdielen"),
    "magnesite": ("MA-C40", "magnesite screed"),
    "asphalt": ("mastic asphalt", "AS-IC10"),
    "": ("", "screed", "topping", "Estrich", "castle floor", "mastic"),
}


@pytest.mark.parametrize(
    ("written", "material"), [(one, name) for name, every in WRITTEN.items() for one in every]
)
def test_a_material_is_known_by_words_and_designations(written: str, material: str) -> None:
    """Designations by EN 13813, words of the trade in English and German."""
    assert material_of(written) == material


def test_only_a_stated_slab_or_timber_surely_holds_no_heating() -> None:
    """Where nothing is stated, or a layer lies on top, heating may."""
    assert [may_hold_heating(one) for one in ("concrete slab", "timber deck", "Beton C25/30")] == [
        False
    ] * 3
    layers = ("", "concrete", "screed", "CT-C30-F5", "anhydrite", "cement screed", "topping")
    assert all(may_hold_heating(one) for one in (*layers, "screed on concrete slab"))


UNNAMED = (
    *("", "concrete", " Concrete ", "screed", "Estrich", "Heizestrich", "floating screed"),
    *("topping", "mortar", "terrazzo", "castle floor", "screed on concrete slab"),
    *("concrete slab, 65 mm screed", "Estrich auf Beton", "slab with levelling compound"),
)
NAMED = (
    *("concrete slab", "cement screed", "calcium sulphate screed", "timber deck", "Betonplatte"),
    *("Zementestrich", "Calciumsulfatestrich", "Holzboden", "concrete without DPM"),
    *("slab", "slab on grade", "Bodenplatte", "dalle", "losa", "concrete topping", "CT-C30-F5"),
    *("anhydrite screed on concrete slab", "sand and cement screed on concrete", "Spanplatte"),
)


@pytest.mark.parametrize("written", UNNAMED)
def test_a_layer_on_a_slab_is_named_by_its_binder_alone(written: str) -> None:
    """That the slab below is of concrete says nothing of the screed on it."""
    assert not names_material(written)


@pytest.mark.parametrize("written", NAMED)
def test_what_names_a_material(written: str) -> None:
    """A slab is of concrete; any other word that tells the binder will do."""
    assert names_material(written)
