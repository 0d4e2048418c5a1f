"""Odd layouts of loggers: no value is lost, no time is shifted, or the file is refused."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import openpyxl
import pandas as pd
import pytest

from moisturemap.errors import SurveyError
from moisturemap.files import (
    LoggerPlace,
    RecordOptions,
    logger_channels,
    read_logger,
    read_machine_logs,
)
from moisturemap.files.logger_clock import put_in_zone
from moisturemap.survey import LoggerSeries

WINTER = ZoneInfo("Europe/Berlin")
"""An hour ahead of UTC in March, two in summer; changed on 29 March and 25 October 2026."""

HOLE = LoggerPlace(id="H1", place="hole", x=1.0, y=1.0, depth_mm=40.0)
TEN = datetime(2026, 3, 1, 9, tzinfo=UTC)
"""Ten o'clock by the wall."""


def _read(path: Path, text: str, channel: str = "") -> tuple[LoggerSeries, tuple[str, ...]]:
    path = path / "logger.csv"
    path.write_text(text, encoding="utf-8")
    return read_logger(path, HOLE, RecordOptions(zone=WINTER), channel=channel)


@pytest.mark.parametrize(
    "lines",
    [
        "time,RH,T\n2026-03-01 10:00,50,20\n2026-03-01 11:00,51,21",
        "Time (UTC),RH,Temp\n2026-03-01 09:00,50,20\n2026-03-01 10:00,51,21",
        "UTC time,Local time,RH,T (C)\n2026-03-01 09:00,10:00,50,20\n2026-03-01 10:00,11:00,51,21",
        "time,utc_offset,RH,T\n2026-03-01 04:00,-5,50,20\n2026-03-01 05:00,-05:00,51,21",
        "time,RH,T\n2026-03-01T10:00+01:00,50,20\n2026-03-01 11:00,51,21",
        "time,RH,T\n2026-03-01 10:00 CET,50,20\n2026-03-01 10:00 UTC,51,21",
        "Date,Time,RH,T\n2026-03-01,10:00,50,20\n,11:00,51,21",
        "Date,Time,RH,T\n2026-03-01 10:00,10:00,50,20\n2026-03-01 11:00,11:00,51,21",
        "Date,Time,RH,T\n1-Mar-2026,10:00 AM,50,20\n1-Mar-2026,11:00 AM,51,21",
        '"time","RH","T"\n"Mar 1, 2026 10:00 AM",50,20\n"1. März 2026 11:00",51,21',
        "Date,RH,T\n46082.4166667,50,20\n46082.4583333,51,21",
        "timestamp,RH,T\n1772355600,50,20\n1772359200000,51,21",
        "Date/Time,RH,Temp\n,%,°F\n2026-03-01 10:00,50,68\n2026-03-01 11:00,51,69.8",
        "time,RH,T\n2026-03-01 10:00,0.50,20\n2026-03-01 11:00,0.51,21",
        "time,RH,T\n2026-03-01 10:00,50,20\n2026-03-01 11:00,51,21\nMax 51,51,21\nMean,50.5,20.5",
    ],
)
def test_an_odd_layout_gives_the_same_two_entries(tmp_path: Path, lines: str) -> None:
    """50 %RH and 20 C at ten, 51 %RH and 21 C an hour later."""
    found, _ = _read(tmp_path, lines + "\n")
    assert found.began == TEN
    assert found.hours == pytest.approx((0.0, 1.0), abs=1e-3)
    assert found.rh_pct == pytest.approx((50.0, 51.0))
    assert found.temperature_c == pytest.approx((20.0, 21.0))


def test_midnight_as_24_is_the_next_day(tmp_path: Path) -> None:
    """And stays in order."""
    found, _ = _read(tmp_path, "time,RH\n2026-03-01 23:00,50\n2026-03-01 24:00,51\n")
    assert found.hours == (0.0, 1.0)


@pytest.mark.parametrize(
    ("heads", "names"),
    [
        ("time,Temp,RH,Temp,RH", ("1", "2")),
        (",Room,,Hole,\ntime,Temp,RH,Temp,RH", ("Room", "Hole")),
        ("time,T int (C),RH int (%),T ext (C),RH ext (%)", ("int", "ext")),
    ],
)
def test_a_second_channel_is_not_lost(tmp_path: Path, heads: str, names: tuple[str, ...]) -> None:
    """Headings that are the same are told by the row above, or numbered."""
    text = f"{heads}\n2026-03-01 10:00,20,50,21,60\n"
    with pytest.raises(SurveyError, match=f"several channels.*{', '.join(names)}"):
        _read(tmp_path, text)
    assert logger_channels(tmp_path / "logger.csv") == names
    found, _ = _read(tmp_path, text, names[1])
    assert (found.rh_pct, found.temperature_c) == ((60.0,), (21.0,))


def test_sensors_below_each_other_are_not_mixed(tmp_path: Path) -> None:
    """By their serial number; without a column that tells them the file is refused."""
    rows = "".join(f"2026-03-01 1{k}:00,S{s},{50 + s}\n" for k in range(3) for s in (1, 2))
    found, _ = _read(tmp_path, f"time,S/N,RH\n{rows}", "S2")
    assert found.rh_pct == (52.0, 52.0, 52.0)
    with pytest.raises(SurveyError, match="more than once with other values"):
        _read(tmp_path, f"time,what,RH\n{rows}")


