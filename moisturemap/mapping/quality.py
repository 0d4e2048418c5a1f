"""Whether the interval of a map can be trusted, in a sentence."""

from __future__ import annotations

import numpy as np
from scipy.stats import binom, chi2

from moisturemap.floorplan import Domain
from moisturemap.mapping.field import KrigedField

FEW = 20
"""Readings below which left-out readings cannot confirm an interval."""

LEAST_INSIDE, LEAST_SPREAD, FAR_SHARE = 0.87, 0.8, 0.0005
"""Where doubt begins: share of left-out readings inside their interval, mean squared standardised
residual, and share of readings more than four sds away. Many readings make small faults certain;
they are no reason for doubt."""

LEAST_ACROSS_GAPS = 0.8
"""Least share of a 90 % interval's readings that must hold when blocks are left out."""

NINETY = 1.6448536269514722


def quality_sentence(
    fields: dict[str, KrigedField], domains: tuple[Domain, ...], refused: int
) -> str:
    """Say how far the interval of the map can be trusted, and why not further."""
    if not fields:
        return "No part of the floor could be mapped."
    sentences = [
        _of_domain(domain.label, fields[domain.key]) for domain in domains if domain.key in fields
    ]
    if refused:
        sentences.append(f"{refused} part(s) of the floor could not be mapped.")
    return " ".join(sentences)


def _of_domain(name: str, field: KrigedField) -> str:
    z = field.check.standardised
    z = z[np.isfinite(z)]
    if len(z) < FEW:
        return (
            f"{name}: {len(z)} readings are too few to confirm the interval; it rests on what "
            "is usual for such floors."
        )
    inside = int(np.count_nonzero(np.abs(z) <= NINETY))
    share = (
        f"{100 * inside / len(z):.0f} % of {len(z)} left-out readings lie in their 90 % interval"
    )
    doubt = _doubt(z, inside) + _doubt_across_gaps(field) + _doubt_of_fit(field)
    if doubt:
        return f"{name}: {share}; trust the interval with care: {'; '.join(doubt)}."
    return f"{name}: {share}; the interval can be trusted between the readings."


def _doubt(z: np.ndarray[tuple[int, ...], np.dtype[np.float64]], inside: int) -> list[str]:
    """Reasons in the left-out residuals not to trust the interval."""
    doubt = []
    if inside < LEAST_INSIDE * len(z) and binom.cdf(inside, len(z), 0.9) < 0.01:
        doubt.append("it is too narrow for these readings")
    elif float((z**2).mean()) < LEAST_SPREAD and chi2.cdf(float((z**2).sum()), len(z)) < 0.001:
        doubt.append("it is wider than these readings need")
    far = int(np.count_nonzero(np.abs(z) > 4.0))
    if far > FAR_SHARE * len(z):
        doubt.append(f"{far} reading(s) stand far from their neighbours")
    return doubt


def _doubt_across_gaps(field: KrigedField) -> list[str]:
    """Reason in left-out blocks not to trust the interval where readings are missing."""
    if field.block_check is None or field.block_check.coverage() >= LEAST_ACROSS_GAPS:
        return []
    share = 100 * field.block_check.coverage()
    return [
        f"only {share:.0f} % hold when whole blocks of readings are left out, so it is too "
        "narrow across gaps"
    ]


def _doubt_of_fit(field: KrigedField) -> list[str]:
    """Reasons in the fit not to trust the interval."""
    model = field.fit.model
    if model.nugget > 4.0 * model.variance:
        return ["the readings scatter more than the floor varies"]
    return []
