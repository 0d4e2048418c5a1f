"""A visit none of whose readings can be mapped is refused with what would help."""

from __future__ import annotations

import pytest

from moisturemap.errors import NotEnoughData
from moisturemap.survey import clean_readings, why_unusable
from moisturemap.workflow.check import check_survey
from moisturemap.workflow.read import read_survey
from moisturemap.workflow.study import study

GRID = [(x, y) for x in range(1, 12) for y in range(1, 8)]


def survey_of(folder, rows: list[str]):
    """A hall of 12 x 8 m with the readings of some rows."""
    (folder / "plan.wkt").write_text("POLYGON ((0 0, 12 0, 12 8, 0 8, 0 0))")
    (folder / "readings.csv").write_text("x,y,value\n" + "".join(f"{row}\n" for row in rows))
    (folder / "survey.toml").write_text(
        '[survey]\nname = "Hall"\n[plan]\nfile = "plan.wkt"\n[[instruments]]\nid = "meter"\n'
        'kind = "relative"\nscale = [0, 100]\n[[visits]]\nid = "v1"\nreadings = "readings.csv"\n'
    )
    return read_survey(folder)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([f"{1000 * x},{1000 * y},20" for x, y in GRID], ["10,000 x 6,000", "are they in mm"]),
        ([f"{x + 500},{y},20" for x, y in GRID], ["the plan 12 x 8 m", "a shift of about -500"]),
        ([f"{x / 0.3048 + 60},{y / 0.3048},20" for x, y in GRID], ["are they in feet"]),
        ([f"{x},{y},nan" for x, y in GRID], ["row 2 holds 'nan'", "readings.csv"]),
    ],
)
def test_what_cannot_be_mapped_is_refused_with_what_would_fit(tmp_path, rows, words):
    """Both extents, and the unit or the shift."""
    survey = survey_of(tmp_path, rows)
    with pytest.raises(NotEnoughData) as refusal:
        study(survey)
    for part in words:
        assert part in str(refusal.value)
    assert check_survey(survey).unusable


def test_one_good_reading_is_enough_to_go_on(tmp_path):
    """A word in the value column is named with file, row and value in what is printed."""
    rows = [f"{x},{y},{'wet' if (x, y) == (3, 3) else 20 + x}" for x, y in GRID]
    survey = survey_of(tmp_path, rows)
    assert why_unusable(clean_readings(survey), survey.plan) == ""
    checked = check_survey(survey)
    assert not checked.unusable
    assert any("readings.csv, row 18 ('wet')" in one.sentence for one in checked.remarks)
