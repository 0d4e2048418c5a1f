"""What loggers and machine logs tell of a floor between its visits.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

import pandas as pd

from moisturemap.drying.depth_curves import CURVE_COLUMNS, curve_sentences, depth_curves
from moisturemap.drying.depth_evidence import ROOM_RH_PCT, DepthTest
from moisturemap.drying.forecast import Forecast
from moisturemap.drying.logged_air import mean_between
from moisturemap.drying.series import VisitSeries
from moisturemap.drying.water_balance import WaterBalance, water_balance
from moisturemap.survey import LoggerSeries, MachineLog

MACHINE_COLUMNS = (
    "machine",
    "room",
    "litres",
    "run_hours",
    "energy_kwh",
    "litres_per_kwh",
    "most_a",
)
"""One row a machine, over the visits: sums, and the largest current."""


@dataclass(frozen=True)
class LogFindings:
    """What runs on between the visits.

    Attributes
    ----------
    curves : DataFrame
        Columns ``CURVE_COLUMNS``.
    machines : DataFrame
        Columns ``MACHINE_COLUMNS``.
    balance : WaterBalance or None
    statements : tuple of str
    """

    curves: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(CURVE_COLUMNS)))
    machines: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=list(MACHINE_COLUMNS))
    )
    balance: WaterBalance | None = None
    statements: tuple[str, ...] = ()


def find_in_logs(
    series: VisitSeries,
    loggers: Sequence[LoggerSeries],
    logs: Sequence[MachineLog],
    forecasts: Sequence[Forecast],
    area_m2: float,
) -> LogFindings:
    """Read curves, machines and the balance of water out of the logs.

    Parameters
    ----------
    series : VisitSeries
    loggers : sequence of LoggerSeries
    logs : sequence of MachineLog
    forecasts : sequence of Forecast
        Of the zones.
    area_m2 : float
        Mean wet area over the visits [m2].

    Returns
    -------
    LogFindings
    """
    starts = [one.started for one in series.visits if one.started is not None]
    if not starts or not (loggers or logs):
        return LogFindings()
    span = (starts[0], starts[-1])
    curves = depth_curves(loggers, span[0])
    machines = machine_table(logs, span)
    balance = water_balance(logs, forecasts, area_m2, span)
    said = (
        *curve_sentences(curves),
        *(gap_sentence(one) for one in loggers if one.gaps),
        *(() if balance is None else (balance.sentence,)),
    )
    return LogFindings(curves, machines, balance, said)


def gap_sentence(logger: LoggerSeries) -> str:
    """Say when a logger recorded nothing."""
    start, stop = max(logger.gaps, key=lambda gap: gap[1] - gap[0])
    when = logger.began + pd.Timedelta(hours=start)
    length = f"{stop - start:.0f} h" if stop - start < 72 else f"{(stop - start) / 24:.0f} days"
    more = len(logger.gaps) - 1
    others = "" if not more else f", and {more} shorter {'time' if more == 1 else 'times'}"
    return (
        f"Logger {logger.id} recorded nothing for {length} from {when:%Y-%m-%d %H:%M} UTC{others}: "
        "what happened then is not known."
    )


def machine_table(logs: Sequence[MachineLog], span: tuple[datetime, datetime]) -> pd.DataFrame:
    """Sum the logs of the machines over the visits; columns ``MACHINE_COLUMNS``."""
    rows = []
    for one in logs:
        litres, hours, energy = (
            one.total(name, *span) for name in ("litres", "run_hours", "energy_kwh")
        )
        current = [
            entry.current_a
            for entry in one.entries
            if entry.current_a is not None and span[0] < entry.when <= span[1]
        ]
        share = litres / energy if litres is not None and energy else None
        rows.append(
            (one.machine, one.room, litres, hours, energy, share, max(current, default=None))
        )
    return pd.DataFrame(rows, columns=list(MACHINE_COLUMNS))


def logged_depths(series: VisitSeries, loggers: Sequence[LoggerSeries]) -> tuple[DepthTest, ...]:
    """Return what loggers in holes read on the day of each visit, to sharpen forecasts.

    Parameters
    ----------
    series : VisitSeries
    loggers : sequence of LoggerSeries

    Returns
    -------
    tuple of DepthTest
        Means of 24 h round the start of each visit.
    """
    found = []
    for logger in loggers:
        if logger.place != "hole" or logger.x is None or logger.y is None:
            continue
        for visit, day in zip(series.visits, series.days, strict=True):
            if visit.started is None or logger.depth_mm is None:
                continue
            half = pd.Timedelta(hours=12)
            read = mean_between(logger, "rh_pct", visit.started - half, visit.started + half)
            if read is not None:
                air = ROOM_RH_PCT if visit.air_rh_pct is None else visit.air_rh_pct
                found.append(DepthTest(logger.x, logger.y, float(day), logger.depth_mm, read, air))
    return tuple(found)
