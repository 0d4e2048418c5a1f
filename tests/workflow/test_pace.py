"""What is said before long work starts."""

from __future__ import annotations

from dataclasses import replace

import click
import pandas as pd
import pytest

from moisturemap.cli.door import announce
from moisturemap.synthetic import make_floor
from moisturemap.workflow.pace import MEASURED_S, READINGS, announcement, expected_seconds

FLOOR = make_floor("flat", 2).survey


def with_readings(count: int):
    """The flat with so many readings on its last visit."""
    last = FLOOR.visits[-1].id
    frame = pd.DataFrame({"visit": [last] * count})
    return replace(FLOOR, readings=frame)


def test_the_measured_sizes_take_what_was_measured():
    """And kinds of work are added up."""
    for count, study, files in zip(READINGS, MEASURED_S["study"], MEASURED_S["files"], strict=True):
        survey = with_readings(count)
        assert expected_seconds(survey, ["study"]) == pytest.approx(study)
        assert expected_seconds(survey, ["study", "files"]) == pytest.approx(study + files)


@pytest.mark.thorough
def test_more_readings_never_take_less():
    """Also between and beyond the measured sizes."""
    sizes = (1, 100, 501, 3_000, 49_000, 190_000, 400_000)
    spent = [expected_seconds(with_readings(count), ["study"]) for count in sizes]
    assert spent == sorted(spent)
    assert spent[-1] == pytest.approx(2 * MEASURED_S["study"][-1])


def test_a_survey_without_readings_takes_nothing():
    """A floor of tests alone."""
    assert expected_seconds(replace(FLOOR, readings=pd.DataFrame()), ["study"]) == 0.0


def test_short_work_is_not_announced(capsys: pytest.CaptureFixture[str]):
    """Long work is, on stderr, with count and time."""
    assert announcement("500 readings", 2.0) == ""
    with click.Context(click.Command("map")):
        announce(with_readings(500), None, "study")
        assert capsys.readouterr() == ("", "")
        announce(with_readings(200_000), None, "study", "files")
    out, said = capsys.readouterr()
    assert out == ""
    assert said.startswith("200,000 readings: about 3 min")
