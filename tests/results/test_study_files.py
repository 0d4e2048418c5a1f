"""The files of a study open elsewhere and say what they are."""

from __future__ import annotations

import json
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import xarray as xr

from moisturemap.bundles import Study
from moisturemap.results.study_files import export_study, spreadsheet_text


@pytest.fixture(scope="module")
def folder(bakery: Study, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with everything exported."""
    path = tmp_path_factory.mktemp("bakery")
    export_study(bakery, path)
    return path


def test_geopackage_holds_every_layer(folder: Path, bakery: Study) -> None:
    """GDAL reads each layer with all its rows."""
    layers = {name for name, _ in pyogrio.list_layers(folder / "floor.gpkg")}
    assert {"rooms", "readings", "zones", "anomalies", "bands", "drill_plan"} <= layers
    readings = gpd.read_file(folder / "floor.gpkg", layer="readings")
    assert len(readings) == len(bakery.readings)


def test_bands_tile_the_floor(folder: Path, bakery: Study) -> None:
    """The contour bands cover the rooms once."""
    bands = gpd.read_file(folder / "floor.gpkg", layer="bands")
    outline = bakery.survey.plan.outline
    assert bands.area.sum() == pytest.approx(outline.area, rel=1e-3)
    assert bands.union_all().symmetric_difference(outline).area < 1e-3 * outline.area


def test_geojson_keeps_plan_metres(folder: Path, bakery: Study) -> None:
    """Coordinates are those of the plan and no world frame is claimed."""
    content = json.loads((folder / "rooms.geojson").read_text(encoding="utf-8"))
    assert "crs" not in content
    xs = [x for x, _ in content["features"][0]["geometry"]["coordinates"][0]]
    assert max(xs) == bakery.survey.plan.bounds[2]


def test_surface_comes_back_from_netcdf(folder: Path, bakery: Study) -> None:
    """The grid reads back and carries units and a warning."""
    with xr.open_dataset(folder / "surface.nc", engine="scipy") as surface:
        assert np.allclose(surface["mean"], bakery.surface["mean"], equal_nan=True)
        assert surface["x"].attrs["units"] == "m"
        assert surface.attrs["Conventions"].startswith("CF-")
        assert "not a moisture content" in surface.attrs["comment"]


def test_drill_table_has_one_row_a_hole(folder: Path, bakery: Study) -> None:
    """The table for the site lists every hole with its set-out."""
    table = pd.read_csv(folder / "drill-plan.csv")
    assert list(table["hole"]) == list(bakery.drill_plan["hole"])
    assert table["set_out"].str.len().min() > 10


@pytest.mark.parametrize("text", ["=1+1", "@SUM(A1)", "+49 30", "-cmd", "\tx"])
def test_text_never_runs_in_a_spreadsheet(text: str) -> None:
    """Texts that a spreadsheet would run are quoted; numbers and plain texts stay."""
    assert spreadsheet_text(text) == "'" + text
    assert spreadsheet_text("plain") == "plain"
    assert spreadsheet_text(-3.5) == -3.5
