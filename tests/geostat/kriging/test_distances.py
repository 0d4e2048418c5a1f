"""Distances and correlations that krigings of the same readings share."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from moisturemap.geostat import Covariance
from moisturemap.geostat.kriging import distances
from moisturemap.geostat.kriging.distances import Distances

MODELS = (
    Covariance("matern32", 2.0, 3.0, 0.1),
    Covariance("matern32", 0.5, 3.0, 0.9),
    Covariance("exponential", 2.0, 3.0),
    Covariance("matern32", 2.0, 3.0, anisotropy=0.4, angle_deg=30.0),
    Covariance("matern32", 2.0, 3.0, anisotropy=0.4, angle_deg=75.0),
)


@pytest.mark.parametrize("kept", [0, 10_000])
def test_shared_covariances_are_those_of_each_model(kept, monkeypatch):
    """Whether correlations are kept or too many to be; what one does with its own stays its own."""
    monkeypatch.setattr(distances, "KEPT", kept)
    rng = np.random.default_rng(3)
    one, other = rng.uniform(0.0, 8.0, (20, 2)), rng.uniform(0.0, 8.0, (30, 2))
    apart = Distances(one, other)
    for model in (*MODELS, *MODELS):
        found = apart.covariance(model)
        assert_allclose(found, model.between(one, other), rtol=1e-14)
        found[:] = np.nan
