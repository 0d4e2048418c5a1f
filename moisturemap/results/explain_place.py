"""What the map says at one place, how sure that is, and why."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from scipy.special import ndtr
from shapely.geometry import Point

from moisturemap.bundles import Study
from moisturemap.drilling.chance import chance_words
from moisturemap.mapping import DomainField
from moisturemap.survey import USED_FLAGS

CONFIDENCE = 0.9
"""Confidence of the interval given."""

HALF_WIDTH = 1.6448536269514722
"""Standard normal quantile at 0.95: half the 90% interval in sd."""

NEAREST = 4


@dataclass(frozen=True)
class PlaceExplanation:
    """What is known about a place.

    Attributes
    ----------
    room, domain : str
        Empty off the plan.
    value, low, high : float or None
        Mapped relative reading there and its 90% interval (of the surface, without the noise of
        a single reading); None where nothing is mapped.
    p_wet : float or None
        Probability of lying above the wet level; None without one.
    sentences : tuple of str
        Why, for the reader.
    readings : tuple of dict
        The nearest readings: ``reading, label, distance_m, value, flag, reason``.
    """

    x: float
    y: float
    room: str
    domain: str
    value: float | None
    low: float | None
    high: float | None
    p_wet: float | None
    sentences: tuple[str, ...]
    readings: tuple[dict[str, Any], ...]

    def as_dict(self) -> dict[str, Any]:
        """Return plain types."""
        return asdict(self)


def explain_place(study: Study, x: float, y: float) -> PlaceExplanation:
    """Explain the map at a place of the plan [m]."""
    place = Point(x, y)
    room = study.survey.plan.room_at(x, y)
    near = _nearest(study, x, y)
    if room is None:
        return PlaceExplanation(
            x, y, "", "", None, None, None, None, ("This place lies outside every room.",), near
        )
    domain = next((one for one in study.domains if one.geometry.covers(place)), None)
    key = domain.key if domain else ""
    field = study.moisture.fields.get(key)
    if field is None:
        why = study.moisture.refusals.get(key, "This part of the floor is not mapped.")
        return PlaceExplanation(x, y, room.name, key, None, None, None, None, (why,), near)
    mean, sd = (float(one[0]) for one in field.predict(np.array([[x, y]])))
    level = study.wet.level.value
    known = level is not None and key not in study.moisture.unlevelled
    p_wet = _chance(mean, sd, level) if level is not None and known else None
    sentences = (*_support(near, field), *_wetness(study, p_wet), *_flags(near))
    half = HALF_WIDTH * sd
    return PlaceExplanation(
        x, y, room.name, key, mean, mean - half, mean + half, p_wet, sentences, near
    )


def _chance(mean: float, sd: float, level: float) -> float:
    if sd <= 0:
        return float(mean > level)
    return float(ndtr((mean - level) / sd))


def _nearest(study: Study, x: float, y: float) -> tuple[dict[str, Any], ...]:
    readings = study.readings
    away = np.hypot(readings["x"].to_numpy(float) - x, readings["y"].to_numpy(float) - y)
    order = np.argsort(away, kind="stable")[:NEAREST]
    return tuple(
        {
            "reading": int(row["reading"]),
            "label": str(row["label"] or ""),
            "distance_m": round(float(away[i]), 3),
            "value": None if np.isnan(row["value"]) else float(row["value"]),
            "censored": str(row["censored"]),
            "flag": str(row["flag"]),
            "reason": str(row["reason"]),
        }
        for i, row in zip(order, readings.iloc[order].to_dict("records"), strict=True)
    )


def _support(near: tuple[dict[str, Any], ...], field: DomainField) -> tuple[str, ...]:
    used = [one for one in near if one["flag"] in USED_FLAGS]
    if not used:
        return (
            "None of the four nearest readings could be used, so the value is carried from "
            "farther away.",
        )
    away, length = used[0]["distance_m"], field.covariance.length
    sentence = (
        f"The nearest reading that was used is {away:.2f} m away; on this floor readings say "
        f"something about each other over a length of {length:.1f} m."
    )
    if away > length:
        return (sentence, "That is too far to say much here: a reading at this place would help.")
    return (sentence,)


def _wetness(study: Study, p_wet: float | None) -> tuple[str, ...]:
    level = study.wet.level
    if p_wet is None:
        return (level.explanation,)
    if p_wet >= CONFIDENCE:
        words = "It is very likely above the wet level"
    elif p_wet <= 1 - CONFIDENCE:
        words = "It is very likely below the wet level"
    else:
        words = "Whether it is above the wet level cannot be told from these readings"
    return (
        f"{words} of {level.value:.4g} (chance {chance_words(p_wet)}). A relative reading is "
        "not a moisture content; only a calibrated test shows it.",
    )


def _flags(near: tuple[dict[str, Any], ...]) -> tuple[str, ...]:
    reasons = [one["reason"] for one in near if one["flag"] not in USED_FLAGS and one["reason"]]
    return tuple(f"Set aside nearby: {reason}" for reason in dict.fromkeys(reasons))
