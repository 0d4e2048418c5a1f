"""What to measure next: by how many pairs of open causes it is expected to divide."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moisturemap.investigation.act import ACTS, Act
from moisturemap.investigation.act_foresight import SHOWS, expected_by_act
from moisturemap.investigation.answers import Answers
from moisturemap.investigation.cause import SIMULATED
from moisturemap.investigation.clue import Clue
from moisturemap.investigation.explain import (
    CAP,
    DIVIDED,
    Explanation,
    Observation,
    foretold,
)
from moisturemap.investigation.histories import AHEAD_DAYS
from moisturemap.investigation.result import NEXT_COLUMNS
from moisturemap.investigation.standing import Standing

Array = NDArray[np.float64]

SHARES = (0.10, 0.25, 0.40, 0.60, 0.80, 0.95)
"""Depths tried, over thickness (our choice)."""

DEEPEST = 0.80
MEMBRANE_MM = 25.0
"""No hole goes deeper than 80% or within 25 mm of a possible membrane (our choice)."""

READING_SD_PCT = 1.5
"""Standard uncertainty of a reading to come [%RH]; our choice, after usual certificates."""

TRIES = 96
"""Outcomes drawn of each open cause (our choice)."""

UNLIKELY = 1e-4
"""Histories whose weight is below this of the likeliest of their cause are left out of a foresight
(our choice; they change no share by more)."""

WORTH = 0.05
"""A reading expected to divide fewer pairs than this is not proposed (our choice)."""

DRAWN_SEED = 5


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading at depth that might be taken.

    Attributes
    ----------
    depth_mm : float
    day : float
        After the latest reading.
    known : bool
        True when this depth was read before.
    """

    depth_mm: float
    day: float
    known: bool


def possible_readings(explanation: Explanation, membrane: str) -> tuple[Reading, ...]:
    """List readings at depth that may be taken at the place.

    Parameters
    ----------
    explanation : Explanation
    membrane : str
        What is known of it; with none known to be missing, holes stay clear of one.
    """
    thick = explanation.story.thickness_mm
    deepest = thick if membrane == "none" else min(DEEPEST * thick, thick - MEMBRANE_MM)
    read = sorted({one.depth_mm for one in explanation.observations if not one.beside})
    new = [
        round(share * thick)
        for share in SHARES
        if share * thick <= deepest and all(abs(share * thick - one) > 0.08 * thick for one in read)
    ]
    now = [Reading(float(depth), 0.0, False) for depth in new]
    later = [
        Reading(float(depth), day, depth in read) for day in AHEAD_DAYS for depth in (*read, *new)
    ]
    return (*now, *later)


def expected_division(
    explanation: Explanation, causes: Sequence[str], reading: Reading
) -> tuple[float, float]:
    """Pairs of open causes a reading is expected to divide, and its information gain [bit].

    Open causes and their histories are drawn by how well they explain what was read, a cause at
    least ``1 / CAP`` as often as the best; the outcome of the reading is drawn with its error and
    the model's, and every cause weighed again. Information gain is over the same shares (de Kleer
    and Williams, Artificial Intelligence 32 (1987) 97-130).

    Parameters
    ----------
    explanation : Explanation
    causes : sequence of str
        Open causes; those that are not simulated are left out.
    reading : Reading

    Returns
    -------
    (float, float)
        Pairs, one half way counting half; and [bit].
    """
    causes = [cause for cause in causes if cause in explanation.support]
    if len(causes) < 2:
        return 0.0, 0.0
    foreseen = {cause: foresee(explanation, cause, reading) for cause in causes}
    rng = np.random.default_rng(DRAWN_SEED)
    before = np.array([explanation.support[cause] for cause in causes])
    divided, gain = 0.0, 0.0
    drawn = np.maximum(before - before.max(), -np.log(CAP))
    share = np.exp(drawn) / np.exp(drawn).sum()
    start = _entropy(before[None, :])[0]
    for weight, cause in zip(share, causes, strict=True):
        outcome = foreseen[cause].drawn(rng)
        after = before + np.column_stack([one.log_likelihood(outcome) for one in foreseen.values()])
        divided += weight * float((_apart(after) - _apart(before[None, :])).mean())
        gain += weight * float((start - _entropy(after)).mean())
    return max(divided, 0.0), max(gain, 0.0)


@dataclass(frozen=True)
class Foreseen:
    """A reading to come under one cause: a normal share for each likely history.

    Attributes
    ----------
    mean, sd : ndarray, shape (rows,)
        [%RH]
    weight : ndarray, shape (rows,)
        Sum 1.
    """

    mean: Array
    sd: Array
    weight: Array

    def drawn(self, rng: np.random.Generator) -> Array:
        """Draw outcomes, shape (TRIES,)."""
        chosen = rng.choice(self.mean.size, TRIES, p=self.weight)
        return self.mean[chosen] + self.sd[chosen] * rng.standard_normal(TRIES)

    def log_likelihood(self, outcome: Array) -> Array:
        """Return what outcomes add to the support of the cause, shape (outcomes,)."""
        off = (outcome[:, None] - self.mean[None, :]) / self.sd[None, :]
        return np.asarray(
            np.log((np.exp(-0.5 * off**2) * (self.weight / self.sd)).sum(axis=1) + 1e-300)
        )


