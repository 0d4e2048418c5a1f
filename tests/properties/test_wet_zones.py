"""Wet zones of whole scans: areas within bounds, and no way to hide wet floor by reading higher."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moisturemap.survey import USED_FLAGS
from moisturemap.synthetic import FloorRecipe, make_floor
from moisturemap.zones import MappedVisit, map_visit

LEVEL_UP = st.floats(1.0, 60.0)
SEEDS = st.integers(0, 30)


def floor(seed: int):
    """A small room with a burst or a wet edge, read every half metre."""
    plume = ("burst", "edge")[seed % 2]
    recipe = FloorRecipe(width=6.0, depth=4.5, spacing=0.5, plumes=(plume,), wet_level="stated")
    return make_floor(recipe, seed).survey


def with_value(survey, row: int, value: float):
    """Return the survey with one reading changed."""
    readings = survey.readings.copy()
    readings.loc[readings.index[row], ["value", "raw"]] = [value, f"{value:g}"]
    return replace(survey, readings=readings)


def set_aside(mapped: MappedVisit) -> pd.DataFrame:
    """Readings that left the map: each carries a flag and a reason in words."""
    return mapped.readings[~mapped.readings["flag"].isin(USED_FLAGS)]


def contested(mapped: MappedVisit) -> pd.DataFrame:
    """Readings that stay as contested."""
    return mapped.readings[mapped.readings["flag"] == "contested"]


def silent(before: MappedVisit, after: MappedVisit) -> list[str]:
    """Zones of before of which after draws nothing and says nothing."""
    told = pd.concat([set_aside(after), contested(after)])
    missing = []
    for zone in before.zones.itertuples():
        drawn = after.zones.intersects(zone.geometry).any()
        flagged = told.intersects(zone.geometry.buffer(0.5)) if len(told) else pd.Series([False])
        if not drawn and not (flagged.any() and (told["reason"] != "").all()):
            missing.append(str(zone.zone))
    return missing


@pytest.mark.thorough
@settings(max_examples=6, deadline=None)
@given(seed=SEEDS)
def test_areas_and_intervals_hold_together(seed):
    """No zone exceeds the floor, all together neither; each interval contains its area."""
    survey = floor(seed)
    zones = map_visit(survey).zones
    whole = survey.plan.outline.area
    assert zones["area_m2"].sum() <= whole + 1e-6
    assert (zones["area_high_m2"] <= whole + 1e-6).all()
    assert (zones["area_low_m2"] <= zones["area_m2"] + 1e-9).all()
    assert (zones["area_m2"] <= zones["area_high_m2"] + 1e-9).all()


@pytest.mark.thorough
@settings(max_examples=6, deadline=None)
@given(seed=SEEDS, share=st.floats(0, 1), up=LEVEL_UP)
def test_a_higher_reading_inside_a_zone_never_removes_it(seed, share, up):
    """Whichever of its readings is raised, and however far, the zone is drawn or told of."""
    survey = floor(seed)
    before = map_visit(survey)
    for zone in before.zones.itertuples():
        inside = np.flatnonzero(before.readings.within(zone.geometry))
        if not inside.size:
            continue
        row = int(inside[int(share * (inside.size - 1))])
        value = min(100.0, float(survey.readings["value"].iloc[row]) + up)
        assert silent(before, map_visit(with_value(survey, row, value))) == []


@pytest.mark.thorough
@settings(max_examples=8, deadline=None)
@given(seed=SEEDS, share=st.floats(0, 1), up=LEVEL_UP)
def test_raising_any_reading_never_silences_wet_floor(seed, share, up):
    """Anywhere on the floor: what was a zone is drawn, or flagged with a reason in words."""
    survey = floor(seed)
    before = map_visit(survey)
    row = int(share * (len(survey.readings) - 1))
    value = min(100.0, float(survey.readings["value"].iloc[row]) + up)
    after = map_visit(with_value(survey, row, value))
    assert silent(before, after) == []
    level = before.wet.level.value
    place = after.readings.geometry.iloc[row]
    if value > level + 15.0:
        flagged = after.readings["flag"].iloc[row] not in ("", "clear")
        assert (
            flagged
            or after.zones.intersects(place.buffer(0.5)).any()
            or (after.wet.possible.intersects(place.buffer(0.5)).any())
        )


@pytest.mark.parametrize("seed", [0, 1])
def test_these_floors_have_zones(seed):
    """Else the properties above would hold for nothing."""
    assert len(map_visit(floor(seed)).zones) >= 1
