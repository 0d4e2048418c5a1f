"""Excursion sets with simultaneous confidence, on bare arrays.

Bolin, D. and Lindgren, F. (2015), Excursion and contour uncertainty regions for latent Gaussian
models, Journal of the Royal Statistical Society B 77(1), 85-106. The sets are sought in the family
ordered by the pointwise probability (their section 3), and the joint probabilities are counted over
conditional draws instead of integrated.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def excursion_function(
    draws: Array, level: float, probability: Array | None = None, *, above: bool = True
) -> Array:
    """Return for each place the joint confidence at which it belongs to the excursion set.

    Parameters
    ----------
    draws : ndarray, shape (count, m)
        Joint draws of the field at m places.
    level : float
        Level, in the unit of the draws.
    probability : ndarray, shape (m,), optional
        Pointwise probability of lying beyond the level, which orders the places; counted from the
        draws when not given.
    above : bool
        True for the set above the level, False for the set at or below it.

    Returns
    -------
    ndarray, shape (m,)
        The excursion function F: ``F >= 1 - alpha`` is the largest set of the family that lies
        beyond the level as a whole with probability 1 - alpha. Places tied in probability enter
        together.
    """
    beyond = draws > level if above else draws <= level
    if probability is None:
        probability = beyond.mean(axis=0)
    order = np.argsort(-probability, kind="stable")
    joint = np.logical_and.accumulate(beyond[:, order], axis=1).mean(axis=0)
    ranked = probability[order]
    last_of_tie = np.searchsorted(-ranked, -ranked, side="right") - 1
    function = np.empty(probability.size)
    function[order] = joint[last_of_tie]
    return function


def joint_threshold(function: Array, probability: Array, confidence: float) -> float:
    """Return the lowest pointwise probability inside the set of that joint confidence.

    Parameters
    ----------
    function : ndarray, shape (m,)
        From :func:`excursion_function`.
    probability : ndarray, shape (m,)
        Pointwise probabilities that ordered it.
    confidence : float
        Joint confidence 1 - alpha.

    Returns
    -------
    float
        Infinity when no place belongs to the set.
    """
    inside = function >= confidence
    return float(probability[inside].min()) if inside.any() else float("inf")
