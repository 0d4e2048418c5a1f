"""The diffusion solver keeps its promises whatever the numbers."""

import numpy as np
import pytest

from moisturemap.slab import (
    SEALED,
    Cells,
    DiffusivityCurve,
    Face,
    Isotherm,
    Layers,
    Material,
    after_covering,
    diffuse,
)

CELLS = Cells.spread(60, finer_top=1.03)
MATERIAL = Material.made([Isotherm(0.5)], [DiffusivityCurve()])


def mass(material, h):
    """Water in each layer."""
    return material.water_at(h) @ CELLS.thickness


def dried(fo, start=0.97, surface=0.5):
    """One layer dried from the top."""
    fresh = np.full((1, CELLS.z.size), start)
    return diffuse(Layers(MATERIAL, CELLS, (Face(surface), SEALED)), fresh, np.array([fo]))[:, 0]


def test_mass_is_conserved_under_a_seal():
    """Water before and after a year under a seal differs by less than one part in a million."""
    h = dried(0.1)
    path = after_covering(MATERIAL, h, CELLS, np.array([0.01, 0.1, 1.0]))[0]
    for moment in path:
        change = mass(MATERIAL, moment[None]) / mass(MATERIAL, h) - 1.0
        assert abs(float(change[0])) < 1e-6


def test_water_lost_equals_the_flux_through_the_top():
    """The balance closes in drying too: loss equals the flux out summed over time."""
    times = np.linspace(0.05, 0.06, 201)
    fresh = np.full((1, CELLS.z.size), 0.97)
    path = diffuse(Layers(MATERIAL, CELLS, (Face(0.5), SEALED)), fresh, times)[0]
    rows = MATERIAL.take(np.zeros(len(path), int))
    potential = rows.lookup(rows.potential, path)[0]
    flux = (potential[:, 1] - potential[:, 0]) / (CELLS.z[1] - CELLS.z[0])
    lost = mass(rows, path)
    assert lost[0] - lost[-1] == pytest.approx(np.trapezoid(flux, times), rel=2e-4)


def test_layers_solved_together_equal_layers_solved_alone():
    """Solving many at once couples none of them."""
    material = Material.made([Isotherm(0.4), None], [DiffusivityCurve(), DiffusivityCurve(0.1)])
    start = np.array([[0.95], [0.9]]) * np.ones((2, CELLS.z.size))
    surface = np.array([0.45, 0.6])
    times = np.array([0.05, 0.3])
    both = diffuse(Layers(material, CELLS, (Face(surface), SEALED)), start, times)
    for row in (0, 1):
        alone = Layers(material.take(np.array([row])), CELLS, (Face(surface[row]), SEALED))
        assert np.allclose(both[row], diffuse(alone, start[row : row + 1], times)[0], atol=1e-9)


def test_humidity_stays_between_start_and_air():
    """A drying slab is nowhere wetter than it began nor drier than the air."""
    h = dried(0.2)
    assert h.max() <= 0.97 + 1e-9
    assert h.min() >= 0.5 - 1e-9
    assert (np.diff(h[0]) >= -1e-9).all()


def test_a_film_too_good_to_matter_equals_a_fixed_face():
    """A very large Biot number is a face at the humidity of the air."""
    fresh = np.full((1, CELLS.z.size), 0.97)
    fixed = diffuse(Layers(MATERIAL, CELLS, (Face(0.5), SEALED)), fresh, np.array([0.1]))
    film = diffuse(Layers(MATERIAL, CELLS, (Face(0.5, film=1e6), SEALED)), fresh, np.array([0.1]))
    assert np.abs(fixed - film).max() < 1e-3


def test_time_scales_with_the_square_of_thickness():
    """The solution knows only D t / L^2: twice the thickness takes four times as long."""
    thin, thick = 29.0 * 60 / 100**2, 29.0 * 240 / 200**2
    assert thin == thick
    assert np.allclose(dried(thin), dried(thick))
