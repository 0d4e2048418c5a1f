"""A part of a walk whose dry floor fell with the rest of it was read otherwise, not dried."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from invented_visits import Recipe, Wet, invent
from shapely.geometry import box

from moisturemap.drying.part_lower import without_lower_parts, zone_read_lower
from moisturemap.floorplan import domains
from moisturemap.survey import Survey, clean_readings
from moisturemap.workflow.drying import compare_visits
from moisturemap.zones.part_fell import part_fell, places_read_lower

LEVEL = 45.0
FLOOR = Recipe(
    width=9.0,
    depth=7.0,
    spacing=1.0,
    days=(0.0, 7.0, 14.0, 21.0),
    wets=(Wet(6.5, 3.5, 26.0, 1.2, 30.0),),
)


def other_pad(survey: Survey, visit: str, shift: float, beyond: float = 4.0) -> Survey:
    """The part of the hall beyond x read off by so much on a visit."""
    table = survey.readings.copy()
    table.loc[(table["visit"] == visit) & (table["x"] > beyond), "value"] += shift
    return replace(survey, readings=table)


def scans(survey: Survey) -> list[np.ndarray]:
    return [
        survey.readings_of(one.id)[["x", "y", "value"]].to_numpy(float) for one in survey.visits
    ]


def asked(survey: Survey) -> tuple:
    last = survey.visits[-1].id
    clean = clean_readings(survey, last, domains=domains(survey.plan))
    return part_fell(survey, clean, LEVEL)


@pytest.mark.parametrize("seed", range(4))
def test_a_half_that_fell_with_its_dry_floor_is_found_until_it_is_read_as_before(seed: int) -> None:
    survey = other_pad(other_pad(invent(FLOOR, seed).survey, "v2", -9.0), "v3", -9.0)
    masks, _ = places_read_lower(scans(survey), LEVEL, 1.0)
    for number in (1, 2):
        beyond = scans(survey)[number][:, 0] > 4.0
        assert masks[number][beyond].mean() > 0.8
        assert not masks[number][~beyond].any()
    assert not masks[0].any()
    assert not masks[3].any()


def test_floor_that_really_dries_is_left_alone() -> None:
    """Where machines stand the wet place and the damp around it fall; dry floor stays."""
    dries = replace(FLOOR, spacing=0.5, wets=(Wet(6.5, 3.5, 40.0, 2.0, 5.0),))
    for seed in range(3):
        masks, _ = places_read_lower(scans(invent(dries, seed).survey), LEVEL, 1.0)
        assert not any(mask.any() for mask in masks)


def test_a_meter_that_drifts_as_a_whole_or_a_part_that_rose_is_none_of_it() -> None:
    floor = invent(FLOOR, 1).survey
    for survey in (other_pad(floor, "v4", -9.0, beyond=-1.0), other_pad(floor, "v4", 9.0)):
        assert not any(mask.any() for mask in places_read_lower(scans(survey), LEVEL, 1.0)[0])


def test_a_test_is_asked_where_that_part_stood_highest() -> None:
    floor = invent(FLOOR, 1).survey
    assert asked(floor) == ()
    (high,) = asked(other_pad(floor, "v4", -9.0))
    assert "reads lower since, dry floor and all" in high.why
    assert np.hypot(*(np.array(high.places) - (6.5, 3.5)).T).max() < 1.5
    assert (high.value or 0.0) > LEVEL


def test_the_fall_of_that_part_is_no_drying_and_its_zone_stays() -> None:
    """It is told, its wet floor counts as it was read before, and no day is named."""
    recipe = replace(FLOOR, days=(0.0, 7.0), wets=(Wet(6.5, 3.5, 26.0, 1.2, 60.0),))
    survey = invent(recipe, 1).survey
    lower = compare_visits(other_pad(survey, "v2", -16.0)).drying
    said = " ".join(lower.statements)
    assert "are lower by one amount, dry floor and all" in said
    assert "counts as wet and no day can be named for it: read it again as on the" in said
    assert "may be the zero of the meter alone" in said
    assert not lower.forecasts
    before, now = lower.wet_areas
    assert now.area_m2 > 0.7 * before.area_m2 > 1.0


def test_a_zone_left_in_that_part_has_no_latest_day() -> None:
    survey = other_pad(invent(FLOOR, 1).survey, "v4", -9.0)
    clean = clean_readings(survey, "v4", domains=domains(survey.plan))
    (aside,) = without_lower_parts(
        [clean_readings(survey, "v3", domains=domains(survey.plan)), clean], survey, LEVEL
    )[1:]
    zone = box(6.0, 3.0, 7.0, 4.0)
    assert "no latest day is given" in zone_read_lower(aside, zone, "A")
    assert zone_read_lower(aside, box(1.0, 1.0, 2.0, 2.0), "A") == ""
    assert zone_read_lower(clean, zone, "A") == ""
