"""What a data person meets first: names, a look at a study, errors for wrong types."""

from __future__ import annotations

import json
from pathlib import Path

import geopandas as gpd
import pytest
from matplotlib.figure import Figure

import moisturemap as mm
from moisturemap.errors import OptionError
from moisturemap.results.study_files import write_geojson


def test_a_study_shows_itself_in_ten_lines(bakery: mm.Study) -> None:
    """Survey, visit, readings, surface, level, zones, anomalies, holes; no table is printed."""
    lines = repr(bakery).splitlines()
    assert len(lines) <= 10
    assert max(map(len, lines)) < 130
    for word in ("Corner bakery", "v1", "553", "cells", "35.8", "A 16", "H5"):
        assert word in repr(bakery)
    assert "<table>" in bakery._repr_html_()


def test_a_study_draws_itself(bakery: mm.Study) -> None:
    """With the options of the map."""
    assert isinstance(bakery.plot(holes=False), Figure)
    assert isinstance(mm.map_figure(bakery), Figure)


def test_every_variable_says_what_it_is(bakery: mm.Study) -> None:
    """Long name and unit on mean, sd, p_wet and both axes."""
    for name in ("mean", "sd", "p_wet", "x", "y"):
        attributes = bakery.surface[name].attrs
        assert attributes["long_name"]
        assert attributes["units"] == ("m" if name in ("x", "y") else "1")


def test_geojson_is_not_taken_for_degrees(bakery: mm.Study, tmp_path: Path) -> None:
    """A reader finds no geographic frame, so that metres stay metres (OGC 21-045)."""
    path = write_geojson(bakery.zones, tmp_path / "zones.geojson")
    assert json.loads(path.read_text())["coordRefSys"] is None
    found = gpd.read_file(path)
    assert found.crs is None
    assert found.area.iat[0] == pytest.approx(bakery.zones["area_m2"].iat[0], rel=1e-6)


def test_wrong_types_are_refused_in_words(bakery: mm.Study, tmp_path: Path) -> None:
    """Not by an attribute that something lacks."""
    for call in (
        lambda: mm.study("demo_plans/bakery"),  # type: ignore[arg-type]
        lambda: mm.read_survey(3),  # type: ignore[arg-type]
        lambda: mm.map_figure("map"),  # type: ignore[arg-type]
        lambda: mm.write_report(bakery.survey, tmp_path / "r.pdf"),  # type: ignore[arg-type]
    ):
        with pytest.raises(OptionError, match="wrong type"):
            call()
