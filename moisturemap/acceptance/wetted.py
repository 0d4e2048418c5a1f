"""Tests of places that a later scan shows to have taken up water since.

A result holds at the time and place it was read (ASTM F2170-19a 5.3, from secondary sources). The
scan never makes a floor pass; that it rose after a test was read asks for another one.

Method: ``docs/method/acceptance.md``, rule 13.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.acceptance.evidence import JudgedTest
from moisturemap.survey import Survey, Visit, agreeing
from moisturemap.zones.other_meter import LEAST_READINGS, STANDS_OUT, dry_floor

Array = NDArray[np.float64]

ROSE_SHARE, ROSE_SHARE_UNCHECKED = 0.03, 0.05
"""A rise is one from this share of the scale on, where both visits read dry references, and where
not; a meter drifts by about a hundredth from visit to visit (``drying``). Project choice."""

ROSE_SDS = 4.0
"""And from so many standard deviations of the mean of the readings around the place on."""

REACH_M, REACH_SPACINGS = 0.5, 1.25
"""Readings this near to a test stand for its place [m, spacings]; project choice."""

SAME_PLACE_SPACINGS = 0.75
"""Readings of two visits no farther apart are of one place [spacings]."""

CALM = 3.0
"""Up to so many scatters above the dry quarter of its scan a place read as dry floor; project
choice."""

AGAIN_M = 1.0
"""A later test this near tells what the place holds by then [m]; project choice."""


def wetted_since(survey: Survey, judged: Sequence[JudgedTest]) -> list[str]:
    """Say which tests were read before the scan rose at their place.

    Parameters
    ----------
    survey : Survey
    judged : sequence of JudgedTest
    """
    if survey.readings.empty:
        return []
    readings = survey.readings.dropna(subset=["x", "y"])
    higher: dict[str, list[str]] = {}
    out: dict[str, list[str]] = {}
    for test in judged:
        place, read = test.entry.place, test.read
        if not test.counts or place is None or read is None:
            continue
        for visit in survey.visits:
            if visit.started is None or visit.started <= read or tested_again(test, visit, judged):
                continue
            rise = _rise(survey, readings, visit, read, place)
            day = f"{visit.id} of {visit.started:%Y-%m-%d}"
            if rise is not None:
                higher.setdefault(day, []).append(f"{test.entry.label} (by {rise:.3g})")
                break
            if _stands_out_since(survey, readings, visit, read, place):
                out.setdefault(day, []).append(test.entry.label)
                break
    told = [
        f"the scan of visit {day}, with another meter, stands clearly above its own dry floor at"
        f" {', '.join(tests)}, which read as dry floor before these tests: water may have come"
        " since; test there again"
        for day, tests in out.items()
    ]
    return told + [
        f"after these tests were read, the scan of visit {day} reads higher than before at"
        f" {', '.join(tests)}: what was read there does not speak for the floor since; test there"
        " again"
        for day, tests in higher.items()
    ]


def tested_again(test: JudgedTest, visit: Visit, judged: Sequence[JudgedTest]) -> bool:
    """Whether a valid test beside it was read after a visit began."""
    place = test.entry.place
    return any(
        other.counts
        and other.read is not None
        and visit.started is not None
        and other.read >= visit.started
        and place is not None
        and other.entry.place is not None
        and float(np.hypot(*np.subtract(place, other.entry.place))) <= AGAIN_M
        for other in judged
    )


def _rise(
    survey: Survey, readings: pd.DataFrame, later: Visit, read: datetime, place: tuple[float, float]
) -> float | None:
    """Return by how much a meter reads higher around a place than before a test, if it does."""
    for id, own in readings.groupby("instrument"):
        meter = survey.instruments.get(str(id))
        scale = None if meter is None else meter.scale
        after = own[own["visit"] == later.id]
        for before in reversed(survey.visits):
            if before.started is None or before.started > read:
                continue
            first = own[own["visit"] == before.id]
            if len(first) < 2 or len(after) < 2:
                continue
            offset, checked = _offset(before, later, scale)
            share = ROSE_SHARE if checked else ROSE_SHARE_UNCHECKED
            least = share * _span(own, scale)
            rise = _around(_placed(first, scale), _placed(after, scale), place, least + offset)
            return None if rise is None else rise - offset
    return None


def _stands_out_since(
    survey: Survey, readings: pd.DataFrame, later: Visit, read: datetime, place: tuple[float, float]
) -> bool:
    """Whether a place that read as dry floor before a test stands out in a scan by another meter.

    Scales never merge; each scan is held against what its own meter read on the driest floor.
    """
    earlier = [one.id for one in survey.visits if one.started is not None and one.started <= read]
    before = readings[readings["visit"].isin(earlier)]
    after = readings[readings["visit"] == later.id]
    after = after[~after["instrument"].isin(before["instrument"])]
    since = [_standing(own, place) for _, own in after.groupby("instrument")]
    then = (_standing(own, place) for _, own in before.groupby(["visit", "instrument"], sort=False))
    known = [one for one in then if one is not None]
    risen = any(one is not None and one > STANDS_OUT for one in since)
    return risen and bool(known) and known[-1] < CALM


def _standing(readings: pd.DataFrame, place: tuple[float, float]) -> float | None:
    """Return by how many scatters a scan stands above its dry quarter around a place (n, 3)."""
    placed = _placed(readings, None)
    if len(placed) < LEAST_READINGS:
        return None
    beyond = np.asarray(cKDTree(placed[:, :2]).query(placed[:, :2], k=2)[0])[:, 1]
    reach = max(REACH_M, REACH_SPACINGS * float(np.median(beyond)))
    near = np.hypot(*(placed[:, :2] - place).T) <= reach
    if not near.any():
        return None
    quarter, scatter = dry_floor(placed[:, 2])
    return float((np.median(placed[near, 2]) - quarter) / scatter)


def _around(first: Array, after: Array, place: tuple[float, float], least: float) -> float | None:
    """Return the rise of the readings (n, 3) around a place where it is one beyond doubt."""
    beyond = np.asarray(cKDTree(after[:, :2]).query(after[:, :2], k=2)[0])[:, 1]
    spacing = float(np.median(beyond))
    apart, partner = (np.asarray(one) for one in cKDTree(first[:, :2]).query(after[:, :2]))
    pairs = apart <= max(SAME_PLACE_SPACINGS * spacing, 0.05)
    at, rose = after[pairs, :2], after[pairs, 2] - first[partner[pairs], 2]
    away = np.hypot(*(at - place).T)
    near = away <= max(REACH_M, REACH_SPACINGS * spacing)
    if not near.any():
        return None
    rise = float(np.median(rose[near]))
    sd = 0.0
    if len(rose) > 2:
        beside = np.asarray(cKDTree(at).query(at, k=2)[1])[:, 1]
        sd = 1.4826 * float(np.median(np.abs(rose - rose[beside]))) / np.sqrt(2.0)
    return rise if rise >= max(least, ROSE_SDS * sd / np.sqrt(near.sum())) else None


def _placed(readings: pd.DataFrame, scale: tuple[float, float] | None) -> Array:
    """Return x, y and mean value (n, 3) of places; full scale counts as its upper end."""
    table = readings[["x", "y", "value"]].astype(float)
    if scale is not None:
        table.loc[(readings["censored"] == "above").to_numpy(), "value"] = scale[1]
    placed = table[np.isfinite(table["value"])].groupby(["x", "y"], as_index=False, sort=False)
    mean: Array = placed["value"].mean()[["x", "y", "value"]].to_numpy()
    return mean


def _span(readings: pd.DataFrame, scale: tuple[float, float] | None) -> float:
    value = readings["value"].dropna()
    return scale[1] - scale[0] if scale is not None else float(value.max() - value.min())


def _offset(before: Visit, later: Visit, scale: tuple[float, float] | None) -> tuple[float, bool]:
    """Return how far the dry references moved, as far as a meter drifts, and whether both exist."""
    kept = [agreeing(one.dry_reference, scale).values for one in (before, later)]
    if not all(kept):
        return 0.0, False
    moved = float(np.median(kept[1]) - np.median(kept[0]))
    most = ROSE_SHARE_UNCHECKED * (scale[1] - scale[0]) if scale is not None else 0.0
    return float(np.clip(moved, -most, most)), True
