"""Fixed points, statistics and conversions of acceptance against published tables."""

import numpy as np
import pytest

from moisturemap.acceptance import (
    SALTS,
    TestEntry,
    emission_rate,
    places_for_share,
    salt_named,
    share_shown,
)
from moisturemap.acceptance.chance import KnownField
from moisturemap.acceptance.salt import TABLE_C
from moisturemap.acceptance.uncertainty import Uncertainty
from moisturemap.acceptance.verdict import Judged, chance_above, judge
from moisturemap.geostat import Covariance
from moisturemap.slab import equilibrium_moisture
from moisturemap.survey import TEST_METHODS, Limit

GREENSPAN = {
    "LiCl": (11.30, 11.31, 11.30, 11.28),
    "MgCl2": (33.30, 33.07, 32.78, 32.44),
    "NaCl": (75.61, 75.47, 75.29, 75.09),
    "KCl": (85.92, 85.11, 84.34, 83.62),
    "K2SO4": (97.89, 97.59, 97.30, 97.00),
}
"""%RH at 15, 20, 25, 30 C: L. Greenspan, J. Res. NBS 81A (1977) 89, table 2."""


@pytest.mark.parametrize("salt", sorted(GREENSPAN))
def test_salts_match_the_table_of_greenspan(salt):
    """Digit for digit at the rows of the table."""
    found = [SALTS[salt].at(t) for t in (15.0, 20.0, 25.0, 30.0)]
    assert found == pytest.approx(GREENSPAN[salt])


POLYNOMIALS = {
    "LiCl": (11.2323, 0.00824245, -0.00021489, 0.0),
    "MgCl2": (33.6686, -0.00797397, -0.00108988, 0.0),
    "NaCl": (75.5164, 0.0398321, -0.00265459, 2.848e-5),
    "KCl": (88.619, -0.19334, 0.000899706, 0.0),
    "K2SO4": (98.7792, -0.0590502, 0.0, 0.0),
}
"""Greenspan's fits, T in C. Public copies of the one for LiCl carry a wrong sign, which this would
show: 10.89 instead of 11.30 at 25 C."""


@pytest.mark.parametrize("salt", sorted(POLYNOMIALS))
def test_the_whole_table_agrees_with_the_fits_of_greenspan(salt):
    """Every row from 5 to 40 C within 0.02 %RH, the rounding of table and coefficients."""
    fit = np.polynomial.Polynomial(POLYNOMIALS[salt])
    assert SALTS[salt].humidity == pytest.approx(fit(np.array(TABLE_C)), abs=0.02)


def test_uncertainties_match_the_table_of_greenspan():
    """NaCl and MgCl2 at 20 and 25 C."""
    assert SALTS["NaCl"].uncertainty_at(20.0) == 0.14
    assert SALTS["MgCl2"].uncertainty_at(25.0) == 0.16
    assert np.isnan(SALTS["NaCl"].uncertainty_at(38.0))


@pytest.mark.parametrize(("risk", "factor"), [(0.05, 1.645), (0.025, 1.960), (0.01, 2.326)])
def test_guard_bands_are_the_quantiles_of_the_normal_table(risk, factor):
    """JCGM 106:2012 8.3.2: at the edge of acceptance the chance of being above is the risk.

    Quantiles of the standard normal distribution as every table has them.
    """
    spread = Uncertainty(2.0, ())
    limit = Limit("in-situ-rh", 80.0, "%RH", "invented sheet")
    entry = TestEntry("1", "H1", TEST_METHODS["in-situ-rh"], {}, None, None)
    for off, verdict in ((0.002, "meets"), (-0.002, "not proven")):
        value = 80.0 - factor - off
        found = judge(entry, Judged(value, value, spread), limit, risk=risk)
        assert found.verdict == verdict
        assert found.chance_above == pytest.approx(risk, abs=3e-4)


def test_a_guard_band_of_the_expanded_uncertainty_leaves_two_percent():
    """JCGM 106:2012 8.3.2: w = U with k = 2 is a consumer's risk of at most 2.3%."""
    assert chance_above(78.0, Uncertainty(2.0, ()), 80.0) == pytest.approx(0.0228, abs=1e-4)


