"""The clock of a logger: which moment a time without zone is, over changes of the clock."""

from __future__ import annotations

from datetime import timedelta, timezone, tzinfo

import numpy as np
import pandas as pd

from moisturemap.files.moment import zone_note


def put_in_zone(
    wall: pd.Series, zone: tzinfo | None, source: str
) -> tuple[pd.Series, tuple[str, ...]]:
    """Turn the times a logger wrote into moments.

    Some loggers follow the change between winter and summer time, some do not. A time within the
    hour that the clocks skip in spring, or an hour in autumn that is passed through once only,
    shows a clock that was not changed; then the offset of the first entry holds for the whole file.

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
    if not (skipped.any() or doubled.any()):
        offset = early
    elif skipped.any() or not _passed_twice(ordered, doubled):
        fixed = timezone(timedelta(seconds=float(early[0])))
        notes = (
            f"{source}: the clock of the logger was not changed between winter and summer time; "
            f"all times are taken at {fixed.tzname(None)}, that of its first entry.",
        )
        offset = np.full(early.size, early[0])
    else:
        offset = np.where(_second_pass(ordered, doubled), late, early)
        notes = (f"{source}: the hour that clocks pass twice in autumn was told by the order.",)
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


def _second_pass(wall: pd.Series, doubled: np.ndarray) -> np.ndarray:
    """Entries of an hour that is passed twice which belong to its second pass."""
    steps = np.r_[1.0, np.diff(wall.to_numpy()).astype(float)]
    second, now = np.zeros(doubled.size, dtype=bool), False
    for k in np.flatnonzero(doubled):
        now = (now and bool(doubled[k - 1])) or steps[k] <= 0.0
        second[k] = now
    return second