def foresee(explanation: Explanation, cause: str, reading: Reading) -> Foreseen:
    """Foresee a reading from each history, given what was read before.

    The conditional normal distribution of the very covariance by which causes are weighed again
    once it is taken: probe and model share a part of their error with the readings before, so that
    reading a hole again tells of the change and not of the level once more.

    Parameters
    ----------
    explanation : Explanation
    cause : str
        A key of its ``support``.
    reading : Reading
    """
    story, taken = explanation.story, explanation.observations
    probe = next((one.probe for one in taken if not one.beside), "")
    new = Observation(reading.day, reading.depth_mm, 0.0, READING_SD_PCT, probe)
    predicted, cover = foretold(explanation.histories(cause), story, (*taken, new))
    weight = explanation.weights[cause]
    likely = weight > UNLIKELY * weight.max()
    predicted, cover, weight = predicted[likely], cover[likely], weight[likely]
    off = np.array([one.rh_pct for one in taken]) - predicted[:, :-1]
    share = np.linalg.solve(cover[:, :-1, :-1], cover[:, :-1, -1:])[..., 0]
    variance = cover[:, -1, -1] - (cover[:, :-1, -1] * share).sum(axis=1)
    mean = predicted[:, -1] + (off * share).sum(axis=1)
    return Foreseen(mean, np.sqrt(variance), weight / weight.sum())


def _apart(support: Array) -> Array:
    """Pairs told apart by each row of supports; a pair half way counts half."""
    gap = np.abs(support[:, :, None] - support[:, None, :]) / np.log(DIVIDED)
    return np.asarray(np.minimum(gap, 1.0).sum(axis=(1, 2)) / 2.0)


def _entropy(log_weight: Array) -> Array:
    share = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    share /= share.sum(axis=1, keepdims=True)
    return np.asarray(-(share * np.log2(np.maximum(share, 1e-300))).sum(axis=1))


def next_measurements(
    clues: Sequence[Clue],
    stands: Sequence[Standing],
    explanation: Explanation | None,
    answers: Answers,
    where: tuple[str, float, float] | None,
    *,
    tested: bool = True,
) -> pd.DataFrame:
    """Rank what might be measured next; columns ``NEXT_COLUMNS``.

    Parameters
    ----------
    clues : sequence of Clue
        From which the standings follow.
    stands : sequence of Standing
    explanation : Explanation or None
    answers : Answers
    where : (str, float, float) or None
        Name and position of a cleared place for a hole; None when there is none.
    tested : bool
        Whether a valid humidity at depth was read.
    """
    left = [one.cause for one in stands if one.standing in ("open", "points-to")]
    rows: list[dict[str, object]] = []
    if explanation is not None and where is not None:
        rows += _holes(explanation, left, str(answers.get("membrane") or ""), where)
    if not tested and where is not None:
        rows.append(_first_depths(stands, where))
    for act in ACTS:
        if not act.done(answers, clues):
            pairs, touched = expected_by_act(act, clues, stands, explanation)
            if touched and pairs > WORTH:
                rows.append(_act_row(act, pairs, touched))
    rows.sort(key=lambda row: -float(str(row["expected_pairs"])))
    for rank, row in enumerate(rows, start=1):
        row["rank"] = rank
    return pd.DataFrame(rows, columns=list(NEXT_COLUMNS))


FIRST_DEPTHS = (0.10, 0.40, 0.80)
"""Depths of a first profile, over thickness. In trials between seven causes 40% alone gave 0.61 of
2.81 bit, these three 1.75."""


def _first_depths(stands: Sequence[Standing], where: tuple[str, float, float]) -> dict[str, object]:
    """Propose three depths where none was read."""
    told = [one.cause for one in stands if one.standing != "against" and one.cause in SIMULATED]
    shares = ", ".join(f"{100 * share:.0f}" for share in FIRST_DEPTHS)
    name, x, y = where
    return {
        "what": f"humidity at {shares}% of the thickness, and the same beside the zone",
        "where": name,
        "x": round(x, 3),
        "y": round(y, 3),
        "depth_mm": np.nan,
        "when": "now",
        "divides": ", ".join(told),
        "expected_pairs": round(SHOWS * len(told) * (len(told) - 1) / 2.0, 2),
        "basis": "judged",
        "burden": "three holes and the wait of their method",
        "risk": "drilling: read the cautions",
    }


def _holes(
    explanation: Explanation, left: Sequence[str], membrane: str, where: tuple[str, float, float]
) -> list[dict[str, object]]:
    """Choose the best readings now and the best to come."""
    found = []
    readings = possible_readings(explanation, membrane)
    for later in (False, True):
        options = [one for one in readings if (one.day > 0.0) == later]
        scored = [(expected_division(explanation, left, one), one) for one in options]
        for (pairs, _), one in sorted(scored, key=lambda s: -s[0][0])[:2]:
            if pairs > WORTH:
                found.append(_hole_row(one, pairs, left, where))
    return found


def _hole_row(
    reading: Reading,
    pairs: float,
    left: Sequence[str],
    where: tuple[str, float, float],
) -> dict[str, object]:
    name, x, y = where
    again = "read again the hole" if reading.known else "humidity in a new hole"
    when = "now" if reading.day == 0.0 else f"in {reading.day:.0f} days"
    return {
        "what": f"{again} at {reading.depth_mm:.0f} mm",
        "where": name,
        "x": round(x, 3),
        "y": round(y, 3),
        "depth_mm": reading.depth_mm,
        "when": when,
        "divides": ", ".join(left),
        "expected_pairs": round(pairs, 2),
        "basis": "simulated",
        "burden": "none but the wait" if reading.known else "one hole and the wait of its method",
        "risk": "none new" if reading.known else "drilling: read the cautions",
    }


def _act_row(act: Act, pairs: float, touched: tuple[str, ...]) -> dict[str, object]:
    return {
        "what": act.words,
        "where": act.where,
        "x": np.nan,
        "y": np.nan,
        "depth_mm": np.nan,
        "when": act.when,
        "divides": ", ".join(touched),
        "expected_pairs": round(pairs, 2),
        "basis": "judged",
        "burden": act.burden,
        "risk": act.risk,
    }
