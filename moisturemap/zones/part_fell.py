"""A part of a floor, its dry places with it, that reads lower by one amount than the visit before.

Dry floor has little to lose. Where it falls at once in one part of a walk, below what dry floor
read anywhere, and stays in the rest, the pad, the pressure of the hand or the setting changed, not
the floor. What was wet there before is not shown to have dried. Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from moisturemap.geostat import spacing_of
from moisturemap.survey import CleanReadings, Survey, agreeing
from moisturemap.zones.fell_fast import scans_of
from moisturemap.zones.high_place import HighPlace
from moisturemap.zones.other_meter import dry_floor
from moisturemap.zones.standing_out import BESIDE_M, BESIDE_SPACINGS, NEIGHBOURS, groups
from moisturemap.zones.wettest_part import TOP_SHARE

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

DRIFT_SHARE = 0.01
"""Drift from visit to visit where nothing tells it, as a share of the scale (project choice)."""

BEYOND_DRIFT = 4.0
"""A fall of dry floor by so many times the usual drift is none of drift; project choice."""

BEYOND_NOISE = 3.0
"""The same in standard errors of the middle change of neighbours; project choice."""

DRY_SCATTERS = 3.0
"""Places up to so many scatters above the dry quarter of a visit are dry floor; project choice."""

BESIDE = 8
"""Dry places whose middle change tells that of a place among them; project choice."""

LEAST_DRY = 6
"""Fewer dry places show neither a part that fell nor a rest that stayed; project choice."""

LEAST_PLACES = 12
"""A part of fewer places may be a spot that dried; project choice."""

STAYED = 0.5
"""The rest stayed where its dry places fell by less than this share of such a fall; project
choice."""

COMMON = 0.5
"""From this share of the fall of the wet places on, the dry ones fell with them: excess over dry
floor falls about in proportion to itself, so that wet floor loses several times as much; project
choice."""


def usual_drift(clean: CleanReadings, values: Array) -> float:
    """Return the sd by which a meter drifts from visit to visit [reading units].

    Parameters
    ----------
    clean : CleanReadings
    values : ndarray, shape (n,)
        What was read, for a meter without a stated scale [reading units].
    """
    scale = clean.instrument.scale
    if scale is not None:
        return max(DRIFT_SHARE * (scale[1] - scale[0]), 0.5 * clean.step)
    return max(DRIFT_SHARE * float(np.ptp(values)), 0.5 * clean.step)


def places_read_lower(
    scans: Sequence[Array], level: float, drift: float, dry: float | None = None
) -> tuple[tuple[Mask, ...], Array]:
    """Return which places of each scan read lower as a part, and what was last read before.

    A part that reads lower is held against what was read there last, visit after visit, until it
    is read as before.

    Parameters
    ----------
    scans : sequence of ndarray, shape (n, 3)
        Places and readings of each visit, oldest first [m], [reading units].
    level : float
        Wet level [reading units]; a part without a place above it is left alone.
    drift : float
        sd from visit to visit [reading units].
    dry : float, optional
        What dry floor reads [reading units].

    Returns
    -------
    tuple of ndarray of bool, shape (n,)
        One a scan.
    ndarray, shape (k, 3)
        Places as they were last read, those parts left out.
    """
    masks, known = [np.zeros(len(scans[0]), dtype=np.bool_)], scans[0]
    for scan in scans[1:]:
        lower = _read_lower(known, scan, (level, dry), drift)
        masks.append(lower)
        kept = scan[~lower]
        if len(kept):
            apart = np.asarray(cKDTree(kept[:, :2]).query(known[:, :2])[0])
            known = np.concatenate([kept, known[apart > _reach(known)]])
    return tuple(masks), known


def _reach(scan: Array) -> float:
    """Return how near readings of two visits are of one place [m]."""
    return BESIDE_SPACINGS * spacing_of(scan[:, :2]) if len(scan) > 1 else BESIDE_M


@dataclass(frozen=True, slots=True)
class _Part:
    """Places of two visits: what was read (n,), how it changed (n,), which are dry floor (n,)."""

    was: Array
    change: Array
    calm: Mask

    def of(self, rows: NDArray[np.intp]) -> _Part:
        return _Part(self.was[rows], self.change[rows], self.calm[rows])

    @property
    def large(self) -> bool:
        return len(self.was) >= LEAST_PLACES and int(self.calm.sum()) >= LEAST_DRY

    @property
    def fall(self) -> float:
        """Middle change of dry floor [reading units]."""
        return float(np.median(self.change[self.calm]))

    @property
    def reads(self) -> float:
        """Middle reading of dry floor now [reading units]."""
        return float(np.median((self.was + self.change)[self.calm]))


def _read_lower(
    before: Array, now: Array, levels: tuple[float, float | None], drift: float
) -> Mask:
    """Return which places of a scan lie in a part that fell as a whole, shape (n,)."""
    lower = np.zeros(len(now), dtype=np.bool_)
    if min(len(before), len(now)) < LEAST_PLACES:
        return lower
    apart, at = map(np.asarray, cKDTree(before[:, :2]).query(now[:, :2]))
    common = np.flatnonzero(apart <= _reach(before))
    if common.size < LEAST_PLACES:
        return lower
    places, was = now[common, :2], before[at[common], 2]
    quarter, scatter = dry_floor(was)
    calm = was <= min(quarter + DRY_SCATTERS * scatter, levels[0])
    if calm.sum() < 2 * LEAST_DRY:
        return lower
    whole = _Part(was, now[common, 2] - was, calm)
    _, beside = map(np.asarray, cKDTree(places[calm]).query(places, k=BESIDE))
    nearby = np.median(whole.change[calm][beside], axis=1)
    noise = 1.4826 * float(np.median(np.abs(whole.change - nearby)[calm]))
    # of a median: 1.25 times that of a mean
    least = max(BEYOND_DRIFT * drift, BEYOND_NOISE * 1.25 * noise / BESIDE**0.5)
    rest = whole.of(np.flatnonzero(nearby > -least))
    if not rest.large or rest.fall <= -STAYED * least:
        return lower
    some = np.flatnonzero(nearby <= -least)
    for group in groups(places[some], NEIGHBOURS * spacing_of(places)):
        part = whole.of(some[group])
        if not part.large or part.fall > rest.fall - least or part.reads > quarter - least:
            continue
        if _as_one(part, levels, least):
            lower[common[some[group]]] = True
    return lower


def _as_one(part: _Part, levels: tuple[float, float | None], least: float) -> bool:
    """Whether the dry places of a part fell about as its wet ones did, or below known dry floor."""
    level, dry = levels
    wet = part.was > level
    if not wet.any():
        return False
    if part.fall <= COMMON * min(0.0, float(np.median(part.change[wet]))):
        return True
    return dry is not None and part.reads < dry - least


def dry_reading(survey: Survey, clean: CleanReadings) -> float | None:
    """Return the mean of what was read as dry floor; None where nothing was.

    Parameters
    ----------
    survey : Survey
    clean : CleanReadings
        Of the latest visit.
    """
    recorded = clean.visit.dry_reference or survey.scan.dry_reference
    values = agreeing(recorded, clean.instrument.scale).values
    return float(np.mean(values)) if values else None


def part_fell(survey: Survey, clean: CleanReadings, level: float | None) -> tuple[HighPlace, ...]:
    """Return floor that was wet and lies in a part that reads lower with its dry places.

    Parameters
    ----------
    survey : Survey
    clean : CleanReadings
        Of the latest visit.
    level : float or None
        Wet level [reading units].
    """
    if level is None or len(survey.visits) < 2:
        return ()
    order = [one.id for one in survey.visits]
    until = order.index(clean.visit.id)
    own = [one for one in scans_of(survey, clean.instrument.id) if order.index(one[0]) <= until]
    scans = [scan for _, _, scan in own]
    if len(scans) < 2 or own[-1][0] != clean.visit.id:
        return ()
    drift, dry = usual_drift(clean, scans[-1][:, 2]), dry_reading(survey, clean)
    masks, known = places_read_lower(scans, level, drift, dry)
    lower = scans[-1][masks[-1]]
    if not len(lower):
        return ()
    near = NEIGHBOURS * spacing_of(scans[-1][:, :2])
    apart = np.asarray(cKDTree(lower[:, :2]).query(known[:, :2])[0])
    wet = known[(known[:, 2] > level) & (apart <= _reach(known))]
    middle = float(np.median(known[:, 2]))
    return tuple(_asked(wet[group], middle, near) for group in groups(wet[:, :2], near))


def _asked(group: Array, middle: float, near: float) -> HighPlace:
    """Ask for a test where wet floor (n, 3) of a part that reads lower stood highest."""
    top = group[np.argsort(-group[:, 2], kind="stable")]
    count = "1 reading" if len(group) == 1 else f"{len(group)} readings"
    why = (
        f"{count} above the wet level on a visit before lie in a part of the floor that reads"
        " lower since, dry floor and all, while the rest stayed: another pad, pressure or setting"
        " as likely as drying, so they count as wet until read again as before"
    )
    line = middle + TOP_SHARE * (top[0, 2] - middle)
    places = tuple((float(x), float(y)) for x, y, value in top if value >= line)
    within = max(BESIDE_M, BESIDE_SPACINGS * near / NEIGHBOURS)
    return HighPlace(why, "at the highest of them", "", within, float(top[0, 2]), places)
