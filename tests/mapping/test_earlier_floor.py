"""What a floor may borrow from those read before it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from moisturemap.errors import OptionError
from moisturemap.floorplan import domains, make_grid
from moisturemap.geostat import FloorPattern
from moisturemap.mapping import (
    EarlierFloor,
    MappingOptions,
    SameInstrument,
    floor_told,
    map_readings,
)
from moisturemap.survey import clean_readings
from moisturemap.synthetic import FloorRecipe, make_floor

PATTERN = FloorPattern(2.0, 0.3, 1.5, 0.2, 0.2)


@pytest.fixture(scope="module")
def read():
    """Readings, domains and cells of a floor read by an instrument of a known model."""
    recipe = FloorRecipe(width=6.0, depth=5.0, spacing=0.5, plumes=("corner",), noise_sd=1.0)
    survey = make_floor(recipe, 3).survey
    parts = domains(survey.plan)
    clean = clean_readings(survey, survey.visits[-1].id, domains=parts)
    named = replace(clean, instrument=replace(clean.instrument, model="Model A"))
    return named, parts, make_grid(survey.plan, parts, 0.25, 20_000)


def earlier(**changes) -> EarlierFloor:
    """One earlier floor."""
    first = EarlierFloor("before", "key", "Model A", (0.0, 100.0), 200, PATTERN)
    return replace(first, **changes)


def test_the_footprint_is_lent_where_a_survey_states_none(read) -> None:
    """The median of those stated, and never over one's own."""
    clean, _, _ = read
    floors = [
        earlier(key=str(k), footprint_m=size) for k, size in enumerate((0.08, 0.1, 0.2, None))
    ]
    found = SameInstrument.among(floors, clean)
    assert found is not None
    assert found.footprint_m == 0.1
    assert found.footprint_for(replace(clean.instrument, footprint_m=None)) == 0.1
    assert found.footprint_for(replace(clean.instrument, footprint_m=0.06)) is None
    assert "footprint of 0.1 m" in found.note
    none = SameInstrument.among([earlier()], clean)
    assert none is not None
    assert none.footprint_m is None


def test_only_floors_of_the_same_instrument_and_scale_lend(read) -> None:
    """Another model, scale, too few readings, a floor that borrowed: none of them lends."""
    clean, _, _ = read
    others = (
        earlier(instrument_model="Model B"),
        earlier(instrument_model=""),
        earlier(scale=(0.0, 200.0)),
        earlier(scale=None),
        earlier(readings=40),
        earlier(borrowed_floors=3),
    )
    assert SameInstrument.among(others, clean) is None
    found = SameInstrument.among((*others, earlier()), clean)
    assert found is not None
    assert found.floors.floors == 1
    unnamed = replace(clean, instrument=replace(clean.instrument, model=""))
    assert SameInstrument.among((earlier(instrument_model=""),), unnamed) is None


def test_a_floor_never_borrows_from_itself(read) -> None:
    """Its own row is known by its readings, whatever the floor is called."""
    clean, parts, grid = read
    told = floor_told("mine", map_readings(clean.readings, clean, parts, grid), clean)
    assert told is not None
    assert told.readings == len(clean.locations)
    assert SameInstrument.among((told,), clean) is None
    assert 0.5 < told.pattern.noise_sd < 2.0


def test_a_map_that_borrows_says_so_and_refuses_another_instrument(read) -> None:
    """The note names the instrument; a meter of another model is refused before any map."""
    clean, parts, grid = read
    found = SameInstrument.among((earlier(), earlier(key="other")), clean)
    options = MappingOptions(earlier=found)
    surface = map_readings(clean.readings, clean, parts, grid, options=options)
    assert "earlier floors read with Model A: 2" in surface.quality
    other = replace(clean, instrument=replace(clean.instrument, model="Model B"))
    with pytest.raises(OptionError, match="Model B"):
        map_readings(clean.readings, other, parts, grid, options=options)
