"""What so many passing tests support, as statistics."""

from __future__ import annotations

import math

from scipy.special import bdtr

CONFIDENCE = 0.95


def share_shown(tests: int, confidence: float = CONFIDENCE) -> float:
    """Share of a floor that n passing tests at random places show to pass.

    (1 - confidence)^(1/n): S. S. Wilks, Ann. Math. Statist. 12 (1941) 91; the nonparametric
    tolerance limit, for independent places drawn at random.

    Parameters
    ----------
    tests : int
        Tests at random places that all pass.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    float
        Share of the floor, 0 to 1.

    Examples
    --------
    >>> round(share_shown(10), 3)
    0.741
    """
    if tests < 1:
        return 0.0
    return float((1.0 - confidence) ** (1.0 / tests))


def places_for_share(share: float, failures: int = 0, confidence: float = CONFIDENCE) -> int:
    """Return the tests at random places needed to show a share with so many failures allowed.

    Parameters
    ----------
    share : float
        Share of the floor, 0 to 1.
    failures : int
        Tests that may fail.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    int
        Tests.
    """
    tests = failures + 1
    while bdtr(failures, tests, 1.0 - share) > 1.0 - confidence:
        tests += 1
    return tests


def proof_sentence(passing: int, judged: int, wettest_tested: bool) -> str:
    """Say what the passing tests support, next to the verdict."""
    if judged == 0:
        return "No test speaks for the floor, so nothing shows that it meets a limit."
    if passing < judged:
        return (
            f"{passing} of {judged} valid tests meet the limit; statistics on the share that passes"
            " do not lift a test that does not."
        )
    share = share_shown(passing)
    sentence = (
        f"{passing} passing tests at random places would show, at 95% confidence, that"
        f" {math.floor(1000 * share) / 10:.1f}% of the floor passes (Wilks 1941); for 95% of the"
        f" floor {places_for_share(0.95)} are needed."
    )
    if wettest_tested:
        sentence += (
            " Tests here were placed on purpose, the wettest floor among them; the figure holds for"
            " random places only and does not apply to them."
        )
    else:
        sentence += " The figure does not hold for places chosen otherwise than at random."
    return sentence
