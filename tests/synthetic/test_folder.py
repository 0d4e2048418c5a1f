"""An invented survey as a folder."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np

from moisturemap.survey import AmbientReading, InstrumentCheck, Limit
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


def test_instruments_keep_calibration_and_checks(tmp_path):
    """And the limit, the log of the air and every field of a test."""
    survey = make_floor("everything", 2).survey
    meter = next(iter(survey.instruments.values()))
    when = datetime(2026, 3, 1, 8, tzinfo=UTC)
    check = InstrumentCheck(when, "check-block", 51.0, 50.0)
    named = replace(meter, calibrated=date(2025, 9, 1), checks=(check,), footprint_m=0.1)
    first = replace(
        survey.visits[0],
        service_temperature_c=21.0,
        acclimation=(AmbientReading(when, 20.0, 48.0),),
    )
    survey = replace(
        survey,
        instruments={**survey.instruments, meter.id: named},
        visits=(first, *survey.visits[1:]),
        tests=survey.tests.assign(drift_pct=0.3, surface="ground"),
        limit=Limit("in-situ-rh", 80.0, "%RH", "invented sheet", 2.0),
    )
    write_folder(survey, tmp_path)
    back = read_survey(tmp_path)
    assert back.instruments[meter.id] == named
    assert back.visits[0].acclimation == first.acclimation
    assert back.visits[0].service_temperature_c == 21.0
    assert back.limit == survey.limit
    assert list(back.tests["drift_pct"]) == list(survey.tests["drift_pct"])
    assert list(back.tests["surface"]) == list(survey.tests["surface"])
