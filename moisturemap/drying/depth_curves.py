"""What loggers say day by day: humidity at depth, vapour pressures, distance from the dew point.

Method: docs/method/drying.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from moisturemap.psychrometrics import DEW_POINT_MARGIN_K, dew_point, vapour_pressure
from moisturemap.survey import LoggerSeries

Array = NDArray[np.float64]

CURVE_COLUMNS = (
    "logger",
    "place",
    "room",
    "depth_mm",
    "date",
    "day",
    "rh_pct",
    "rh_low_pct",
    "rh_high_pct",
    "temperature_c",
    "vapour_pressure_pa",
    "air_vapour_pressure_pa",
    "drive_pa",
    "least_dew_point_margin_k",
)
"""One row a logger and day (24 h from the first visit on): mean, lowest and highest humidity; mean
temperature and vapour pressure; that of the air of its room, and the difference; and, of a surface,
its least distance from the dew point of that air."""

NO_TEST = "A logger is no test by a standard: acceptance rests on tests, whatever it reads."

SETTLED_WEEK_RH = 1.0
"""Change of humidity in a hole over a week below which it is said to stand [%RH]: two sensors
differ by as much (our choice)."""


def depth_curves(loggers: Sequence[LoggerSeries], start: datetime) -> pd.DataFrame:
    """Return what the loggers recorded, day by day; columns ``CURVE_COLUMNS``.

    Parameters
    ----------
    loggers : sequence of LoggerSeries
    start : datetime
        Of the first visit: day 0.

    Returns
    -------
    DataFrame
        One row a logger and day; [%RH], [C], [Pa] and [K].
    """
    rows: list[dict[str, object]] = []
    for logger in loggers:
        air = _air_of(logger, loggers)
        frame = _entries(logger, air, start)
        for day, part in frame.groupby(np.floor(frame["day"]).astype(int)):
            rows.append(_day(logger, int(day), part, start))
    return pd.DataFrame(rows, columns=list(CURVE_COLUMNS))


def _air_of(logger: LoggerSeries, loggers: Sequence[LoggerSeries]) -> LoggerSeries | None:
    """Return the logger of the air of the same room, else of the floor."""
    air = [one for one in loggers if one.place == "air" and one is not logger]
    same = [one for one in air if one.room == logger.room]
    return next(iter(same or [one for one in air if not one.room]), None)


def _entries(logger: LoggerSeries, air: LoggerSeries | None, start: datetime) -> pd.DataFrame:
    day = logger.days_since(start)
    rh, warmth = np.asarray(logger.rh_pct), np.asarray(logger.temperature_c)
    frame = pd.DataFrame({"day": day, "rh": rh, "t": warmth})
    frame["vapour"] = _vapour(warmth, rh)
    frame["air"] = frame["margin"] = np.nan
    if air is not None:
        frame["air"] = _at(
            air, _vapour(np.asarray(air.temperature_c), np.asarray(air.rh_pct)), logger
        )
        frame["margin"] = warmth - _at(air, _dew(air), logger)
    return frame


def _vapour(temperature: Array, rh: Array) -> Array:
    known = np.isfinite(temperature) & np.isfinite(rh)
    found = np.full(rh.shape, np.nan)
    if known.any():
        found[known] = vapour_pressure(temperature[known], rh[known])
    return found


def _dew(air: LoggerSeries) -> Array:
    rh, warmth = np.asarray(air.rh_pct), np.asarray(air.temperature_c)
    known = np.isfinite(warmth) & (rh > 0.01)
    found = np.full(rh.shape, np.nan)
    if known.any():
        found[known] = dew_point(warmth[known], rh[known])
    return found


def _at(air: LoggerSeries, values: Array, logger: LoggerSeries) -> Array:
    """Values of the air at the times of a logger; NaN outside its record and in its gaps."""
    known = np.isfinite(values)
    if not known.any():
        return np.full(len(logger.hours), np.nan)
    at = np.asarray(logger.hours) + (logger.began - air.began).total_seconds() / 3600.0
    hours = np.asarray(air.hours)[known]
    found = np.interp(at, hours, values[known], left=np.nan, right=np.nan)
    for start, stop in air.gaps:
        found[(at > start) & (at < stop)] = np.nan
    return np.asarray(found)


def _day(logger: LoggerSeries, day: int, part: pd.DataFrame, start: datetime) -> dict[str, object]:
    # of the entries, which may fill a part of the day only
    date = pd.Timestamp(start) + pd.Timedelta(days=float(part["day"].mean()))
    row: dict[str, object] = {
        "logger": logger.id,
        "place": logger.place,
        "room": logger.room,
        "depth_mm": np.nan if logger.depth_mm is None else logger.depth_mm,
        "date": date.date().isoformat(),
        "day": day,
    }
    means = {
        "rh_pct": "rh",
        "temperature_c": "t",
        "vapour_pressure_pa": "vapour",
        "air_vapour_pressure_pa": "air",
    }
    row |= {name: _mean(part["day"], part[column]) for name, column in means.items()}
    row |= {"rh_low_pct": part["rh"].min(), "rh_high_pct": part["rh"].max()}
    row["drive_pa"] = _mean(part["day"], part["vapour"] - part["air"])
    if logger.place == "surface":
        row["least_dew_point_margin_k"] = part["margin"].min()
    return row


def _mean(day: pd.Series, value: pd.Series) -> float:
    """Mean over time: entries of a thinned series stand for unequal times."""
    known = value.notna()
    if known.sum() < 2:
        return float(value[known].mean()) if known.any() else np.nan
    t, v = day[known].to_numpy(), value[known].to_numpy()
    return float(np.trapezoid(v, t) / (t[-1] - t[0]))


def curve_sentences(curves: pd.DataFrame) -> tuple[str, ...]:
    """Say where a surface came near the dew point, and how the humidity at depth went.

    Parameters
    ----------
    curves : DataFrame
        Columns ``CURVE_COLUMNS``.

    Returns
    -------
    tuple of str
    """
    holes, dew = [], []
    for name, rows in curves.groupby("logger", sort=False):
        known = rows[rows["rh_pct"].notna()]
        if len(known) > 1 and known["place"].iloc[0] == "hole":
            holes.append(_hole_sentence(str(name), known))
        near = rows[rows["least_dew_point_margin_k"] < DEW_POINT_MARGIN_K]
        if len(near):
            dew.append(_dew_sentence(str(name), near))
    return (*dew, *holes, *((NO_TEST,) if holes else ()))


def _hole_sentence(name: str, rows: pd.DataFrame) -> str:
    first, last = rows.iloc[0], rows.iloc[-1]
    week = rows[rows["day"] >= last["day"] - 7]
    slope = 7.0 * float(np.polyfit(week["day"], week["rh_pct"], 1)[0]) if len(week) > 2 else np.nan
    if not np.isfinite(slope):
        pace = ""
    elif abs(slope) < SETTLED_WEEK_RH:
        pace = f", hardly moving at the end ({slope:+.1f} %RH a week)"
    elif slope > 0.0:
        pace = f", rising by {slope:.1f} %RH a week at the end"
    else:
        pace = f", falling by {-slope:.1f} %RH a week at the end"
    return (
        f"Logger {name}, {first['depth_mm']:g} mm deep: {first['rh_pct']:.1f} %RH on "
        f"{first['date']}, {last['rh_pct']:.1f} %RH on {last['date']}{pace}."
        f"{_drive_words(float(last['drive_pa']))}"
    )


def _drive_words(drive: float) -> str:
    """Say which way water is drawn between the depth and the room."""
    if not np.isfinite(drive):
        return ""
    if drive > 0.0:
        return f" Its vapour pressure is {drive:.0f} Pa above that of the room air."
    return (
        f" Its vapour pressure is {-drive:.0f} Pa below that of the room air: the slab does not "
        "dry into such air."
    )


def _dew_sentence(name: str, near: pd.DataFrame) -> str:
    worst = near.sort_values("least_dew_point_margin_k").iloc[0]
    margin, day = float(worst["least_dew_point_margin_k"]), str(worst["date"])
    days = "1 day" if len(near) == 1 else f"{len(near)} days"
    often = f"it was less than {DEW_POINT_MARGIN_K:g} K above it on {days}"
    if margin > 0.0:
        return (
            f"Caution: the surface at logger {name} came within {margin:.1f} K of the dew point of "
            f"the air on {day}; {often}. Water may condense there, and readings may show it."
        )
    return (
        f"Caution: the surface at logger {name} was {-margin:.1f} K below the dew point of the air "
        f"on {day}, so water may have condensed on it; {often}. Readings may show that water."
    )