def test_temperatures_that_must_be_fahrenheit_are_asked_about(tmp_path: Path) -> None:
    """Without a unit the file is refused; a stated Celsius is doubted, Fahrenheit converted."""
    rows = "2026-03-01 10:00,68.0,50\n2026-03-01 11:00,68.4,51\n"
    with pytest.raises(SurveyError, match=r"too warm for degrees Celsius.*temperature \(F\)"):
        _read(tmp_path, f"time,temperature,rh\n{rows}")
    found, notes = _read(tmp_path, f"time,temperature (C),rh\n{rows}")
    assert found.temperature_c[0] == 68.0
    assert any("check whether they are in F" in note for note in notes)
    assert _read(tmp_path, f"time,temperature (F),rh\n{rows}")[0].temperature_c[0] == 20.0
    file, stated = tmp_path / "logger.csv", RecordOptions(zone=WINTER, temperature_unit="F")
    file.write_text(f"time,temperature,rh\n{rows}", encoding="utf-8")
    assert read_logger(file, HOLE, stated)[0].temperature_c[0] == 20.0


def test_a_set_point_is_no_reading_and_an_unnamed_channel_has_a_number(tmp_path: Path) -> None:
    """Of RH and RH 2 the first is 1."""
    _, _ = _read(tmp_path, "time,rh setpoint,temp,rh\n2026-03-01 10:00,50,20,85\n")
    text = "time,RH,RH 2,T\n2026-03-01 10:00,85,60,20\n"
    found, _ = _read(tmp_path, text, "1")
    assert (found.rh_pct, found.temperature_c) == ((85.0,), (20.0,))
    assert _read(tmp_path, text, "2")[0].rh_pct == (60.0,)


def test_one_channel_need_not_be_named(tmp_path: Path) -> None:
    """Also where humidity and temperature have sensors of their own."""
    _read(tmp_path, '"Date Time","Temp, °C (S/N: 11)","RH, % (S/N: 12)"\n2026-03-01 10:00,20,50\n')
    assert logger_channels(tmp_path / "logger.csv") == ()


def test_values_without_a_time_are_said(tmp_path: Path) -> None:
    """And entries longer than the headings are refused."""
    _, notes = _read(tmp_path, "time,RH\n2026-03-01 10:00,50\n,51\n2026-03-01 12:00,52\n")
    assert any("1 row holds values without a time" in note and "row 3" in note for note in notes)
    with pytest.raises(SurveyError, match="more values than there are headings"):
        _read(tmp_path, "time,RH,T\n01.03.2026 10:00,50,5,20,1\n")


def test_a_workbook_with_numbers_for_times(tmp_path: Path) -> None:
    """A day and a share of a day, and a percentage that is stored as a share."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Date", "Time", "RH"])
    for share in (0.4166666667, 0.4583333333):
        sheet.append([date(2026, 3, 1), share, 0.505])
    book.save(tmp_path / "logger.xlsx")
    found, notes = read_logger(tmp_path / "logger.xlsx", HOLE, RecordOptions(zone=WINTER))
    assert found.began == TEN
    assert found.hours == pytest.approx((0.0, 1.0))
    assert found.rh_pct == pytest.approx((50.5, 50.5))
    assert any("share of 1" in note for note in notes)


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/New_York"])
@pytest.mark.parametrize("minutes", [5, 15, 60, 90, 120, 180, 360])
@pytest.mark.parametrize("follows", [True, False])
@pytest.mark.parametrize("month", [3, 10])
def test_the_even_step_tells_whether_the_clock_was_changed(
    zone: str, minutes: int, follows: bool, month: int
) -> None:
    """Thirty days of entries over a change, with a gap elsewhere, newest first as well."""
    here = ZoneInfo(zone)
    start = datetime(2026, month, 4, 20, 7, tzinfo=here)
    offset = start.utcoffset() or timedelta()
    steps = [k for k in range(30 * 1440 // minutes) if not 5 < k < 9]
    true = [start.astimezone(UTC) + timedelta(minutes=minutes * k) for k in steps]
    wall = [(t.astimezone(here) if follows else t + offset).replace(tzinfo=None) for t in true]
    for order in (slice(None), slice(None, None, -1)):
        written = pd.Series(pd.to_datetime(wall[order]))
        found, _ = put_in_zone(written, here, "x")
        late = found.sort_index() - pd.Series(pd.to_datetime(true[order]))
        assert np.abs(late.dt.total_seconds()).max() == 0.0


def test_litres_and_kwh_in_the_unit_of_the_heading(tmp_path: Path) -> None:
    """Watt-hours, imperial gallons, and a row that stands twice."""
    path = tmp_path / "log.csv"
    row = "2026-03-01 10:00,2,3000\n"
    path.write_text(f"time,water (imperial gallons),energy (Wh)\n{row}{row}", encoding="utf-8")
    (log,), notes = read_machine_logs(path, RecordOptions(zone=UTC), machine="D1")
    assert len(log.entries) == 1
    assert log.entries[0].litres == pytest.approx(9.09218)
    assert log.entries[0].energy_kwh == pytest.approx(3.0)
    assert any("1 row stands twice for D1" in note for note in notes)


def test_running_hours_beyond_the_time_gone_by_are_a_counter(tmp_path: Path) -> None:
    """Though the heading does not say so; hours of a day stay what they are."""
    path = tmp_path / "log.csv"
    head = "Datum;Gerät;Liter;Betriebsstunden\n"
    rows = "05.03.2026;D1;12,5;{}\n06.03.2026;D1;10,5;{}\n07.03.2026;D1;9,5;{}\n"
    for states, done in (((100, 124, 148), (None, 24.0, 24.0)), ((24, 23, 24), (24.0, 23.0, 24.0))):
        path.write_text(head + rows.format(*states), encoding="utf-8")
        (log,), notes = read_machine_logs(path, RecordOptions(zone=UTC))
        assert tuple(one.run_hours for one in log.entries) == done
        assert any("taken for a counter" in note for note in notes) is (states[0] == 100)
