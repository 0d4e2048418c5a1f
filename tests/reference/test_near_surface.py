"""The library of slabs a forecast rests on, against Crank's series with a surface film.

Source: J. Crank, The Mathematics of Diffusion, 2nd ed. 1975, section 4.3.6 (b tan b = Bi), summed
here on its own: u(z) = sum 4 sin b / (2 b + sin 2 b) cos(b (1 - z)) exp(-b^2 Fo).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import qmc

from moisturemap.slab import near_surface, read_curves
from moisturemap.slab.near_surface import (
    DEPTHS,
    FED_FILM,
    FED_SLABS,
    FO,
    RANGES,
    REACHES,
    SLABS,
    solve,
)


def _films() -> np.ndarray:
    """Biot numbers of all slabs, as the library draws them."""
    count = SLABS + FED_SLABS
    unit = qmc.Sobol(len(RANGES), seed=31).random_base2(int(np.ceil(np.log2(count))))[:count]
    low, high = RANGES["log_film"]
    return np.exp(low + unit[:, list(RANGES).index("log_film")] * (high - low))


def _series(biot: float, fo: float, z: np.ndarray) -> np.ndarray:
    b = np.array(
        [
            brentq(lambda r: r * np.tan(r) - biot, k * np.pi + 1e-9, (k + 0.5) * np.pi - 1e-9)
            for k in range(120)
        ]
    )
    share = 4 * np.sin(b) / (2 * b + np.sin(2 * b)) * np.exp(-(b**2) * fo)
    return np.cos(np.outer(1 - z, b)) @ share


@pytest.mark.thorough
def test_the_kept_library_is_what_is_solved() -> None:
    """To single precision; otherwise run scripts/make_near_surface.py."""
    for name, solved in vars(solve()).items():
        np.testing.assert_allclose(getattr(near_surface(), name), solved, rtol=1e-7, atol=1e-12)


@pytest.mark.thorough
def test_linear_slabs_follow_the_series() -> None:
    """Within 1% of the step at depth and near the surface, from Fo 0.01 to 1."""
    library, films = near_surface(), _films()
    fine = np.linspace(0.0, 1.0, 2001)
    checked = [row for row in range(SLABS // 2) if row % 10 >= 3][::9]
    for row in checked:
        for fo in (0.01, 0.05, 0.2, 1.0):
            at = np.full((1, 1), fo)
            for index, depth in enumerate(DEPTHS):
                found = read_curves(library.profile[row, index][None, :], at)[0, 0]
                assert abs(found - _series(films[row], fo, np.array([depth]))[0]) < 0.01
            for index, reach in enumerate(REACHES):
                weight = np.exp(-fine / reach)
                expected = _series(films[row], fo, fine) @ weight / weight.sum()
                found = read_curves(library.seen[row, index][None, :], at)[0, 0]
                assert abs(found - expected) < 0.012


def test_every_slab_only_dries_near_the_surface_once_it_is_wet_throughout() -> None:
    """The excess seen falls with time and is between nothing and all."""
    library = near_surface()
    whole = [row for row in range(SLABS) if row % 10 >= 3]
    seen = library.seen[whole]
    assert (np.diff(seen, axis=2) <= 1e-6).all()
    assert seen.min() >= -1e-6
    assert seen.max() <= 1.0 + 1e-6
    assert FO.size == seen.shape[2]


def test_linear_slabs_fed_from_below_end_at_the_steady_profile() -> None:
    """A straight line between the films, three resistances in series (Crank 1975, section 4.2)."""
    library, films = near_surface(), _films()
    below = np.geomspace(*FED_FILM, FED_SLABS)
    for row in range(0, FED_SLABS, 2):
        film = 1.0 / films[SLABS + row]
        expected = (film + DEPTHS) / (film + 1.0 + 1.0 / below[row])
        np.testing.assert_allclose(library.profile[SLABS + row, :, -1], expected, atol=2e-3)
