"""Readings of pins that an expert would not count: too deep, too cold, in wood nobody named."""

from __future__ import annotations

from dataclasses import replace

import pytest
from invented_tests import AS_OF, SLAB, floor, surface_test, tool
from shapely.geometry import box

from moisturemap.acceptance import DecideOptions, weigh
from moisturemap.base_material import material_of
from moisturemap.floorplan import FloorPlan, Room
from moisturemap.survey import Limit

PLACES = [(0.8 + 1.6 * column, 0.75 + 1.5 * row) for row in range(4) for column in range(5)]


def weighed(base: str = "timber deck", **changes: object):
    """Twenty places read with pins, 10.2 of 12 %MC in timber of 22 mm."""
    fields = {"value": 10.2, "unit": "%MC", "species": "spruce", "depth_mm": 12.0}
    fields |= {"temperature_c": 19.5, "correction": 0.0, "thickness_mm": 22.0, **changes}
    tests = [surface_test(n, *at, "pin", **fields) for n, at in enumerate(PLACES, 1)]
    slab = replace(SLAB, base=base, thickness_mm=22.0, on="suspended")
    plan = FloorPlan((Room("shop", box(0, 0, 8, 6), slab),))
    made = floor(tests, plan=plan, limit=Limit("pin", 12.0, "%MC", "sheet"))
    return weigh(replace(made, instruments=tool("pin")), options=DecideOptions(as_of=AS_OF))


def effects(**changes: object) -> dict[str, str]:
    """What the rules find of the first test."""
    return {one.rule: one.effect for one in weighed(**changes).judged[0].findings}


def test_a_complete_record_of_pins_meets():
    """Each case below changes one thing of it."""
    assert weighed().floor.verdict == "meets"


@pytest.mark.parametrize("depth", [23.0, 40.0, 60.0])
def test_pins_driven_through_the_timber_read_what_is_below(depth):
    """A depth beyond the boards is air, insulation or screed; the joist is stated by its own."""
    assert weighed(depth_mm=depth).floor.verdict == "not proven"
    assert effects(depth_mm=depth)["pin-through"] == "invalid"
    assert "pin-through" not in effects(depth_mm=depth, thickness_mm=175.0)


def test_a_correction_of_nothing_does_not_warm_cold_timber():
    """At 3 °C a meter reads some 2 %MC too low (Wood Handbook ch. 4, from memory)."""
    assert weighed(temperature_c=3.0).floor.verdict == "not proven"
    assert effects(temperature_c=3.0)["pin-cold"] == "invalid"
    assert effects(temperature_c=12.0)["pin-temperature"] == "widen"
    assert not {"pin-cold", "pin-temperature"} & set(effects(temperature_c=3.0, correction=2.0))
    assert not {"pin-cold", "pin-temperature"} & set(effects(temperature_c=17.0))


def test_no_timber_of_a_floor_is_as_warm_as_fahrenheit_makes_it():
    """68 in the column of degrees Celsius is 20 °C typed in another unit."""
    assert weighed(temperature_c=68.0).floor.verdict == "not proven"
    assert effects(temperature_c=68.0)["pin-hot"] == "invalid"
    assert "pin-hot" not in effects(temperature_c=29.0)


@pytest.mark.parametrize(
    "species",
    ["unknown", "n/a", "?", "-", "meter setting 3", "group 2", "A", "wood", "chipboard", "OSB/3"],
)
def test_a_species_that_names_none_counts_as_not_stated(species):
    """A setting of the meter says nothing of the wood, and boards need their own correction."""
    assert weighed(species=species).floor.verdict == "not proven"
    assert effects(species=species)["pin-species"] == "widen"


@pytest.mark.parametrize("species", ["oak", "Eiche", "softwood", "group 3 (spruce)", "Fichte"])
def test_a_named_species_is_one(species):
    """Also beside the setting of the meter."""
    assert "pin-species" not in effects(species=species)


def test_a_board_with_its_correction_is_stated():
    """The correction of the board's own scale is what is asked for."""
    assert "pin-species" not in effects(species="chipboard", correction=1.5)


@pytest.mark.parametrize(
    "base",
    ["cement screed with wood chips", "wood-chip cement screed", "Steinholzestrich", "Holzbeton"],
)
def test_wood_in_a_screed_makes_no_timber(base):
    """Pins in screed are comparative: salts and mix change the conductance."""
    assert material_of(base) != "timber"
    assert weighed(base).floor.verdict == "not proven"


@pytest.mark.parametrize(
    "base",
    ["chipboard on cement screed", "timber deck over old screed", "Trockenestrich aus Spanplatten"],
)
def test_timber_on_a_screed_stays_timber(base):
    """The layer under test is named first."""
    assert material_of(base) == "timber"
