"""One mistyped repeat must not hide a wet place."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

import moisturemap as mm
from moisturemap.survey.disagreement import contradicted

PLACES = [(0.25 + i / 2, 0.25 + j / 2) for j in range(12) for i in range(14)]
PEAK = (3.75, 3.25)


def rows(noise: float = 1.0) -> pd.DataFrame:
    """A hall of 7 x 6 m, wet in the middle; every sixth place read twice."""
    rng = np.random.default_rng(3)
    once = [
        (k, x, y, 30 + 40 * np.exp(-((x - PEAK[0]) ** 2 + (y - PEAK[1]) ** 2)))
        for k, (x, y) in enumerate(PLACES)
    ]
    frame = pd.DataFrame([*once, *once[::6]], columns=["location", "x", "y", "value"])
    frame["value"] += rng.normal(0, noise, len(frame))
    return frame


@pytest.mark.parametrize("noise", [0.3, 1.0, 3.0])
def test_noise_is_no_contradiction(noise: float) -> None:
    """Repeats that differ by noise are all kept."""
    assert not contradicted(rows(noise), 0.1).any()


@pytest.mark.thorough
@given(st.integers(0, len(PLACES) - 1), st.floats(0, 100))
def test_a_further_repeat_never_hides_the_higher_reading(place: int, value: float) -> None:
    """Whatever is typed again at a place: what is set aside there is the lower one."""
    floor = rows()
    x, y = PLACES[place]
    again = pd.DataFrame([(place, x, y, value)], columns=floor.columns)
    frame = pd.concat([floor, again], ignore_index=True)
    low = contradicted(frame, 1.0)
    here = (frame["location"] == place).to_numpy()
    assert not low[~here].any()
    assert frame["value"][here & ~low].max() == frame["value"][here].max()


@pytest.mark.thorough
def test_a_wet_zone_stays_whatever_is_typed_again_at_its_peak(tmp_path, store_room) -> None:
    """The map is that of the survey without the slip, and the slip is named."""

    def value(i: int, j: int) -> float:
        return round(25 + 45 * np.exp(-((i - 3) ** 2 + (j - 3) ** 2) / 4), 1)

    folder = store_room(tmp_path, value, "[scan]\nwet_level = 50\n")
    before = mm.study(mm.read_survey(folder)).zones["area_m2"].sum()
    with (folder / "readings.csv").open("a") as file:
        file.write("1.75,1.75,2\n")
    survey = mm.read_survey(folder)
    assert mm.study(survey).zones["area_m2"].sum() == pytest.approx(before)
    flags = mm.study(survey).readings["flag"]
    assert list(flags).count("repeat-differs") == 1