def test_salts_are_known_by_formula_and_by_name():
    """NaCl, Na Cl and sodium chloride are one salt; brine is none."""
    for name in ("NaCl", "nacl", "Sodium chloride"):
        found = salt_named(name)
        assert found is not None
        assert found.name == "NaCl"
    assert salt_named("brine") is None


@pytest.mark.parametrize(
    ("tests", "share"), [(3, 0.3684), (5, 0.5493), (10, 0.7411), (29, 0.9019), (59, 0.9505)]
)
def test_share_shown_by_passing_tests_is_the_nonparametric_tolerance_limit(tests, share):
    """S. S. Wilks, Ann. Math. Statist. 12 (1941) 91: 0.05^(1/n)."""
    assert share_shown(tests) == pytest.approx(share, abs=5e-5)


@pytest.mark.parametrize(
    ("share", "failures", "confidence", "tests"),
    [
        (0.95, 0, 0.95, 59),
        (0.95, 1, 0.95, 93),
        (0.95, 2, 0.95, 124),
        (0.90, 0, 0.95, 29),
        (0.90, 0, 0.90, 22),
        (0.95, 0, 0.90, 45),
        (0.99, 0, 0.95, 299),
    ],
)
def test_number_of_tests_matches_the_tables_of_tolerance(share, failures, confidence, tests):
    """Sizes of samples in binomial demonstration tables (59, 93, 124 for 95% at 95%)."""
    assert places_for_share(share, failures, confidence) == tests


def test_emission_rate_matches_the_formula_of_the_method():
    """ASTM F1869: 52.91 x gain in g / (ft2 x h); 0.02% for its rounded constant."""
    square_foot = 30.48**2
    assert emission_rate(5.0, 0.5 * square_foot, 66.0) == pytest.approx(
        52.91 * 5.0 / (0.5 * 66.0), rel=2e-4
    )


def test_one_pound_of_emission_is_4_88_grams():
    """1 lb/1000 ft2/24 h = 4.88 g/m2/24 h."""
    assert emission_rate(4.8824, 1e4, 24.0) == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize(
    ("rh", "moisture"), [(50, 9.27), (65, 12.00), (75, 14.45), (80, 16.04), (90, 20.53)]
)
def test_timber_settles_as_the_wood_handbook_says(rh, moisture):
    """Wood Handbook (FPL-GTR-282) eq. 4-5 at 20 C, worked by hand."""
    assert equilibrium_moisture(20.0, rh) == pytest.approx(moisture, abs=0.01)


@pytest.mark.parametrize(
    ("rh", "tabled"), [(30, 6.2), (40, 7.7), (50, 9.2), (60, 11.0), (70, 13.1), (80, 16.0)]
)
def test_timber_agrees_with_the_table_of_the_wood_handbook(rh, tabled):
    """Wood Handbook table 4-2 at 21.1 C (70 F); 0.1 is the rounding of the table."""
    assert equilibrium_moisture(21.1, rh) == pytest.approx(tabled, abs=0.1)


@pytest.mark.parametrize(("holes", "chance", "share"), [(9, 0.158, 0.0015), (1, 0.289, 0.0061)])
def test_chance_of_exceeding_between_holes_matches_an_independent_simulation(holes, chance, share):
    """Mean 70, sd 4, exponential 2 m, probe sd 1, 6 x 6 m, all holes at 72, limit 80.

    A separate conditional simulation gave 15.8% and 28.9%; 3% covers both samplings.
    """
    ticks = np.arange(0.25, 6.0, 0.5)
    cells = np.column_stack([one.ravel() for one in np.meshgrid(ticks, ticks)])
    at = np.array([1.0, 3.0, 5.0])
    points = np.column_stack([one.ravel() for one in np.meshgrid(at, at)])
    points = points if holes == 9 else np.array([[3.0, 3.0]])
    ones = np.ones((len(points), 1))
    field = KnownField(points, cells, ones, np.ones((len(cells), 1)), np.ones(len(points)))
    draws = field.draws(
        np.full(len(points), 72.0),
        Covariance("exponential", 16.0, 2.0),
        20_000,
        np.random.default_rng(1),
        coefficients=np.array([70.0]),
    )
    above = draws > 80.0
    assert above.any(axis=1).mean() == pytest.approx(chance, abs=0.03)
    assert above.mean() == pytest.approx(share, abs=8e-4)
