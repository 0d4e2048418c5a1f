"""No machine is sent to floor that still takes up water, nor left there."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
import shapely
from shapely.geometry import Point

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "drying"))

from invented_visits import Recipe, Wet, invent

from moisturemap.entry.options import placement_options
from moisturemap.survey import EQUIPMENT_COLUMNS
from moisturemap.workflow.placement import CLEAR_OF_LEAK_M, plan_drying


@pytest.mark.thorough
def test_machines_keep_clear_of_a_possible_leak() -> None:
    """A patch that rises in the middle of a hall; one machine stands on it."""
    recipe = Recipe(
        width=8.0,
        depth=7.0,
        noise_sd=1.0,
        days=(0.0, 7.0, 14.0),
        wets=(Wet(4.0, 3.5, 25.0, 0.9, 1e9, 1.2),),
        dry_reference=8,
    )
    survey = invent(recipe, 4).survey
    row = dict.fromkeys(EQUIPMENT_COLUMNS) | {
        "visit": "v3",
        "machine": "D1",
        "kind": "dehumidifier",
    }
    table = pd.DataFrame([row | {"x": 4.0, "y": 3.5}])[list(EQUIPMENT_COLUMNS)]
    found = plan_drying(
        replace(survey, equipment=table),
        placement=placement_options(dehumidifiers=1, air_movers=1),
    )
    assert found.equipment is not None
    placed = found.equipment.placement
    wet = shapely.union_all(list(found.comparison.drying.rising.geometry))
    assert not wet.is_empty
    for move in placed.moves.itertuples():
        assert wet.distance(Point(move.new_x, move.new_y)) >= 0.95 * CLEAR_OF_LEAK_M
    assert any("No machine is placed there or within 1 m" in note for note in placed.notes)
    assert any("D1 stands in an area to be kept clear" in note for note in placed.notes)
