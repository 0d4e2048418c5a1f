"""A single high reading elsewhere takes no wet floor off the map."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Point

from moisturemap import read_survey, study
from moisturemap.acceptance.unmapped import places_without_map
from moisturemap.scanning import review

SPOT = (2.5, 2.0)


def write_floor(folder, stray: float | None, rise: float, width: float, step: float = 1.0):
    """A room of 8 x 6 m read on a grid: dry floor near 31, one wet spot, one reading changed."""
    rng = np.random.default_rng(1)
    rows = ["x,y,value"]
    for y in np.arange(0.5 * step, 6.0, step):
        for x in np.arange(0.5 * step, 8.0, step):
            away = np.hypot(x - SPOT[0], y - SPOT[1])
            value = 31.0 + rng.standard_normal() + rise * np.exp(-0.5 * (away / width) ** 2)
            changed = stray is not None and np.hypot(x - 6.5, y - 4.5) < 0.5 * step
            rows.append(f"{x},{y},{stray if changed else round(value)}")
    (folder / "readings.csv").write_text("\n".join(rows), encoding="utf-8")
    (folder / "plan.wkt").write_text("store;POLYGON ((0 0, 8 0, 8 6, 0 6, 0 0))\n")
    (folder / "survey.toml").write_text(
        '[survey]\nname = "Store"\ncoordinates = "m"\ntimezone = "UTC"\n'
        '[plan]\nfile = "plan.wkt"\n'
        '[[instruments]]\nid = "S"\nkind = "relative"\nscale = [0, 100]\n'
        '[[visits]]\nid = "v1"\nstarted = 2026-03-02T10:00:00Z\n'
        'readings = [{ file = "readings.csv", instrument = "S" }]\n'
        "[scan]\ndry_reference = [30, 31, 32, 31, 30, 32, 31, 30, 32, 31]\n",
        encoding="utf-8",
    )
    return folder / "survey.toml"


@pytest.mark.thorough
@pytest.mark.parametrize(("rise", "width"), [(25.0, 0.5), (15.0, 0.9)])
def test_one_high_reading_smooths_no_wet_patch_away(tmp_path, rise, width):
    """It was taken for noise of the whole floor; the zone of two to five readings was gone."""
    kept = []
    for stray in (None, 88.0):
        (folder := tmp_path / f"{stray}").mkdir()
        found = study(read_survey(write_floor(folder, stray, rise, width)))
        at = found.zones[found.zones.geometry.distance(Point(SPOT)) < 0.6]
        assert len(at) == 1
        kept.append(at.iloc[0])
    assert kept[1]["area_m2"] > 0.8 * kept[0]["area_m2"]
    assert kept[1]["peak"] > kept[0]["peak"] - 2.0


@pytest.mark.thorough
@pytest.mark.parametrize("step", [1.0, 1.5, 2.0])
def test_wet_readings_are_asked_for_whatever_one_value_makes_of_the_map(tmp_path, step):
    """On coarse grids one high value joins all floor to a zone, or takes the wet patch off it."""
    for stray in (None, 88.0):
        (folder := tmp_path / f"{stray}").mkdir()
        survey = read_survey(write_floor(folder, stray, 30.0, 0.9, step))
        asked = places_without_map(survey, study(survey, with_holes=False))
        high = [one.places for one in asked if "far above" in one.why]
        assert any(Point(SPOT).distance(Point(place[0])) < step for place in high)


@pytest.mark.parametrize(("stray", "asked"), [(95.0, 1), (None, 0)])
def test_a_clean_reading_that_stands_alone_asks_a_test_at_it(tmp_path, stray, asked):
    """A test 0.8 m away stood for it, and one written "95?" was not proven."""
    path = write_floor(tmp_path, None, 0.0, 0.5, 0.5)
    rows = ["x,y,value"]
    for k in range(96):
        x, y = 0.25 + 0.5 * (k % 12), 0.25 + 0.5 * (k // 12)
        rows.append(f"{x},{y},{stray if stray and k == 40 else 30 + 7 * k % 17 % 3}")
    (tmp_path / "readings.csv").write_text("\n".join(rows), encoding="utf-8")
    (tmp_path / "plan.wkt").write_text("store;POLYGON ((0 0, 6 0, 6 4, 0 4, 0 0))\n")
    survey = read_survey(path)
    found = study(survey, with_holes=False)
    high = [one for one in places_without_map(survey, found) if one.value == stray]
    assert len(high) == asked
    for one in high:
        assert one.within_m == 0.5
        assert "may be a small wet place" in one.why
    told = [one.sentence for one in review(survey, found.clean)]
    assert sum("far above every neighbour" in one for one in told) == asked
