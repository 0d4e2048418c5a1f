"""Readings only known to be at or above a value below the wet level."""

from __future__ import annotations

from types import SimpleNamespace

import geopandas as gpd
import pandas as pd
from shapely.geometry import box

from moisturemap.acceptance.capped import capped


def study(censored: list[str], level: float | None = 60.0, zones: tuple = ()) -> SimpleNamespace:
    """A row of readings of 30 and, where censored, of 55, half a metre apart."""
    rows = [
        (0.5 * k, 1.0, 55.0 if one else 30.0, "full-scale" if one else "clear", one)
        for k, one in enumerate(censored)
    ]
    readings = pd.DataFrame(rows, columns=["x", "y", "value", "flag", "censored"])
    wet = SimpleNamespace(level=SimpleNamespace(value=level), zones=gpd.GeoSeries(list(zones)))
    return SimpleNamespace(readings=readings, wet=wet)


def test_what_may_stand_above_the_level_is_asked_by_neighbours():
    found = capped(study(["", "above", "above", "", "", "", "above", ""]))
    assert [len(one.places) for one in found] == [1, 1]
    assert "2 readings are only known to be at or above 55" in found[0].why
    assert found[0].instead.startswith("read there again")
    assert "1 reading is" in found[1].why
    assert found[1].instead == ""


def test_what_a_zone_covers_or_cannot_be_above_the_level_is_not():
    assert capped(study(["", "above", ""], level=50.0)) == ()
    assert capped(study(["", "above", ""], level=None)) == ()
    assert capped(study(["", "above", ""], zones=(box(0, 0, 4, 2),))) == ()
    assert capped(study(["", "below", ""])) == ()
