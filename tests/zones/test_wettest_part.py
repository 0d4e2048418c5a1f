"""Peaks of a wet zone, told apart by what lies between them."""

from __future__ import annotations

from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pytest
from shapely.geometry import Point, box

from moisturemap.zones import wettest_parts


def tops(saddle: float, second: float, apart: float = 6.0, sd: float = 1.0):
    """Parts of one zone over a corridor with two patches, the floor between them at a saddle."""
    x = np.arange(0.25, 12.0, 0.5)
    grid_x, grid_y = np.meshgrid(x, np.arange(0.25, 4.0, 0.5))
    first, other = (
        np.exp(-0.5 * np.hypot(grid_x - at, grid_y - 2.25) ** 2 / 0.6**2)
        for at in (2.25, 2.25 + apart)
    )
    joined = np.where((grid_x > 2.0) & (grid_x < 2.5 + apart), saddle, 30.0)
    mean = np.maximum(joined, 30.0 + np.maximum(30.0 * first, (second - 30.0) * other))
    grid = SimpleNamespace(
        x=x, y=np.arange(0.25, 4.0, 0.5), spacing=0.5, domain=np.zeros(mean.shape, dtype=int)
    )
    surface = SimpleNamespace(
        grid=grid, mean=mean, sd=np.full(mean.shape, sd), domains=(SimpleNamespace(key="D1"),)
    )
    zones = gpd.GeoDataFrame({"zone": ["A"], "domain": ["D1"]}, geometry=[box(0, 0, 12, 4)])
    return wettest_parts(surface, SimpleNamespace(zones=zones))["A"]


@pytest.mark.parametrize(
    ("saddle", "second", "count"),
    [(36.0, 58.0, 2), (30.0, 58.0, 2), (36.0, 60.0, 2), (55.0, 58.0, 1), (36.0, 45.0, 1)],
)
def test_each_peak_nearly_as_high_is_one_of_its_own(saddle, second, count):
    """Damp floor that joins two leaks makes no single one; a shoulder and a low patch are none."""
    found = tops(saddle, second)
    assert len(found) == count
    assert found[0].covers(Point(2.25, 2.25)) or second >= 60.0
    if count == 2:
        assert any(part.covers(Point(8.25, 2.25)) for part in found)


def test_what_noise_could_make_of_one_peak_is_one():
    """A saddle within two sd of the map, or peaks within a metre, are no second leak."""
    assert len(tops(36.0, 58.0, sd=4.0)) == 1
    assert len(tops(36.0, 58.0, apart=0.5)) == 1


def test_the_outline_of_a_part_has_no_slits():
    """Cells side by side are one rectangle, whatever rounding makes of their edges."""
    x = np.arange(0.05, 6.0, 0.1)
    mean = np.full((3, len(x)), 30.0)
    mean[:, 5:50] = 60.0
    grid = SimpleNamespace(x=x, y=x[:3], spacing=0.1, domain=np.zeros(mean.shape, dtype=int))
    surface = SimpleNamespace(
        grid=grid, mean=mean, sd=np.ones(mean.shape), domains=(SimpleNamespace(key="D1"),)
    )
    zones = gpd.GeoDataFrame({"zone": ["A"], "domain": ["D1"]}, geometry=[box(0, 0, 6, 0.3)])
    (part,) = wettest_parts(surface, SimpleNamespace(zones=zones))["A"]
    assert part.geom_type == "Polygon"
    assert part.area == pytest.approx(4.5 * 0.3)
    assert part.length == pytest.approx(9.6)
