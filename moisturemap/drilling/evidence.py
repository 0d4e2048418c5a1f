"""What passing holes would show about the whole floor, and what they would not."""

from __future__ import annotations

import numpy as np
from scipy.special import bdtr, betaincinv, nctdtrit, ndtri

from moisturemap.errors import OptionError


def fraction_shown(holes: int, confidence: float = 0.95, failures: int = 0) -> float:
    """Share of a floor that random holes show to pass, at a confidence.

    Parameters
    ----------
    holes : int
        Independent holes at random places.
    confidence : float
    failures : int
        Holes among them that fail.

    Notes
    -----
    The one-sided Clopper-Pearson bound; with no failure (1 - confidence)^(1/n) (Wilks, S. S.
    (1941), Annals of Mathematical Statistics 12, 91-96; Hahn and Meeker (1991), Statistical
    Intervals).
    """
    _check(holes, confidence)
    if not 0 <= failures <= holes:
        raise OptionError("failures out of range", value=failures, allowed=f"0 to {holes}")
    if failures == holes:
        return 0.0
    return float(betaincinv(holes - failures, failures + 1, 1.0 - confidence))


def fraction_believed(holes: int, confidence: float = 0.95) -> float:
    """Share of a floor believed to pass after n passing holes, from a uniform prior.

    The lower bound of a beta(n + 1, 1) posterior: (1 - confidence)^(1/(n + 1)).

    Parameters
    ----------
    holes : int
        Holes at random places.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    float
        Share of the floor, 0 to 1.
    """
    _check(holes, confidence)
    return float((1.0 - confidence) ** (1.0 / (holes + 1)))


def holes_needed(confidence: float, coverage: float, failures: int = 0) -> int:
    """Random holes needed to show a share of a floor at a confidence, with failures allowed.

    Parameters
    ----------
    confidence : float
        Between 0 and 1.
    coverage : float
        Share of the floor, 0 to 1.
    failures : int
        Tests that may fail.

    Returns
    -------
    int
        Holes.

    Notes
    -----
    The smallest n with P(at most so many failures | share) <= 1 - confidence (ISO 16269-6,
    distribution-free; 59 for 95% confidence and 95% coverage).
    """
    _check(1, confidence)
    _check(1, coverage)
    count = failures + 1
    while bdtr(failures, count, 1.0 - coverage) > 1.0 - confidence:
        count += 1
    return count


def k_factor(holes: int, coverage: float, confidence: float) -> float:
    """One-sided normal tolerance factor: passes when mean + k sd <= limit.

    Only for independent holes at random places of a normal population (Owen, D. B. (1968),
    Technometrics 10, 445-478; ISO 16269-6).

    Parameters
    ----------
    holes : int
        Holes at random places.
    coverage : float
        Share of the floor, 0 to 1.
    confidence : float
        Between 0 and 1.

    Returns
    -------
    float
        k [-].
    """
    _check(holes, confidence)
    _check(holes, coverage)
    if holes < 2:
        message = "a standard deviation needs two holes"
        raise OptionError(message, value=holes, allowed="2 or more")
    root = np.sqrt(holes)
    return float(nctdtrit(holes - 1, ndtri(coverage) * root, confidence) / root)


def evidence_sentence(
    holes: int, confidence: float = 0.95, *, by_scan: bool = True, at_wettest: bool = True
) -> str:
    """Say what n passing holes would and would not show.

    Parameters
    ----------
    holes : int
    confidence : float
    by_scan : bool
        Whether a map of the floor guided the choice of the places.
    at_wettest : bool
        Whether one of them likely lies where that map reads highest.
    """
    shown = fraction_shown(holes, confidence)
    enough = holes_needed(confidence, 0.95)
    words = "hole that passes" if holes == 1 else "holes that all pass"
    if not by_scan:
        places = (
            "with no map to go by they were spread over the floor and along its walls, so that "
            "figure does not apply to them, and the floor between the holes stays unproven."
        )
    elif at_wettest:
        places = (
            "they were chosen where the scan reads highest and to span its range, so that figure "
            "does not apply to them, and the floor between the holes stays unproven."
        )
    else:
        places = (
            "they span the range of the scan, but where it reads highest no hole can be counted "
            "on, so that figure does not apply to them, and neither the wettest floor nor the "
            "floor between the holes is proven by them."
        )
    return (
        f"{holes} {words}, had the places been drawn at random, would show at {confidence:.0%} "
        f"confidence only that {shown:.0%} of the floor passes; {enough} would be needed for 95%. "
        f"These places are not random: {places}"
    )


def _check(holes: int, share: float) -> None:
    if holes < 1:
        raise OptionError("too few holes", value=holes, allowed="1 or more")
    if not 0.0 < share < 1.0:
        message = "a share must lie between 0 and 1"
        raise OptionError(message, value=share, allowed="above 0 and below 1")
