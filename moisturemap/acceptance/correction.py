"""What the checks of a probe say about a reading: a signed correction with its uncertainty.

A probe known to read low is corrected before its result meets a limit (GUM, JCGM 100:2008, 3.2.3:
a recognised systematic effect is corrected; F.2.4.5 on leaving it uncorrected). Method:
``docs/method/acceptance.md``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache

import numpy as np

from moisturemap.acceptance.check import CheckResult, judge_check
from moisturemap.survey import Instrument

SESSION_HOURS = 12.0
"""Checks closer together than this belong to one session (several salts) [h]; project choice."""

APART_PCT = 8.0
"""References nearer to each other than this are pooled: two points so close give no slope [%RH];
project choice, so that NaCl and KCl (9.6 apart at 20 C) do."""

SLOPE_SD = 0.05
"""Standard uncertainty of what two salts leave open of the slope beyond them [%RH per %RH]; project
choice: 0.5 %RH over 10 %RH, the usual claim of linearity of a capacitive sensor."""

LONE_SLOPE_SD = 0.07
"""The same where one salt alone was read, so that nothing is known of the slope beyond the claim of
its maker; project choice, half as wide again. At 0.10 the 90% interval held 94.7%."""

LONE_SD = 0.5
"""Standard uncertainty of an offset from one salt, on top of the check's own [%RH]; project
choice."""

CLIPPED_PCT = (-3.0, 8.0)
"""Corrections are held within this [%RH]: no probe is credited with more than the deviation that
sets its results aside."""


@dataclass(frozen=True, slots=True)
class Session:
    """The checks of one occasion, by reference.

    Attributes
    ----------
    when : datetime
        The check nearest to the reading.
    expected, deviation : tuple of float
        By reference in rising order: what it stands for, and read minus expected [%RH].
    standard : tuple of float
        Standard uncertainty of each deviation [%RH].
    worst : float
        Largest deviation of any single check, with its sign [%RH]: a check that failed is not
        made good by repeating it.
    """

    when: datetime
    expected: tuple[float, ...]
    deviation: tuple[float, ...]
    standard: tuple[float, ...]
    worst: float = 0.0

    def correction(self, value: float) -> tuple[float, float]:
        """Return what is to be added to a reading, and its standard uncertainty [%RH].

        Straight between the references; beyond them that of the nearest one.
        """
        error = float(np.interp(value, self.expected, self.deviation))
        weights = _weights(value, self.expected)
        # One probe, one hand, one hour: the errors of both references are taken as one.
        spread = float(np.dot(weights, self.standard))
        return float(np.clip(-error, *CLIPPED_PCT)), spread

    def reach(self, value: float) -> float:
        """Return the standard uncertainty for a value beyond the references [%RH]."""
        gap = max(self.expected[0] - value, value - self.expected[-1], 0.0)
        if len(self.expected) == 1:
            return float(np.hypot(LONE_SD, LONE_SLOPE_SD * gap))
        return SLOPE_SD * gap

    def distance(self, value: float) -> float:
        """How far a value lies from the nearest reference, 0 between two of them [%RH]."""
        return max(self.expected[0] - value, value - self.expected[-1], 0.0)


def _weights(value: float, expected: Sequence[float]) -> list[float]:
    unit = np.eye(len(expected))
    return [float(np.interp(value, expected, row)) for row in unit]


@dataclass(frozen=True, slots=True)
class Checks:
    """The checks next to a reading: the last session before it and the first after it."""

    before: Session | None = None
    after: Session | None = None
    days_since: float | None = None
    days_to_next: float | None = None

    @property
    def sessions(self) -> tuple[Session, ...]:
        """The sessions there are."""
        return tuple(one for one in (self.before, self.after) if one is not None)

    @property
    def deviation(self) -> float | None:
        """Largest deviation among both sessions, with its sign [%RH]."""
        every = [session.worst for session in self.sessions]
        return max(every, key=abs) if every else None

    def distance(self, value: float) -> float | None:
        """How far a value lies from what was checked, in the worse of the sessions [%RH]."""
        return max((one.distance(value) for one in self.sessions), default=None)


@dataclass(frozen=True, slots=True)
class Correction:
    """A correction by checks.

    Attributes
    ----------
    added : float
        To be added to the reading [%RH]; of the session in which the probe read lower.
    parts : tuple of (str, float)
        Standard uncertainties of the correction [%RH], in words.
    how : str
        In words.
    """

    added: float
    parts: tuple[tuple[str, float], ...]
    how: str


@lru_cache(maxsize=512)
def checks_around(
    instrument: Instrument | None, moment: datetime | None, check_sd: float = 0.4
) -> Checks:
    """Find the sessions of checks before and after a reading; all references of each count.

    Parameters
    ----------
    instrument : Instrument or None
    moment : datetime or None
        Time of the reading.
    check_sd : float
        Standard uncertainty of reading a probe in a reference [%RH].
    """
    if instrument is None or moment is None:
        return Checks()
    usable = [judge_check(check, instrument.kind) for check in instrument.checks]
    usable = sorted(
        (one for one in usable if one.deviation is not None), key=lambda one: one.check.when
    )
    before = [one for one in usable if one.check.when <= moment]
    after = [one for one in usable if one.check.when > moment]
    if before:
        last = before[-1].check.when
        before = [one for one in before if hours(one.check.when, last) <= SESSION_HOURS]
    if after:
        first = after[0].check.when
        after = [one for one in after if hours(first, one.check.when) <= SESSION_HOURS]
    return Checks(
        _session(before, check_sd, before[-1].check.when) if before else None,
        _session(after, check_sd, after[0].check.when) if after else None,
        hours(before[-1].check.when, moment) / 24.0 if before else None,
        hours(moment, after[0].check.when) / 24.0 if after else None,
    )


def hours(early: datetime, late: datetime) -> float:
    """Return the hours from one time to another."""
    return (late - early).total_seconds() / 3600.0


def _session(checks: Sequence[CheckResult], check_sd: float, when: datetime) -> Session:
    """Pool the checks of a session by reference, those close together as one.

    Of several against one reference the one in which the probe read lowest speaks.
    """
    groups: list[list[CheckResult]] = []
    for one in sorted(checks, key=lambda one: one.expected or 0.0):
        if groups and (one.expected or 0.0) - (groups[-1][0].expected or 0.0) < APART_PCT:
            groups[-1].append(one)
        else:
            groups.append([one])
    pooled = [_pool(group, check_sd) for group in groups]
    expected, deviation, standard = zip(*pooled, strict=True)
    worst = max((one.deviation for one in checks if one.deviation is not None), key=abs)
    return Session(when, tuple(expected), tuple(deviation), tuple(standard), worst)


def _pool(group: Sequence[CheckResult], check_sd: float) -> tuple[float, float, float]:
    expected = float(np.mean([one.expected for one in group if one.expected is not None]))
    deviation = min(one.deviation for one in group if one.deviation is not None)
    reference = max(one.standard for one in group)
    return expected, deviation, float(np.hypot(check_sd, reference))


def correction_of(checks: Checks, value: float, limit: float | None) -> Correction | None:
    """Return the correction of a reading, None without checks.

    Of the sessions before and after, the one in which the probe read lower speaks: a probe that
    drifted between them is not averaged. Uncertainties are the larger of both.

    Parameters
    ----------
    checks : Checks
    value : float
        As read [%RH].
    limit : float or None
        The references must bracket it, or the range widens [%RH].
    """
    if not checks.sessions:
        return None
    found = [session.correction(value) for session in checks.sessions]
    points = [value] if limit is None else [value, limit]
    reach = max(session.reach(point) for session in checks.sessions for point in points)
    added = max(one for one, _ in found)
    few = min(len(session.expected) for session in checks.sessions)
    salts = "offset of one reference" if few == 1 else "offset and slope of two references"
    parts: tuple[tuple[str, float], ...] = (
        ("checks of the probe", max(spread for _, spread in found)),
    )
    if reach > 0:
        words = "slope not known from one reference" if few == 1 else "beyond the references"
        parts += ((words, reach),)
    return Correction(added, parts, f"{salts}, from the session in which the probe read lower")


def without_credit(correction: Correction | None) -> Correction | None:
    """Return a correction that never lowers a result: that of a probe checked once only."""
    if correction is None or correction.added >= 0.0:
        return correction
    how = "the probe read high, and was not checked both before and after: nothing is taken off"
    return replace(correction, added=0.0, how=how)
