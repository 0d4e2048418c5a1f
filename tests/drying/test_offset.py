"""What the meter is taken to be off by, and when that is not believed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
from invented_visits import Recipe, invent

from moisturemap.drying import DRIED
from moisturemap.workflow.drying import compare_visits


def test_a_reference_that_grows_damp_makes_no_floor_dry() -> None:
    """The same readings on each visit, the dry reference 12 % of the scale higher at the end."""
    recipe = Recipe(days=(0.0, 7.0, 14.0), dry_reference=8, width=6, depth=5)
    survey = invent(recipe, 3).survey
    same = survey.readings[survey.readings["visit"] == survey.visits[0].id]
    readings = pd.concat([same.assign(visit=one.id) for one in survey.visits], ignore_index=True)
    known = survey.visits[0].dry_reference
    for rise, doubted in ((0.0, False), (6.0, True)):
        visits = [
            replace(one, dry_reference=tuple(v + rise * k for v in known))
            for k, one in enumerate(survey.visits)
        ]
        found = compare_visits(replace(survey, visits=tuple(visits), readings=readings)).drying
        assert ("more than a meter drifts" in found.statements[0]) is doubted
        assert not np.any(found.change.dataset["verdict"].to_numpy() == DRIED)
