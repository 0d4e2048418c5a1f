"""Wet floor of an earlier visit that was not read since counts as wet."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from invented_visits import Recipe, Wet, invent

from moisturemap.drying import not_read_again
from moisturemap.equipment import Demand, with_unread
from moisturemap.floorplan import domains
from moisturemap.survey import clean_readings

LEVEL = 45.0
SURVEY = invent(Recipe(days=(0.0, 7.0), wets=(Wet(2.0, 2.5, 40.0, 0.4),)), 3).survey


def cleaned(survey):
    parts = domains(survey.plan)
    return [clean_readings(survey, one.id, domains=parts) for one in survey.visits]


def left_out(survey, visit: str, shift: float = 0.0):
    """The survey with nothing read about the wet place on a visit, its grid moved."""
    table = survey.readings.copy()
    on = table["visit"] == visit
    table.loc[on, ["x", "y"]] += shift
    near = np.hypot(table["x"] - 2.0, table["y"] - 2.5) < 0.8
    return replace(survey, readings=table[~(on & near)])


def test_a_wet_place_not_read_again_is_named_with_what_it_read():
    """A machine stands on it: its readings are missing on the second visit."""
    found = not_read_again(cleaned(left_out(SURVEY, "v2")), LEVEL)
    assert len(found.points) >= 4
    assert np.hypot(*(found.points - np.array([2.0, 2.5])).T).max() < 0.9
    assert (found.values > LEVEL).all()
    assert "not read on v2: wet at v1" in found.sentence
    assert f"{found.values.max():.3g} at" in found.sentence


def test_a_word_in_place_of_a_reading_does_not_count_as_read():
    """As "machine" written where the reading should stand."""
    table = SURVEY.readings.copy()
    near = np.hypot(table["x"] - 2.0, table["y"] - 2.5) < 0.8
    under = near & (table["visit"] == "v2")
    table.loc[under, "value"], table.loc[under, "raw"] = np.nan, "machine"
    found = not_read_again(cleaned(replace(SURVEY, readings=table)), LEVEL)
    assert len(found.points) >= 4


def test_what_was_read_again_is_not_named():
    """Neither on the same grid, nor on one moved by half a spacing, nor without a level."""
    table = SURVEY.readings.copy()
    table.loc[table["visit"] == "v2", ["x", "y"]] += 0.24
    for survey in (SURVEY, replace(SURVEY, readings=table)):
        assert not_read_again(cleaned(survey), LEVEL).sentence == ""
    assert not_read_again(cleaned(left_out(SURVEY, "v2")), None).sentence == ""


def test_machines_are_placed_by_it_too():
    """Its excess over the level times the floor it stands for."""
    none = Demand(np.empty((0, 2)), np.empty(0), np.empty(0, dtype=bool), np.empty(0, dtype=object))
    demand = with_unread(none, np.array([[2.0, 2.5]]), np.array([14.0]), 0.25)
    assert demand.points.tolist() == [[2.0, 2.5]]
    assert demand.weight.tolist() == [3.5]
    assert demand.zone.tolist() == [""]
