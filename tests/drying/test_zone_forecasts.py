"""What is said beside the forecasts of a floor."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pandas as pd
import pytest
from invented_visits import Recipe, Wet, invent

from moisturemap.drying.zone_forecasts import machines_gone
from moisturemap.survey import EQUIPMENT_COLUMNS


@pytest.mark.parametrize(
    ("listed", "told"),
    [((), ""), ((0, 1, 2), ""), ((2,), ""), ((0, 1), "v2"), ((0,), "v1")],
)
def test_machines_that_are_no_longer_listed_are_told(listed, told) -> None:
    """What dried with machines dries on more slowly without them."""
    recipe = Recipe(days=(0.0, 7.0, 14.0), wets=(Wet(3.0, 3.5, 40.0, 1.5, 12.0),))
    survey = invent(recipe, 3).survey
    machines = pd.DataFrame({"visit": [survey.visits[k].id for k in listed], "x": 1.0, "y": 1.0})
    known = replace(survey, equipment=machines.reindex(columns=list(EQUIPMENT_COLUMNS)))
    said = machines_gone(SimpleNamespace(survey=known, visit=survey.visits[-1]))
    assert said.startswith(f"Machines are listed on {told} and none on v3:" if told else "")
    assert bool(said) is bool(told)
