"""Remarks on how the scan was made: meter, repeats, reference, time, air."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pandas as pd
from scipy.special import stdtrit

from moisturemap.scanning.remark import Remark
from moisturemap.survey import USED_FLAGS, CleanReadings, Survey, agreeing

ENOUGH_REPEATS = 10
"""Degrees of freedom from which on repeats tell the noise of the meter well enough; the 95%
interval of the sd is then 0.70 to 1.75 times its value (chi-square)."""

LONG_APART = pd.Timedelta(minutes=20)
"""A place read again after this long shows drift [time]."""

FEWEST_AGAIN = 4
"""Places read again late that a test for drift needs (Student, 99%)."""

FEW_READINGS = 30
"""Below this a covariance cannot be fitted freely (Webster and Oliver, J. Soil Sci. 43 (1992) 177,
ask for 100 and more)."""


def remarks_on_practice(survey: Survey, clean: CleanReadings) -> list[Remark]:
    """Say what is missing around the readings themselves."""
    return [
        *_repeats(clean),
        *_reference(survey, clean),
        *_meter(clean),
        *_times(clean),
        *_values(clean),
        *_air(clean),
    ]


def _repeats(clean: CleanReadings) -> list[Remark]:
    if clean.repeat_pairs == 0:
        return [
            Remark(
                "warning",
                "No place was read twice, so noise of the meter cannot be told "
                "from short changes of the floor. Read ten places or more again, the meter "
                "lifted and turned between.",
            )
        ]
    if clean.repeat_pairs < ENOUGH_REPEATS:
        return [
            Remark(
                "info",
                f"Repeats give only {clean.repeat_pairs} degrees of freedom for the "
                f"noise of the meter; {ENOUGH_REPEATS} would make it firm.",
            )
        ]
    return []


def _reference(survey: Survey, clean: CleanReadings) -> list[Remark]:
    recorded = (*clean.visit.dry_reference, *survey.scan.dry_reference)
    reference = agreeing(recorded, clean.instrument.scale)
    dry = reference.values
    odd = [Remark("warning", reference.words)] if reference.left_out else []
    if not dry and survey.scan.wet_level is None:
        return [
            *odd,
            Remark(
                "warning",
                "No reading on floor known to be dry was recorded, and no wet "
                "level: how wet is wet can only be guessed from the readings themselves. "
                "Read such a place of the same floor ten times.",
            ),
        ]
    used = clean.readings.loc[clean.readings["flag"].isin(USED_FLAGS), "value"]
    if dry and len(used) and float(np.mean(dry)) > used.median():
        return [
            *odd,
            Remark(
                "warning",
                f"The dry reference reads {np.mean(dry):.3g} on average, above "
                "half of the floor: was it dry, and read with the same mode?",
            ),
        ]
    return odd


def _meter(clean: CleanReadings) -> list[Remark]:
    meter, started = clean.instrument, clean.visit.started
    remarks = []
    if meter.scale is None:
        remarks.append(
            Remark(
                "warning",
                f"The scale of {meter.id} is not stated, so readings at "
                "full scale cannot be told from measured values.",
                meter.id,
            )
        )
    near = [
        check
        for check in meter.checks
        if started is not None and abs(check.when - started) <= timedelta(days=1)
    ]
    if not meter.checks:
        remarks.append(
            Remark(
                "warning",
                f"No check of {meter.id} is recorded: read its check "
                "block or a fixed place before and after the scan.",
                meter.id,
            )
        )
    elif started is not None and not near:
        remarks.append(
            Remark(
                "warning", f"{meter.id} was checked, but not within a day of this visit.", meter.id
            )
        )
    if not meter.serial:
        remarks.append(
            Remark("info", f"The serial number of {meter.id} is not recorded.", meter.id)
        )
    return remarks


def _times(clean: CleanReadings) -> list[Remark]:
    readings = clean.readings[clean.readings["flag"].isin(USED_FLAGS)]
    timed = readings[readings["time"].notna()]
    if timed.empty:
        return [Remark("info", "The readings carry no time, so drift of the meter cannot be seen.")]
    remarks = []
    backward = int((timed["time"].diff() < pd.Timedelta(0)).sum())
    if backward:
        remarks.append(
            Remark(
                "info",
                f"The time runs backward {backward} times from row to row: "
                "the rows are not in walking order, or times are mistyped.",
            )
        )
    remarks += _another_day(timed, clean)
    return remarks + _drift(timed, clean)


def _another_day(timed: pd.DataFrame, clean: CleanReadings) -> list[Remark]:
    if clean.visit.started is None:
        return []
    off = (timed["time"] - pd.Timestamp(clean.visit.started)).abs() > pd.Timedelta(days=1)
    if not off.any():
        return []
    first = timed[off].iloc[0]
    return [
        Remark(
            "warning",
            f"{int(off.sum())} readings are timed more than a day from the start "
            f"of the visit, the first at {first['time']:%Y-%m-%d %H:%M} UTC.",
            f"{first['source']}, row {first['row']}",
        )
    ]


def _drift(timed: pd.DataFrame, clean: CleanReadings) -> list[Remark]:
    """Compare places read again long after with themselves."""
    plain = timed[timed["censored"] == ""].sort_values("time")
    groups = plain.groupby("location")
    ends = groups.agg(
        first=("value", "first"),
        last=("value", "last"),
        begin=("time", "first"),
        end=("time", "last"),
    )
    apart = ends[(ends["end"] - ends["begin"]) >= LONG_APART]
    if apart.empty:
        return [
            Remark(
                "info",
                "No place was read again late in the visit, so drift of the meter "
                "cannot be told from change over the floor.",
            )
        ]
    change = (apart["last"] - apart["first"]).to_numpy(dtype=float)
    if change.size < FEWEST_AGAIN:
        return [
            Remark(
                "info",
                f"Only {change.size} places were read again late in the visit: too "
                "few to tell drift of the meter from noise.",
            )
        ]
    error = max(float(np.std(change, ddof=1)), clean.step / 2) / np.sqrt(change.size)
    if error > 0 and abs(change.mean()) > stdtrit(change.size - 1, 0.995) * error:
        return [
            Remark(
                "warning",
                f"Places read again later changed by {change.mean():+.2g} on "
                f"average ({change.size} places): the meter or the surface drifted during "
                "the scan.",
            )
        ]
    return []


def _values(clean: CleanReadings) -> list[Remark]:
    used = clean.readings.loc[clean.readings["flag"].isin(USED_FLAGS), "value"]
    if used.empty:
        return [Remark("problem", "Not one reading can be used.")]
    remarks = []
    if len(used) > 3 and used.nunique() == 1:
        remarks.append(
            Remark(
                "problem",
                f"All readings are {used.iloc[0]:g}: was the meter stuck, "
                "or one value copied down?",
            )
        )
    if len(clean.locations) < FEW_READINGS:
        remarks.append(
            Remark(
                "warning",
                f"Only {len(clean.locations)} places were read; below "
                f"{FEW_READINGS} a map leans on assumptions more than on "
                "readings.",
            )
        )
    return remarks


def _air(clean: CleanReadings) -> list[Remark]:
    visit = clean.visit
    conditions = (
        ("air temperature", visit.air_temperature_c),
        ("air humidity", visit.air_rh_pct),
        ("slab temperature", visit.slab_temperature_c),
    )
    missing = [words for words, value in conditions if value is None]
    if not missing:
        return []
    return [Remark("info", f"Not recorded on this visit: {', '.join(missing)}.")]
