"""The texture and plumes of invented floors."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Point

from moisturemap.geostat import Covariance
from moisturemap.synthetic import FloorRecipe, Plume
from moisturemap.synthetic.field import Texture


def test_the_texture_has_the_matern_covariance_it_names():
    """Correlation over many draws against the closed form (1 + s) exp(-s)."""
    recipe = replace(FloorRecipe(), texture_sd=3.0, texture_length=1.0, footprint=1e-6)
    places = np.array([[0.0, 0.0], [0.3, 0.0], [0.0, 0.8], [1.5, 0.0]])
    drawn = np.array(
        [Texture.draw(recipe, np.random.default_rng(seed)).at(places) for seed in range(900)]
    )
    model = Covariance("matern32", 9.0, 1.0)
    expected = model.between(places, places)
    assert np.cov(drawn.T) == pytest.approx(expected, abs=1.3)


def test_a_footprint_smooths_the_texture():
    """A wide footprint leaves less of it."""
    recipe = replace(FloorRecipe(), texture_length=0.5)
    places = np.random.default_rng(1).uniform(0, 20, (800, 2))
    sharp = Texture.draw(replace(recipe, footprint=0.01), np.random.default_rng(2)).at(places)
    blurred = Texture.draw(replace(recipe, footprint=0.4), np.random.default_rng(2)).at(places)
    assert blurred.std() < 0.8 * sharp.std()


@pytest.mark.parametrize("kind", ["edge", "burst", "corner", "joint"])
def test_plumes_peak_at_their_source_and_die_away(kind):
    """Rise at the source, nothing far off, never negative."""
    plume = Plume(kind, Point(0, 0), 30.0, 0.8)
    along = plume.at(np.column_stack([np.linspace(0, 12, 60), np.zeros(60)]))
    assert along[0] == pytest.approx(30.0, rel=0.02)
    assert (np.diff(along) <= 1e-9).all()
    assert 0 <= along[-1] < 0.01
