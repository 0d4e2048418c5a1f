"""What lies in invented floors."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString

from moisturemap.synthetic import SERVICE_KINDS, FloorRecipe, Service, make_floor

BARE = FloorRecipe(width=7.0, depth=6.0, spacing=0.4)


def test_a_pipe_rises_over_its_line_and_falls_as_a_gaussian():
    """Strength on the line, exp(-1/2) of it one width beside."""
    pipe = Service("pipe", LineString([(0, 0), (4, 0)]), 12.0, 0.2)
    rise = pipe.at(np.array([[2.0, 0.0], [2.0, 0.2], [2.0, 2.0]]))
    assert rise == pytest.approx([12.0, 12.0 * np.exp(-0.5), 0.0], abs=1e-6)


@pytest.mark.parametrize(
    ("field", "kind"),
    [
        ("pipes", "pipe"),
        ("bent_pipes", "pipe"),
        ("loops", "loop"),
        ("plates", "plate"),
        ("boxes", "box"),
        ("salts", "salts"),
    ],
)
def test_the_recipe_says_how_many_of_each_there_are(field, kind):
    """Two of each kind, near the floor."""
    floor = make_floor(replace(BARE, **{field: 2}), 1)
    found = [one for one in floor.services if one.kind == kind]
    assert len(found) == 2
    assert kind in SERVICE_KINDS
    for one in found:
        assert one.geometry.distance(floor.survey.plan.outline) == 0.0


def test_bent_pipes_have_a_corner():
    """Three vertices."""
    floor = make_floor(replace(BARE, bent_pipes=1), 2)
    assert shapely.get_num_coordinates(floor.services[0].geometry) >= 3


def test_mesh_repeats_at_its_pitch():
    """The rise is the same one pitch further on."""
    floor = make_floor(replace(BARE, mesh_pitch=0.2), 3)
    mesh = floor.services[0]
    places = np.random.default_rng(1).uniform(2, 4, (40, 2))
    assert mesh.at(places) == pytest.approx(mesh.at(places + np.array([0.2, 0.0])), abs=1e-9)
    assert mesh.at(places) == pytest.approx(mesh.at(places + np.array([0.0, 0.2])), abs=1e-9)
