"""Checks of instruments: which were right, which were not, and when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from moisturemap.acceptance.salt import Salt, salt_named
from moisturemap.errors import InputError
from moisturemap.quantities import beside
from moisturemap.survey import Instrument, InstrumentCheck

ASSUMED_C = 20.0
"""Temperature taken for a salt check that states none [C]."""

HUMIDITY_KINDS = ("rh-probe", "hood")
"""Kinds of instrument that read relative humidity."""

CHAMBERS = ("humiditychamber", "humiditygenerator")
"""References besides salts that check relative humidity, as written without blanks and marks."""

CHAMBER_U = 1.0
"""Expanded uncertainty (k = 2) of a reference that states none [its unit]; project choice, a usual
claim for humidity chambers."""

UNKNOWN_SALT_U = 0.7
"""Expanded uncertainty of a salt outside the published ones [%RH]: the largest of the table."""

STATED_APART = 1.0
"""A stated value farther from the table than this is told [%RH]; project choice."""

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
    standard : float
        Standard uncertainty of the reference, in the instrument's unit.
    remark : str
        Why nothing can be told, or what was assumed; "" else.
    """

    check: InstrumentCheck
    expected: float | None
    deviation: float | None
    standard: float = 0.0
    remark: str = ""


def judge_check(check: InstrumentCheck, kind: str = "rh-probe") -> CheckResult:
    """Compare a check with its reference.

    Parameters
    ----------
    check : InstrumentCheck
    kind : str
        Kind of the instrument. A probe of relative humidity is checked by a saturated salt or a
        humidity chamber alone; a block of plastic says nothing about it.
    """
    salt = salt_named(check.reference)
    if salt is not None:
        return _against_salt(check, salt)
    chamber = "".join(filter(str.isalpha, check.reference.casefold())) in CHAMBERS
    if kind in HUMIDITY_KINDS and not chamber:
        return CheckResult(
            check, None, None, remark=f"{check.reference!r} is no reference of relative humidity"
        )
    if check.expected is None:
        return CheckResult(check, None, None, remark=f"no value is known for {check.reference!r}")
    expanded = check.uncertainty if check.uncertainty is not None else CHAMBER_U
    return CheckResult(check, check.expected, check.read - check.expected, expanded / 2.0)


def _against_salt(check: InstrumentCheck, salt: Salt) -> CheckResult:
    temperature, remarks = check.temperature_c, []
    if temperature is None:
        temperature = ASSUMED_C
        remarks.append(f"temperature of the check not stated, {ASSUMED_C:g} °C taken")
    try:
        expected = salt.at(temperature)
    except InputError as outside:
        return CheckResult(check, None, None, remark=outside.message)
    if check.expected is not None and abs(check.expected - expected) > STATED_APART:
        remarks.append(f"{check.expected:g} was stated; the table of the salt goes first")
    published = salt.uncertainty_at(temperature)
    expanded = UNKNOWN_SALT_U if np.isnan(published) else published
    return CheckResult(check, expected, check.read - expected, expanded / 2.0, "; ".join(remarks))


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
        for one in (judge_check(check, instrument.kind) for check in instrument.checks):
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
    off = beside(size, tolerance, rejects, decimals=1)
    against = f"{one.check.reference} should read {one.expected:.1f}, read {one.check.read:.1f}"
    against += f" ({one.remark})" if one.remark else ""
    if size > rejects:
        aside = f"off by {off}, more than {rejects:g}; results are set aside"
        return "failed", f"{against}: {aside}"
    if size > tolerance:
        return "remark", f"{against}: off by {off}, more than {tolerance:g}; repeat the check"
    return "passed", f"{against}: within {tolerance:g}"
