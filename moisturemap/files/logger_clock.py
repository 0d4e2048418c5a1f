"""The clock of a logger: which moment a time without zone is, over changes of the clock."""

from __future__ import annotations

from datetime import timedelta, timezone, tzinfo

import numpy as np
import pandas as pd

from moisturemap.files.moment import zone_note

HALF_A_DAY_S = 43_200.0
"""Steps from which an even clock tells nothing: people read once or twice a day by their watch."""


def put_in_zone(
    wall: pd.Series, zone: tzinfo | None, source: str
) -> tuple[pd.Series, tuple[str, ...]]:
    """Turn the times a logger wrote into moments.

    Some loggers follow the change between winter and summer time, some do not. A time within the
    hour that the clocks skip in spring shows a clock that was not changed; an hour that is passed
    through twice in autumn shows one that was. Otherwise the even step of the entries tells: it
    stays even on a clock that ran on. Where it tells nothing, because nothing was recorded then or
    entries are as far apart as half a day, the clock is taken to have followed. A clock that was
    not changed keeps the offset of the first entry of the file.

    Parameters
    ----------
    wall : Series of datetime64
        In the order they were written, without zone.
    zone : tzinfo or None
        None takes UTC.
    source : str
        File, for notes.

    Returns
    -------
    moments : Series of datetime64[us, UTC]
    notes : tuple of str
    """
    if zone is None:
        return wall.dt.tz_localize("UTC"), (zone_note(source),)
    falling = wall.size > 1 and bool(np.median(np.diff(wall.to_numpy()).astype(float)) < 0.0)
    ordered = wall.iloc[::-1] if falling else wall
    early, late = (_offsets(ordered, zone, fold) for fold in (0, 1))
    skipped, doubled = early < late, early > late
    notes: tuple[str, ...] = ()
    offset = early
    if not skipped.any() and _passed_twice(ordered, doubled):
        offset = np.where(_second_pass(ordered, doubled), late, early)
        notes = (f"{source}: the hour that clocks pass twice in autumn was told by the order.",)
    elif skipped.any() or _ran_on(ordered, early, late):
        fixed = timezone(timedelta(seconds=float(early[0])))
        notes = (
            f"{source}: the clock of the logger was not changed between winter and summer time; "
            f"all times are taken at {fixed.tzname(None)}, that of its first entry.",
        )
        offset = np.full(early.size, early[0])
    elif doubled.any():
        offset = _evenest(ordered, early, late)
    moments = ordered - pd.to_timedelta(pd.Series(offset, index=ordered.index), unit="s")
    found = moments.sort_index().dt.tz_localize("UTC")
    return found.astype("datetime64[us, UTC]"), notes


def _offsets(wall: pd.Series, zone: tzinfo, fold: int) -> np.ndarray:
    """Offset of a zone at each time [s]; one look-up a quarter of an hour, where it may change."""
    quarters = wall.dt.floor("15min")
    known = {
        moment: zone.utcoffset(moment.to_pydatetime().replace(fold=fold))
        for moment in quarters.unique()
    }
    return np.array([known[one].total_seconds() for one in quarters])  # type: ignore[union-attr]


def _passed_twice(wall: pd.Series, doubled: np.ndarray) -> bool:
    """Whether the times step back, or stand still, within an hour that clocks pass twice."""
    steps = np.diff(wall.to_numpy()).astype(float)
    return bool(((steps <= 0.0) & doubled[1:]).any())


def _ran_on(wall: pd.Series, early: np.ndarray, late: np.ndarray) -> bool:
    """Whether the steps over the changes of the clock are even without a change of it."""
    near = _near_changes(early, late)
    if not near.size:
        return False
    steps = np.diff(_seconds(wall))
    usual = float(np.median(steps))
    regular = float(np.mean(np.abs(steps - usual) <= 0.05 * usual)) > 0.8
    recorded = bool((np.abs(steps[near] - usual) <= usual + 3600.0).all())
    if not (regular and recorded and usual < HALF_A_DAY_S):
        return False
    followed = _unevenness(wall, _evenest(wall, early, late), near)
    return _unevenness(wall, np.full(early.size, early[0]), near) < followed


def _evenest(wall: pd.Series, early: np.ndarray, late: np.ndarray) -> np.ndarray:
    """Offsets with which steps are the most even: each doubled hour parted into its two passes."""
    near, offset = _near_changes(early, late), early.copy()
    doubled = np.flatnonzero(early > late)
    for block in np.split(doubled, np.flatnonzero(np.diff(doubled) > 1) + 1):
        ways = []
        for first in range(block.size + 1):
            way = offset.copy()
            way[block[first:]] = late[block[first:]]
            ways.append(way)
        offset = min(ways, key=lambda one: _unevenness(wall, one, near))
    return offset


def _near_changes(early: np.ndarray, late: np.ndarray) -> np.ndarray:
    """Return the steps beside a change of the offset and within doubled hours."""
    changed = (np.diff(early) != 0.0) | (np.diff(late) != 0.0) | (early > late)[1:]
    at = np.flatnonzero(changed)
    near = np.unique(np.r_[at - 1, at, at + 1])
    return near[(near >= 0) & (near < early.size - 1)]


def _unevenness(wall: pd.Series, offset: np.ndarray, near: np.ndarray) -> float:
    """Sum of what some steps differ from the usual one with an offset taken off [s]."""
    seconds = _seconds(wall)
    steps = np.diff(seconds - offset)[near]
    return float(np.abs(steps - np.median(np.diff(seconds))).sum())


def _seconds(wall: pd.Series) -> np.ndarray:
    return wall.to_numpy().astype("datetime64[ms]").astype(float) / 1000.0


def _second_pass(wall: pd.Series, doubled: np.ndarray) -> np.ndarray:
    """Entries of an hour that is passed twice which belong to its second pass."""
    steps = np.r_[1.0, np.diff(wall.to_numpy()).astype(float)]
    second, now = np.zeros(doubled.size, dtype=bool), False
    for k in np.flatnonzero(doubled):
        now = (now and bool(doubled[k - 1])) or steps[k] <= 0.0
        second[k] = now
    return second
