"""Checks of instruments: which were right, which were not, and when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

import pandas as pd

from moisturemap.acceptance.salt import salt_named
from moisturemap.errors import InputError
from moisturemap.survey import Instrument, InstrumentCheck

ASSUMED_C = 20.0
"""Temperature taken for a salt check that states none [C]."""

CHECK_COLUMNS = (
    "instrument",
    "serial",
    "when",
    "reference",
    "temperature_c",
    "expected",
    "read",
    "deviation",
    "tolerance",
    "rejects",
    "result",
    "sentence",
)


@dataclass(frozen=True, slots=True)
class CheckResult:
    """One check, judged.

    Attributes
    ----------
    check : InstrumentCheck
    expected : float or None
        What should have been read; None when it cannot be told.
    deviation : float or None
        Read minus expected.
    remark : str
        Why nothing can be told, or what was assumed; "" else.
    """

    check: InstrumentCheck
    expected: float | None
    deviation: float | None
    remark: str = ""


def judge_check(check: InstrumentCheck) -> CheckResult:
    """Compare a check with its fixed point."""
    expected, remark = check.expected, ""
    salt = salt_named(check.reference)
    if expected is None and salt is None:
        return CheckResult(check, None, None, f"no value is known for {check.reference!r}")
    if expected is None and salt is not None:
        temperature = check.temperature_c
        if temperature is None:
            temperature = ASSUMED_C
            remark = f"temperature of the check not stated, {ASSUMED_C:g} C taken"
        try:
            expected = salt.at(temperature)
        except InputError as outside:
            return CheckResult(check, None, None, outside.message)
    assert expected is not None
    return CheckResult(check, expected, check.read - expected, remark)


@dataclass(frozen=True)
class Checks:
    """The checks next to a reading.

    Attributes
    ----------
    days_since : float or None
        From the last usable check before the reading [days].
    days_to_next : float or None
        To the first usable check after it [days].
    deviation : float or None
        Largest deviation among both sessions of checks.
    """

    days_since: float | None
    days_to_next: float | None
    deviation: float | None


SESSION_HOURS = 12.0
"""Checks closer together than this belong to one session (several salts) [h]."""


def checks_around(instrument: Instrument | None, moment: datetime | None) -> Checks:
    """Find the checks before and after a reading; all salts of a session count."""
    if instrument is None or moment is None:
        return Checks(None, None, None)
    usable = [judge_check(check) for check in instrument.checks]
    usable = [one for one in usable if one.deviation is not None]
    before = [one for one in usable if one.check.when <= moment]
    after = [one for one in usable if one.check.when > moment]
    last = before[-1].check.when if before else None
    first = after[0].check.when if after else None
    session = [one for one in before if last and _hours(one.check.when, last) <= SESSION_HOURS]
    session += [one for one in after if first and _hours(first, one.check.when) <= SESSION_HOURS]
    deviations = [one.deviation for one in session if one.deviation is not None]
    return Checks(
        _hours(last, moment) / 24.0 if last else None,
        _hours(moment, first) / 24.0 if first else None,
        max(deviations, key=abs) if deviations else None,
    )


def _hours(early: datetime, late: datetime) -> float:
    return (late - early).total_seconds() / 3600.0


def check_table(
    instruments: Mapping[str, Instrument], tolerance: float, rejects: float
) -> pd.DataFrame:
    """List every check of every instrument, judged; columns ``CHECK_COLUMNS``.

    Parameters
    ----------
    tolerance, rejects : float
        Deviation that passes and deviation beyond which results are set aside, instrument's unit.
    """
    rows = []
    for instrument in instruments.values():
        if instrument.kind == "relative":
            continue
        for one in (judge_check(check) for check in instrument.checks):
            result, sentence = _words(one, tolerance, rejects)
            rows.append(
                (
                    instrument.id,
                    instrument.serial,
                    one.check.when,
                    one.check.reference,
                    one.check.temperature_c,
                    one.expected,
                    one.check.read,
                    one.deviation,
                    tolerance,
                    rejects,
                    result,
                    sentence,
                )
            )
    return pd.DataFrame(rows, columns=list(CHECK_COLUMNS))


def _words(one: CheckResult, tolerance: float, rejects: float) -> tuple[str, str]:
    if one.deviation is None:
        return "unusable", one.remark
    size = abs(one.deviation)
    against = f"{one.check.reference} should read {one.expected:.1f}, read {one.check.read:.1f}"
    against += f" ({one.remark})" if one.remark else ""
    if size > rejects:
        aside = f"off by {size:.1f}, more than {rejects:g}; results are set aside"
        return "failed", f"{against}: {aside}"
    if size > tolerance:
        return "remark", f"{against}: off by {size:.1f}, more than {tolerance:g}; repeat the check"
    return "passed", f"{against}: within {tolerance:g}"
