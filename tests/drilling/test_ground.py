"""Where something hidden may lie under the cells a hole could stand on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import Polygon

from moisturemap.anomalies import Rises
from moisturemap.drilling import DrillOptions
from moisturemap.drilling.ground import Ground
from moisturemap.drilling.objective import Objective
from moisturemap.drilling.options import Weights
from moisturemap.drilling.purpose import purposes
from moisturemap.drilling.site import make_site
from moisturemap.synthetic import FloorRecipe, make_floor
from moisturemap.workflow.study import study


@pytest.fixture(scope="module")
def ground() -> Ground:
    """A small floor read densely, whose cells are finer than a thing is wide; a row stands high."""
    recipe = FloorRecipe(width=4.0, depth=3.0, spacing=0.3, plumes=("edge",))
    made = study(make_floor(recipe, 3).survey, with_holes=False)
    ((key, rises),) = made.found.rises.items()
    high = np.abs(rises.points[:, 0] - rises.points[:, 0].mean()) < 0.2
    over = np.where(high[:, None], 6.0 * rises.noise_sd, rises.over)
    parts = made.moisture, made.wet, made.survey.plan, made.domains
    return Ground(*parts, Polygon(), DrillOptions(), {key: replace(rises, over=over)})


def test_cells_between_those_asked_speak_as_if_asked_themselves(ground, monkeypatch):
    """Fewer are asked, and none outside the wet zones is taken for calm that is not."""
    asked = []
    log_odds = Rises.log_odds
    monkeypatch.setattr(
        Rises,
        "log_odds",
        lambda self, at, within: asked.append(len(at)) or log_odds(self, at, within),
    )
    found = ground.log_odds[ground.reachable]
    assert 0 < sum(asked) < 0.8 * len(found)
    exact = ground.hidden_at(ground.domains[0].key, ground.surface.grid.centres(ground.reachable))
    outside = ~ground.in_zone[ground.reachable]
    assert (exact > 0.0).any()
    assert np.array_equal(found[outside] > 0.0, exact[outside] > 0.0)
    assert np.sqrt(np.mean((found - exact) ** 2)) < 0.4


def test_coarse_cells_are_all_asked(ground):
    """Of cells as wide as the rise over a thing none is taken from its neighbours."""
    key = ground.domains[0].key
    narrow = {key: replace(ground.rises[key], width=0.5 * ground.surface.grid.spacing)}
    coarse = Ground(
        ground.surface, ground.wet, ground.plan, ground.domains, Polygon(), ground.options, narrow
    )
    exact = coarse.hidden_at(key, coarse.surface.grid.centres(coarse.reachable))
    assert np.array_equal(coarse.log_odds[coarse.reachable], exact)


def test_a_share_of_floor_is_counted_over_cells_and_not_over_places(ground):
    """Places of wet blocks stand where those read highest: shares of them say too little."""
    site = make_site(ground, ground.clear_cells, np.empty((0, 2)))
    cells = ground.surface.mean[ground.cells]
    for place in np.flatnonzero(np.isfinite(site.mean))[::25]:
        assert site.rank[place] == pytest.approx(float((cells < site.mean[place]).mean()))


def test_of_holes_as_likely_the_one_that_reads_higher_is_the_wettest(ground):
    """Where draws cannot tell two places apart, the map does."""
    site = make_site(ground, ground.clear_cells, np.empty((0, 2)))
    order = np.argsort(site.mean)
    low, high = (int(order[share * (len(order) - 1) // 10]) for share in (5, 9))
    assert site.mean[high] > site.mean[low]
    sure = replace(site, wettest=np.ones_like(site.wettest))
    for chosen in ([low, high], [high, low]):
        told = purposes(Objective(sure, Weights(), 0.1), chosen)
        assert [one.name == "wettest" for one in told] == [one == high for one in chosen]
