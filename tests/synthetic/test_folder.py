"""An invented survey as a folder."""

from __future__ import annotations

import numpy as np

from moisturemap.synthetic import make_floor, write_folder
from moisturemap.workflow.read import read_survey


def test_a_written_floor_reads_back_as_it_was(tmp_path):
    """Plan, readings of every visit, tests and settings survive the round trip."""
    survey = make_floor("everything", 2).survey
    write_folder(survey, tmp_path)
    back = read_survey(tmp_path)
    assert back.name == survey.name
    assert [visit.id for visit in back.visits] == [visit.id for visit in survey.visits]
    assert np.allclose(back.readings["value"], survey.readings["value"])
    assert np.allclose(back.readings[["x", "y"]], survey.readings[["x", "y"]])
    assert list(back.readings["censored"]) == list(survey.readings["censored"])
    assert len(back.tests) == len(survey.tests)
    assert back.scan.wet_level == survey.scan.wet_level
    assert back.plan.outline.equals(survey.plan.outline)
    assert {line.kind for line in back.plan.lines} >= {line.kind for line in survey.plan.lines}


def test_rooms_keep_their_slab(tmp_path):
    """Base, thickness, drying faces and pour."""
    survey = make_floor("flat", 2).survey
    write_folder(survey, tmp_path)
    back = read_survey(tmp_path)
    assert [room.slab for room in back.plan.rooms] == [room.slab for room in survey.plan.rooms]
