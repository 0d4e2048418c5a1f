"""Where a plan lies on the site."""

from __future__ import annotations

import math
import shutil
from pathlib import Path

import geopandas as gpd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS
from shapely.geometry import LineString, Point

import moisturemap as mm
from moisturemap.errors import SurveyError
from moisturemap.files.site_setting import site_of
from moisturemap.floorplan import SitePlace
from moisturemap.results.study_files import export_study
from moisturemap.workflow.demo import demo_plans

PLACE = st.floats(-500, 500)


@given(PLACE, PLACE, st.floats(-360, 360), st.sampled_from((1.0, 1200 / 3937)))
def test_a_line_towards_grid_north_points_north(
    x: float, y: float, north: float, unit_m: float
) -> None:
    """The arrow as drawn on the plan, ten metres long, runs due north on the site."""
    site = SitePlace((5000.0, 7000.0), "", north, unit_m)
    turn = math.radians(north)
    arrow = LineString([(x, y), (x + 10 * math.sin(turn), y + 10 * math.cos(turn))])
    (e0, n0), (e1, n1) = site.placed(arrow).coords
    assert e1 == pytest.approx(e0, abs=1e-6)
    assert n1 - n0 == pytest.approx(10 / unit_m, rel=1e-9)
    assert site.placed(Point(0, 0)).coords[0] == pytest.approx((5000.0, 7000.0))


@pytest.mark.parametrize(
    ("table", "named"),
    [
        ({"anchor": [1.0, 2.0], "crs": "EPSG:4326"}, "degrees"),
        ({"anchor": [1.0, 2.0], "crs": "here"}, "no such coordinate reference system"),
        ({"anchor": [1.0]}, "two numbers"),
        ({"anchor": [1e12, 0.0]}, "cannot lie there"),
        ({"crs": "EPSG:25832"}, "'anchor' is missing"),
        ({"anchor": [1.0, 2.0], "north": 3.0}, "did you mean 'north_deg'"),
    ],
)
def test_a_place_that_means_nothing_is_refused(table: dict[str, object], named: str) -> None:
    """With file, key and value."""
    with pytest.raises(SurveyError, match=named) as refused:
        site_of(table, "survey.toml")
    assert "survey.toml, [site]" in str(refused.value)


def test_feet_of_the_system_are_known() -> None:
    """US survey feet, 1200/3937 m (the definition of 1893), by the EPSG registry in PROJ."""
    site = site_of({"anchor": [984000.0, 211000.0], "crs": "EPSG:2263"}, "survey.toml")
    assert site.unit_m == pytest.approx(1200 / 3937, rel=1e-9)


@pytest.mark.thorough
def test_layers_fall_on_the_site(tmp_path: Path) -> None:
    """Every layer, in the stated system; those in plan metres stay beside them."""
    folder = tmp_path / "survey"
    shutil.copytree(demo_plans() / "bakery", folder)
    toml = folder / "survey.toml"
    stated = '\n[site]\ncrs = "EPSG:25832"\nanchor = [456000.0, 5428000.0]\nnorth_deg = 90\n'
    toml.write_text(toml.read_text(encoding="utf-8") + stated, encoding="utf-8")
    study = mm.study(mm.read_survey(folder))
    export_study(study, tmp_path / "out")
    here = gpd.read_file(tmp_path / "out" / "floor.gpkg", layer="rooms")
    placed = gpd.read_file(tmp_path / "out" / "site.gpkg", layer="rooms")
    assert placed.crs == CRS.from_epsg(25832)
    assert placed.area.sum() == pytest.approx(here.area.sum(), rel=1e-9)
    west, south, east, north = here.total_bounds
    # North lies to the right of the drawing: its x is northing, its y runs west.
    assert placed.total_bounds == pytest.approx(
        [456000 - north, 5428000 + west, 456000 - south, 5428000 + east]
    )
    zones = gpd.read_file(tmp_path / "out" / "site.gpkg", layer="zones")
    assert zones.area.sum() == pytest.approx(study.zones.area.sum(), rel=1e-9)
