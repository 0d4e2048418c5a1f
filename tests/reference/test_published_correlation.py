"""Correlation and regression against tables and a worked example."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import t as student

from moisturemap.calibration import CalibrationCurve, rank_correlation, selection_factor
from moisturemap.quantities import RH_IN_SITU


@pytest.mark.parametrize(("n", "p"), [(3, 1 / 6), (4, 1 / 24), (5, 1 / 120), (6, 1 / 720)])
def test_smallest_possible_p_is_one_order_in_all(n, p):
    """Exact one-sided null distribution of Spearman: only one of n! orders is perfect."""
    rho, found = rank_correlation(np.arange(n, dtype=float), np.arange(n, dtype=float))
    assert (rho, found) == (1.0, pytest.approx(p))


@pytest.mark.parametrize(
    ("order", "rho", "p"),
    [
        ((1, 2, 3, 5, 4), 0.9, 0.04167),
        ((2, 1, 3, 5, 4, 6), 0.8857, 0.0167),
        ((1, 3, 2, 5, 4, 6), 0.8857, 0.0167),
        ((3, 1, 2, 4, 5, 6), 0.8286, 0.02917),
    ],
)
def test_exact_p_matches_the_tables(order, rho, p):
    """J. H. Zar, J. Amer. Statist. Assoc. 67 (1972) 578 and E. G. Olds (1938): critical values.

    n = 5: rho 0.900 at 0.05; n = 6: 0.829 at 0.05 (p 0.029), 0.886 at 0.025 (p 0.017).
    """
    found = rank_correlation(np.arange(len(order), dtype=float), np.array(order, dtype=float))
    assert found == pytest.approx((rho, p), abs=1e-4)


def test_regression_and_prediction_interval_match_a_hand_computation():
    """X = 20, 35, 50, 65, 80; y = 72, 76, 81, 84, 90, worked by hand with Student's t.

    Formula: N. R. Draper, H. Smith, Applied Regression Analysis, section 1.4.
    """
    x, y = [20.0, 35.0, 50.0, 65.0, 80.0], [72.0, 76.0, 81.0, 84.0, 90.0]
    pairs = pd.DataFrame({"scan": x, "value": y})
    slope, intercept = np.polyfit(x, y, 1)
    residual = np.array(y) - intercept - slope * np.array(x)
    sd = float(np.sqrt((residual**2).sum() / 3))
    assert (intercept, slope, sd) == pytest.approx((65.9333, 0.293333, 0.730297), abs=1e-4)
    curve = CalibrationCurve(
        RH_IN_SITU,
        "",
        (),
        "v1",
        pairs,
        intercept,
        slope,
        sd,
        1.0,
        0.0083,
        0.995893,
        float("nan"),
        True,
        "",
    )
    for at, mean, low, high, chance in (
        (55.0, 82.067, 79.509, 84.624, 0.9588),
        (40.0, 77.667, None, None, 0.0322),
    ):
        here = np.array([at])
        assert curve.predict(here)[0][0] == pytest.approx(mean, abs=1e-3)
        scale = curve.predict(here)[1][0]
        assert student.sf((80.0 - mean) / scale, 3) == pytest.approx(chance, abs=2e-4)
        if low is not None:
            reach = student.ppf(0.975, 3) * scale
            assert [mean - reach, mean + reach] == pytest.approx([low, high], abs=1e-3)
            wide = [float(one[0]) for one in curve.interval(here)]
            assert wide[1] - wide[0] == pytest.approx(2 * reach * selection_factor(5), abs=1e-6)


@pytest.mark.parametrize(
    ("n", "multiplier"), [(4, 4.81), (5, 3.49), (6, 3.00), (8, 2.60), (10, 2.42)]
)
def test_width_of_the_interval_at_the_mean_matches_students_t(n, multiplier):
    """t(n - 2, 0.975) sqrt(1 + 1/n), from tables of Student's t."""
    pairs = pd.DataFrame({"scan": np.arange(n, dtype=float)})
    curve = CalibrationCurve(
        RH_IN_SITU, "", (), "", pairs, 0.0, 1.0, 1.0, 1.0, 0.01, 1.0, float("nan"), True, ""
    )
    middle = np.array([(n - 1) / 2])
    low, high = curve.interval(middle)
    half = (high - low)[0] / 2 / selection_factor(n)
    assert half == pytest.approx(multiplier, abs=0.01)
