"""False discovery control against the worked example of its authors.

Source: Y. Benjamini and Y. Hochberg, J. R. Statist. Soc. B 57 (1995) 289, section 3.2: fifteen
p-values of a study of thrombolysis; the procedure at 0.05 rejects four, Bonferroni's three.
"""

from __future__ import annotations

import numpy as np

from moisturemap.drying import discoveries

PUBLISHED = np.array(
    [
        0.0001,
        0.0004,
        0.0019,
        0.0095,
        0.0201,
        0.0278,
        0.0298,
        0.0344,
        0.0459,
        0.3240,
        0.4262,
        0.5719,
        0.6528,
        0.7590,
        1.0000,
    ]
)


def test_the_worked_example_rejects_four() -> None:
    """Four at a rate of 0.05, in any order of the tests."""
    assert discoveries(PUBLISHED, 0.05).sum() == 4
    assert (PUBLISHED <= 0.05 / 15).sum() == 3
    shuffled = np.random.default_rng(1).permutation(PUBLISHED)
    assert set(shuffled[discoveries(shuffled, 0.05)]) == set(PUBLISHED[:4])


def test_scipy_agrees() -> None:
    """The adjusted p-values of scipy give the same decisions."""
    from scipy.stats import false_discovery_control

    rng = np.random.default_rng(3)
    p = np.concatenate([rng.uniform(0, 0.01, 12), rng.uniform(0, 1, 80)])
    assert np.array_equal(discoveries(p, 0.1), false_discovery_control(p) <= 0.1)
