"""Whether the interval of a map can be trusted, in a sentence.

Method: docs/method/kriging.md, "Can the interval be trusted?".
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.special import bdtr, chdtr

from moisturemap.floorplan import Domain
from moisturemap.geostat import one_thread
from moisturemap.mapping.field import KrigedField

FEW = 20
"""Readings below which left-out readings cannot confirm an interval."""

LEAST_INSIDE, LEAST_SPREAD, FAR_SHARE = 0.87, 0.8, 0.0005
"""Where doubt begins: share of left-out readings inside their interval, mean squared standardised
residual, and share of readings more than four sds away. Many readings make small faults certain;
they are no reason for doubt."""

LEAST_ACROSS_GAPS = 0.8
"""Least share of a 90% interval's readings that must hold when blocks are left out."""

GUESSED = 2.0
"""Ratio of greatest to least scatter (sd) among the likely covariances from which it is said to be
guessed. Our choice: the interval of the surface then rests on the guess by a fifth or more."""

PAIRS_WANTED = 10
"""Places to read twice, so that the scatter is known within about a quarter (chi-squared with ten
degrees of freedom)."""

MANY = 5
"""Parts of a floor beyond which only the doubtful ones are named."""

NINETY = 1.6448536269514722


@dataclass(frozen=True)
class MapQuality:
    """What tells whether the interval of a map can be trusted; looked into when it is asked for.

    Attributes
    ----------
    fields : dict of str to KrigedField
        By domain key.
    domains : tuple of Domain
    refused : int
        Domains that could not be mapped.
    note : str
        What else the map rests on.
    """

    fields: dict[str, KrigedField]
    domains: tuple[Domain, ...]
    refused: int
    note: str = ""

    @cached_property
    def sentence(self) -> str:
        """Say it in words."""
        with one_thread():
            told = quality_sentence(self.fields, self.domains, self.refused)
        return f"{told} {self.note}".rstrip()


@dataclass(frozen=True)
class _Verdict:
    """What is said of one part of the floor."""

    name: str
    sentence: str
    doubtful: bool


def quality_sentence(
    fields: dict[str, KrigedField], domains: tuple[Domain, ...], refused: int
) -> str:
    """Say how far the interval of the map can be trusted, and why not further.

    Left-out readings judge the interval of *readings*. That of the surface also rests on how much
    of a reading is scatter, which only repeats tell; so both are said.
    """
    if not fields:
        return "No part of the floor could be mapped."
    found = [_of_domain(one.label, fields[one.key]) for one in domains if one.key in fields]
    said = [one.sentence for one in found]
    if len(found) > MANY:
        doubtful = [one for one in found if one.doubtful]
        trusted = len(found) - len(doubtful)
        said = [
            f"In {trusted} of {len(found)} parts of the floor the places read, each predicted from "
            "all others, confirm the map."
        ]
        said += [one.sentence for one in doubtful[:MANY]]
        if len(doubtful) > MANY:
            names = ", ".join(one.name for one in doubtful[MANY:])
            said.append(f"With care too: {names}.")
    if refused:
        parts = "1 part" if refused == 1 else f"{refused} parts"
        said.append(f"{parts} of the floor could not be mapped.")
    return " ".join(said)


def _of_domain(name: str, field: KrigedField) -> _Verdict:
    z = field.check.standardised
    z = z[np.isfinite(z)]
    scatter, guessed = _scatter(field)
    if len(z) < FEW:
        few = (
            f"{len(z)} readings are too few to confirm the interval; it rests on what "
            "is usual for such floors"
        )
        return _Verdict(name, f"{name}: {few}{scatter}.", True)
    inside = int(np.count_nonzero(np.abs(z) <= NINETY))
    share = (
        f"{100 * inside / len(z):.0f}% of {len(z)} places, each predicted from all others, were "
        "read inside their 90% interval"
    )
    doubt = _doubt(z, inside) + _doubt_across_gaps(field) + _doubt_of_fit(field)
    if doubt:
        words = f"the uncertainty shown may be wrong: {'; '.join(doubt)}{scatter}"
        return _Verdict(name, f"{name}: {share}; {words}.", True)
    if guessed:
        return _Verdict(
            name, f"{name}: {share}, so the interval of one reading holds{scatter}.", False
        )
    words = f"the interval holds between the readings, as far as they can check it{scatter}"
    return _Verdict(name, f"{name}: {share}; {words}.", False)


def _scatter(field: KrigedField) -> tuple[str, bool]:
    """Say what is known of the scatter of a reading, and whether that is a guess."""
    known = float(np.sqrt(field.kriging.observations.noise.mean()))
    if known > 0.0:
        step = f" ({known:.2g} units)" if field.scale.is_identity else ""
        return f"; the scatter of a reading is known from repeats{step}", False
    low, high = (float(np.sqrt(nugget)) for nugget in field.fit.nugget_interval)
    if high < GUESSED * low:
        return "", False
    between = f"{low:.2g} to {high:.2g} units" if field.scale.is_identity else "much or little"
    words = (
        f"; how much of a reading is scatter is guessed from its neighbours ({between}), and the "
        f"interval of the surface allows for that; read {PAIRS_WANTED} places twice to know it"
    )
    return words, True


def _doubt(z: np.ndarray[tuple[int, ...], np.dtype[np.float64]], inside: int) -> list[str]:
    """Reasons in the left-out residuals not to trust the interval."""
    doubt = []
    if inside < LEAST_INSIDE * len(z) and bdtr(inside, len(z), 0.9) < 0.01:
        doubt.append("it is too narrow for these readings")
    elif float((z**2).mean()) < LEAST_SPREAD and chdtr(len(z), float((z**2).sum())) < 0.001:
        doubt.append("it is wider than these readings need")
    far = int(np.count_nonzero(np.abs(z) > 4.0))
    if far > FAR_SHARE * len(z):
        doubt.append(
            "1 reading stands far from its neighbours"
            if far == 1
            else f"{far} readings stand far from their neighbours"
        )
    return doubt


def _doubt_across_gaps(field: KrigedField) -> list[str]:
    """Reason in left-out blocks not to trust the interval where readings are missing."""
    if field.block_check is None or field.block_check.coverage() >= LEAST_ACROSS_GAPS:
        return []
    share = 100 * field.block_check.coverage()
    return [
        f"only {share:.0f}% hold when whole blocks of readings are left out, so it is too "
        "narrow across gaps"
    ]


def _doubt_of_fit(field: KrigedField) -> list[str]:
    """Reasons in the fit not to trust the interval."""
    model = field.fit.model
    if field.fit.chance_of_flat > 0.5:
        return ["neighbouring readings are no more alike than distant ones"]
    if model.nugget > 4.0 * model.variance:
        return ["the readings scatter more than the floor varies"]
    return []
