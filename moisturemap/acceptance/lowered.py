"""Readings of a profile that no drying slab explains, lowered until one does.

A slab that reads higher than the model can explain is no drier than one it explains: where the
lowered profile already exceeds the limit, so does the one that was read. Method:
``docs/method/acceptance.md``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from moisturemap.errors import InputError
from moisturemap.slab import (
    DepthReading,
    ProfileEstimate,
    ProfileOptions,
    SlabSpec,
    estimate_profile,
)

STEP_PCT, HALVINGS = 5.0, 5
"""Step in which readings are lowered [%RH], and how often the last step is halved: to 0.2 %RH."""

LEAST_PCT = 25.0
"""Readings are not lowered below this [%RH], under which none is plausible."""


def estimate_lowered(
    readings: Sequence[DepthReading], spec: SlabSpec, bound: float, *, options: ProfileOptions
) -> ProfileEstimate | None:
    """Estimate a refused profile with one reading lowered, or all held below one level.

    Parameters
    ----------
    readings : sequence of DepthReading
        As read, which the model refused.
    spec : SlabSpec
    bound : float
        Limit of the sealed humidity [%RH].
    options : ProfileOptions

    Returns
    -------
    ProfileEstimate or None
        One that lies above the bound with its whole interval; None where no lowering gives one.
    """
    for lower in _ways(readings):
        found = _highest(lower, spec, max(r.rh_pct for r in readings), options)
        if found is not None and found.sealed.low > bound:
            return found
    return None


class _Way:
    """Readings by the level one or all of them are held below."""

    def __init__(self, readings: Sequence[DepthReading], held: set[int]) -> None:
        self.readings, self.held = readings, held

    def at(self, level: float) -> list[DepthReading]:
        return [
            replace(one, rh_pct=min(one.rh_pct, level)) if place in self.held else one
            for place, one in enumerate(self.readings)
        ]


def _ways(readings: Sequence[DepthReading]) -> Iterator[_Way]:
    every = set(range(len(readings)))
    yield _Way(readings, every)
    if len(readings) > 1:
        for place in every:
            yield _Way(readings, {place})


def _highest(
    way: _Way, spec: SlabSpec, top: float, options: ProfileOptions
) -> ProfileEstimate | None:
    """Estimate at the highest level that the model explains."""
    refused, level, found = top, top - STEP_PCT, None
    while level >= LEAST_PCT and found is None:
        found = _tried(way.at(level), spec, options)
        if found is None:
            refused, level = level, level - STEP_PCT
    if found is None:
        return None
    for _ in range(HALVINGS):
        middle = (refused + level) / 2.0
        better = _tried(way.at(middle), spec, options)
        if better is None:
            refused = middle
        else:
            level, found = middle, better
    return found


def _tried(
    readings: Sequence[DepthReading], spec: SlabSpec, options: ProfileOptions
) -> ProfileEstimate | None:
    try:
        return estimate_profile(readings, spec, options=options)
    except InputError:
        return None
