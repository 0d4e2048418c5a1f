"""What must hold for any slab, any profile and any result."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moisturemap.acceptance import SALTS, packaged_rules, share_shown
from moisturemap.acceptance.salt import TABLE_C
from moisturemap.calibration import rank_correlation
from moisturemap.psychrometrics import dew_point, humidity_at, vapour_pressure
from moisturemap.slab import (
    SEALED,
    Cells,
    DiffusivityCurve,
    Face,
    Isotherm,
    Layers,
    Material,
    diffuse,
    equilibrium_moisture,
    sealed_humidity,
)

CELLS = Cells.spread(30, finer_top=1.05)

ratio = st.floats(0.3, 0.7)
share = st.floats(0.0, 1.0)
humid = st.floats(0.55, 0.99)
profiles = st.lists(humid, min_size=4, max_size=8)


def laid(values: list[float]) -> np.ndarray:
    """A profile through the cells."""
    return np.interp(CELLS.z, np.linspace(0, 1, len(values)), values)[None]


@settings(deadline=None)
@given(ratio, share, humid)
def test_isotherm_rises_and_can_be_read_backwards(w, m, h):
    """More humidity, more water; and the humidity of that water is the humidity."""
    isotherm = Isotherm(w, linear_share=m)
    water = isotherm.water(np.array([h, h + 0.005]))
    assert water[1] > water[0]
    assert isotherm.humidity(water[:1])[0] == pytest.approx(h, abs=1e-9)


@pytest.mark.thorough
@settings(max_examples=8, deadline=None)
@given(profiles, ratio, share)
def test_a_sealed_slab_loses_no_water_whatever_its_profile(values, w, m):
    """Mass is kept to one part in a million, and the end is the sealed humidity."""
    material = Material.made([Isotherm(w, linear_share=m)], [DiffusivityCurve(0.1, 0.8, 8.0)])
    start = laid(values)
    end = diffuse(Layers(material, CELLS, (SEALED, SEALED)), start, np.array([40.0]))[:, 0]
    before, after = (float(material.water_at(h)[0] @ CELLS.thickness) for h in (start, end))
    assert after == pytest.approx(before, rel=1e-6)
    assert np.ptp(end) < 2e-3
    assert end.mean() == pytest.approx(float(sealed_humidity(material, start, CELLS)[0]), abs=1e-3)


@settings(max_examples=40, deadline=None)
@given(profiles, ratio, share, st.floats(0.3, 1.0))
def test_sealed_humidity_lies_within_the_profile_and_hysteresis_raises_it(values, w, m, absorption):
    """Never wetter than the wettest part; never lower than without hysteresis."""
    material = Material.made([Isotherm(w, linear_share=m)], [DiffusivityCurve()])
    h = laid(values)
    plain = float(sealed_humidity(material, h, CELLS)[0])
    held = float(sealed_humidity(material, h, CELLS, absorption)[0])
    assert h.min() - 1e-9 <= plain <= h.max() + 1e-9
    assert plain - 1e-6 <= held <= h.max() + 1e-6


@pytest.mark.thorough
@settings(max_examples=8, deadline=None)
@given(st.floats(0.85, 0.99), st.floats(0.35, 0.7), ratio)
def test_a_drying_slab_only_dries(start, surface, w):
    """Water falls with time and the profile rises inwards."""
    material = Material.made([Isotherm(w)], [DiffusivityCurve()])
    fresh = np.full((1, CELLS.z.size), start)
    layers = Layers(material, CELLS, (Face(surface), SEALED))
    path = diffuse(layers, fresh, np.array([0.01, 0.1, 0.5]))[0]
    water = material.take(np.zeros(3, int)).water_at(path) @ CELLS.thickness
    assert (np.diff(water) < 0).all()
    assert (np.diff(path, axis=1) > -1e-9).all()


@settings(deadline=None)
@given(st.floats(0, 40), st.floats(1, 100))
def test_air_at_its_dew_point_is_saturated(temperature, rh):
    """Cooling to the dew point keeps the vapour and fills the air."""
    dew = dew_point(temperature, rh)
    assert vapour_pressure(dew, 100.0) == pytest.approx(vapour_pressure(temperature, rh), rel=2e-4)


@given(st.floats(5, 35), st.floats(-3, 3), st.floats(10, 90))
def test_humidity_there_and_back_is_the_same(temperature, difference, rh):
    """The same vapour at another temperature and back; a warmer probe reads lower."""
    other = humidity_at(rh, temperature, temperature + difference)
    if other <= 100.0:
        assert humidity_at(other, temperature + difference, temperature) == pytest.approx(rh)
    if abs(difference) > 1e-6:
        assert (other < rh) == (difference > 0)


@given(st.sampled_from(sorted(SALTS)), st.floats(15, 29.9))
def test_salts_stay_between_the_rows_of_the_table(name, temperature):
    """Interpolation never leaves the two rows around it."""
    salt = SALTS[name]
    row = int(np.searchsorted(TABLE_C, temperature, side="right")) - 1
    ends = sorted(salt.humidity[row : row + 2])
    assert ends[0] - 1e-9 <= salt.at(temperature) <= ends[-1] + 1e-9


@settings(max_examples=40, deadline=None)
@given(st.lists(st.integers(0, 6), min_size=4, max_size=6), st.randoms(use_true_random=False))
def test_rank_correlation_ignores_the_scale_of_the_scan(values, random):
    """Only the order counts: any rising change of the scale gives the same rho and p."""
    y = np.array([*values, 7], dtype=float)
    x = np.array(random.sample(range(20), y.size), dtype=float)
    rho, p = rank_correlation(x, y)
    assert (rho, p) == rank_correlation(np.exp(x / 5), y)
    assert -1 <= rho <= 1
    assert 0 < p <= 1


@given(st.integers(1, 200), st.integers(1, 200))
def test_more_passing_tests_never_show_less(one, other):
    """The share shown rises with the number of tests and stays below all."""
    low, high = sorted((one, other))
    assert share_shown(low) <= share_shown(high) < 1


@given(st.floats(1, 5000), st.floats(1, 5000))
def test_a_larger_floor_never_needs_fewer_tests(one, other):
    """Counts rise with the area, by every packaged rule."""
    low, high = sorted((one, other))
    for rule in packaged_rules().counts.values():
        assert rule.count(low) <= rule.count(high)
        assert rule.count(high) >= rule.first_count or high <= rule.over_m2


@given(st.floats(0, 60), st.floats(5, 94))
def test_timber_takes_up_more_in_damper_air(temperature, rh):
    """The isotherm of wood rises with humidity."""
    assert equilibrium_moisture(temperature, rh) < equilibrium_moisture(temperature, rh + 1.0)
