"""A few corrected readings are on the map at once, and what was not touched stays."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from moisturemap.bundles import Study
from moisturemap.survey import USED_FLAGS
from moisturemap.zones import map_corrected, map_visit


def _with(study: Study, reading: int, **values: Any) -> Study:
    """A survey in which one reading of the study is another."""
    readings = study.survey.readings.copy()
    row = readings.index[readings["reading"] == reading]
    for name, value in values.items():
        readings.loc[row, name] = value
    return dataclasses.replace(study.survey, readings=readings)


def _dry(study: Study) -> Any:
    """A used reading on floor that is far below the wet level."""
    used = study.readings[study.readings["flag"].isin(USED_FLAGS)]
    return used.loc[used["value"].idxmin()]


def test_nothing_changed_is_the_same_map(bakery: Study) -> None:
    """Cells, zones and flags are those of the study."""
    again = map_corrected(bakery, bakery.survey)
    assert again is not None
    np.testing.assert_allclose(again.surface["mean"], bakery.surface["mean"], atol=1e-6)
    assert list(again.readings["flag"]) == list(bakery.readings["flag"])
    assert list(again.zones["area_m2"]) == pytest.approx(list(bakery.zones["area_m2"]))


@pytest.mark.thorough
def test_dry_floor_read_again_as_wet_is_wet_on_the_quick_map(bakery: Study) -> None:
    """The value at its place moves as on the map made anew, to within the sd told there."""
    dry = _dry(bakery)
    wet = float(bakery.wet.level.value) * 1.3
    survey = _with(bakery, dry["reading"], value=wet, raw=f"{wet:g}")
    quick, whole = map_corrected(bakery, survey), map_visit(survey, bakery.visit.id)
    assert quick is not None
    row = quick.readings[quick.readings["reading"] == dry["reading"]].iloc[0]
    assert (row["value"], row["flag"]) == (wet, "clear")
    place = {"x": dry["x"], "y": dry["y"], "method": "nearest"}
    values = [float(one.surface["mean"].sel(**place)) for one in (bakery, quick, whole)]
    sd = float(whole.surface["sd"].sel(**place))
    assert values[1] > values[0] + sd
    still_used = whole.readings.set_index("reading").loc[dry["reading"], "flag"] in USED_FLAGS
    assert values[1] > values[2] - sd
    assert not still_used or abs(values[1] - values[2]) < sd


def test_far_from_a_correction_the_map_stays(bakery: Study) -> None:
    """Cells beyond the reach of the changed reading keep their values to the last figure."""
    dry = _dry(bakery)
    quick = map_corrected(bakery, _with(bakery, dry["reading"], value=float(dry["value"]) + 3.0))
    assert quick is not None
    x, y = np.meshgrid(bakery.surface["x"], bakery.surface["y"])
    far = np.hypot(x - dry["x"], y - dry["y"]) > 6.0
    before, now = bakery.surface["mean"].to_numpy(), quick.surface["mean"].to_numpy()
    assert np.isfinite(before[far]).any()
    np.testing.assert_array_equal(now[far], before[far])


def test_a_reading_taken_out_is_out(bakery: Study) -> None:
    """It is in no list any more, and the map there is carried by its neighbours."""
    dry = _dry(bakery)
    left = bakery.survey.readings[bakery.survey.readings["reading"] != dry["reading"]]
    quick = map_corrected(bakery, dataclasses.replace(bakery.survey, readings=left))
    assert quick is not None
    assert dry["reading"] not in set(quick.readings["reading"])
    assert len(quick.readings) == len(bakery.readings) - 1


def test_what_was_set_aside_for_a_thing_comes_back_when_it_is_read_again(bakery: Study) -> None:
    """The corrected reading is used; the others over the thing stay aside with their reason."""
    aside = bakery.readings[bakery.readings["flag"] == "line"]
    first = aside.iloc[0]
    level = float(bakery.readings["value"].median())
    quick = map_corrected(bakery, _with(bakery, first["reading"], value=level, raw=f"{level:g}"))
    assert quick is not None
    flags = quick.readings.set_index("reading")["flag"]
    assert flags[first["reading"]] == "clear"
    assert set(flags[aside["reading"].iloc[1:]]) == {"line"}


def test_many_corrections_take_the_whole_way(bakery: Study) -> None:
    """Another floor would be mapped with the covariance of this one."""
    readings = bakery.survey.readings.copy()
    readings["value"] += 1.0
    assert map_corrected(bakery, dataclasses.replace(bakery.survey, readings=readings)) is None
