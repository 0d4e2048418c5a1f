"""Moist air against published tables."""

import pytest

from moisturemap import psychrometrics as air


@pytest.mark.parametrize(
    ("temperature", "pressure"), [(5.0, 872.6), (25.0, 3169.7), (50.0, 12351.3)]
)
def test_saturation_pressure_matches_the_ashrae_table(temperature, pressure):
    """ASHRAE Handbook - Fundamentals (2017) ch. 1 table 3.

    Tolerance 300 ppm: the table is computed with the newer IAPWS formulation, the equations with
    Hyland and Wexler's (the tolerance psychrolib's own tests use).
    """
    assert air.saturation_pressure(temperature) == pytest.approx(pressure, rel=300e-6)


@pytest.mark.parametrize(("temperature", "ratio"), [(5.0, 0.005425), (25.0, 0.020173)])
def test_saturated_humidity_ratio_matches_the_ashrae_table(temperature, ratio):
    """ASHRAE Handbook - Fundamentals (2017) ch. 1 table 2; 0.5%: it has real-gas terms."""
    assert air.humidity_ratio(temperature, 100.0) / 1000 == pytest.approx(ratio, rel=5e-3)


@pytest.mark.parametrize("temperature", [5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0])
def test_saturation_pressure_agrees_with_the_magnus_formula(temperature):
    """WMO Guide No. 8 (2018) annex 4.B: 6.112 hPa exp(17.62 t / (243.12 + t)), within 0.3%."""
    magnus = 611.2 * 2.718281828459045 ** (17.62 * temperature / (243.12 + temperature))
    assert air.saturation_pressure(temperature) == pytest.approx(magnus, rel=3e-3)


@pytest.mark.parametrize(
    ("temperature", "rh", "dew", "ratio", "pressure", "absolute"),
    [
        (20, 50, 9.272, 7.262, 1169.4, 8.644),
        (20, 75, 15.438, 10.957, 1754.1, 12.966),
        (25, 50, 13.864, 9.881, 1584.6, 11.516),
        (25, 80, 21.309, 15.962, 2535.4, 18.426),
        (18, 85, 15.442, 10.960, 1754.6, 13.059),
    ],
)
def test_states_of_air_match_an_independent_computation(
    temperature, rh, dew, ratio, pressure, absolute
):
    """Values computed from Hyland and Wexler (1983) apart from this package; last digit kept.

    25 C and 80% also is the worked example of psychrolib's documentation (dew point 21.3094 C).
    """
    state = air.moist_air(float(temperature), float(rh))
    assert state.dew_point_c == pytest.approx(dew, abs=2e-3)
    assert state.humidity_ratio_g_kg == pytest.approx(ratio, abs=2e-3)
    assert state.vapour_pressure_pa == pytest.approx(pressure, abs=0.1)
    assert state.absolute_humidity_g_m3 == pytest.approx(absolute, abs=2e-3)


@pytest.mark.parametrize(
    ("temperature", "slope"), [(5, 0.06974), (15, 0.06440), (20, 0.06194), (30, 0.05740)]
)
def test_slope_of_saturation_matches_the_derivative(temperature, slope):
    """Derivative of the Hyland and Wexler equation, computed apart from this package."""
    assert air.saturation_slope(temperature) == pytest.approx(slope, abs=2e-5)


def test_probe_warmer_than_the_concrete_reads_as_published():
    """Four to five %RH per degree at 75 to 85% and 20 C; widely quoted, e.g. NT BUILD 439 (1995).

    The figures are derived from the saturation table, not quoted from the method.
    """
    assert air.humidity_at(85.0, 20.0, 21.0) == pytest.approx(79.9, abs=0.1)
    assert air.humidity_at(75.0, 20.0, 21.0) == pytest.approx(70.5, abs=0.1)
    assert air.humidity_at(75.0, 20.0, 19.0) == pytest.approx(79.8, abs=0.1)
