"""The air of each visit and what it does to the slab."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from moisturemap.drying import SlabHumidity, air_sentences, air_table, zone_drives
from moisturemap.survey import Visit

START = datetime(2026, 5, 4, tzinfo=UTC)


def _visit(number: int, air: float | None, rh: float | None, slab: float | None) -> Visit:
    return Visit(f"v{number}", START + timedelta(days=7 * number), "", air, rh, slab)


def test_warm_moist_air_wets_a_cold_slab() -> None:
    """A drive of -359.5 Pa warns although the room feels dry (10 C, 85 %RH; 20 C, 60 %RH)."""
    drives = zone_drives(_visit(1, 20.0, 60.0, 10.0), [SlabHumidity("A", 85.0, 10.0, "H1")])
    assert drives["drive_pa"].iloc[0] == pytest.approx(-359.5, abs=0.5)
    assert "wetting the slab" in drives["sentence"].iloc[0]


def test_the_room_is_not_said_to_dry_a_covered_slab() -> None:
    """What drives water out is held back by the covering."""
    bare, covered = (
        zone_drives(_visit(1, 20.0, 50.0, 18.0), [SlabHumidity("A", 95.0, 18.0, "H1", covered=one)])
        for one in (False, True)
    )
    assert "the room dries it." in bare["sentence"].iloc[0]
    assert "the room" not in covered["sentence"].iloc[0]
    assert "its covering keeps that back" in covered["sentence"].iloc[0]


def test_a_surface_near_the_dew_point_is_a_caution() -> None:
    """Less than 3 K above it."""
    table = air_table([_visit(1, 22.0, 60.0, 16.0)])
    assert "3 K above the dew point" in table["warning"].iloc[0]
    assert any(text.startswith("Caution, v1") for text in air_sentences(table))


def test_air_that_wets_even_a_saturated_slab_is_a_caution() -> None:
    """The slab is below the dew point."""
    table = air_table([_visit(1, 25.0, 80.0, 12.0)])
    assert "even a saturated slab" in table["warning"].iloc[0]


def test_missing_air_is_said_and_not_guessed() -> None:
    """A visit without air data names itself; the others are still shown."""
    table = air_table([_visit(1, None, None, None), _visit(2, 20.0, 50.0, 18.0)])
    said = air_sentences(table)
    assert "v1" in said[0]
    assert np.isnan(table["vapour_pressure_pa"].iloc[0])
    assert any("Air on v2" in text for text in said)


def test_no_slab_temperature_gives_no_break_even() -> None:
    """And says what is missing."""
    said = air_sentences(air_table([_visit(1, 20.0, 50.0, None)]))
    assert any("slab's temperature was not recorded" in text for text in said)


@pytest.mark.parametrize(("rh", "word"), [(40.0, "drier"), (75.0, "moister"), (60.0, "same")])
def test_the_trend_of_the_air_is_told(rh: float, word: str) -> None:
    """From first to latest visit."""
    table = air_table([_visit(1, 20.0, 60.0, 18.0), _visit(2, 20.0, rh, 18.0)])
    assert word in air_sentences(table)[-1]
