"""Loggers and machine logs: layouts of all kinds, clocks, gaps, thinning."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from moisturemap.errors import SurveyError
from moisturemap.files import LoggerPlace, RecordOptions, read_logger, read_machine_logs
from moisturemap.files.logger import find_gaps, thin
from moisturemap.survey import LoggerSeries

SUMMER = ZoneInfo("Europe/Lisbon")
"""UTC in winter, an hour more in summer; changed on 29 March and 25 October 2026 at 1:00 UTC."""

HOLE = LoggerPlace(id="H1", place="hole", x=1.0, y=1.0, depth_mm=40.0)


def _read(
    folder: Path, text: str, channel: str = "", **options: object
) -> tuple[LoggerSeries, tuple[str, ...]]:
    path = folder / "logger.csv"
    path.write_text(text, encoding="utf-8")
    given_ = {"zone": UTC, **options}
    return read_logger(path, HOLE, RecordOptions(**given_), channel=channel)  # type: ignore[arg-type]


def test_lines_above_day_and_clock_apart_and_decimal_commas(tmp_path: Path) -> None:
    """A dew point beside is no temperature, and a mark of a fault is not a value."""
    found, notes = _read(
        tmp_path,
        "Logger: X12;;;\nSerial;0123;;\n;;;\n"
        "Datum;Uhrzeit;Temperatur [°C];rel. Feuchte [%];Taupunkt [°C]\n"
        "01.03.2026;08:00:00;18,5;91,2;17,0\n"
        "01.03.2026;08:10:00;18,6;---;17,0\n"
        "01.03.2026;08:20:00;18,7;91,0;17,0\n",
    )
    assert found.began == datetime(2026, 3, 1, 8, tzinfo=UTC)
    assert found.hours == pytest.approx((0.0, 1 / 6, 1 / 3))
    assert found.rh_pct == pytest.approx((91.2, np.nan, 91.0), nan_ok=True)
    assert found.temperature_c == (18.5, 18.6, 18.7)
    assert any("row 6 '---'" in note for note in notes)


def test_the_heading_tells_offset_and_fahrenheit(tmp_path: Path) -> None:
    """Month before day shows in a day above 12."""
    found, _ = _read(
        tmp_path,
        '"Plot Title: hall"\n'
        '"#","Date Time, GMT+02:00","Temp, °F (S/N: 2034)","RH, % (S/N: 2034)"\n'
        "1,03/14/26 09:00:00 AM,68.0,55.3\n2,03/14/26 09:30:00 PM,69.8,55.1\n",
    )
    assert found.began == datetime(2026, 3, 14, 7, tzinfo=UTC)
    assert found.temperature_c == pytest.approx((20.0, 21.0))
    assert found.hours == (0.0, 12.5)


def test_channels_side_by_side_are_told_apart(tmp_path: Path) -> None:
    """And a file with several asks which one is meant."""
    text = (
        "timestamp,H3 RH (%),H3 Temp (°C),H4 RH (%),H4 Temp (°C)\n"
        "2026-03-01T00:00:00Z,93.1,18.0,90.0,18.1\n"
    )
    assert _read(tmp_path, text, "h4")[0].rh_pct == (90.0,)
    with pytest.raises(SurveyError, match=r"several channels.*H3, H4"):
        _read(tmp_path, text)
    with pytest.raises(SurveyError, match=r"no such channel; did you mean 'H3'"):
        _read(tmp_path, text, "H33")


def test_channels_below_each_other_are_told_apart(tmp_path: Path) -> None:
    """By a column that names the sensor."""
    text = "time,sensor,humidity\n2026-03-01 00:00,A,50\n2026-03-01 00:00,B,60\n"
    assert _read(tmp_path, text, "B")[0].rh_pct == (60.0,)


def test_a_workbook_with_day_and_time_in_two_cells(tmp_path: Path) -> None:
    """And lines above its headings."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["Export"], [], ["Date", "Time", "RH (%)", "Temp (°C)"]):
        sheet.append(row)
    for hour in (8, 9, 10):
        sheet.append([date(2026, 3, 1), time(hour), 88.5, 19.0])
    book.save(tmp_path / "logger.xlsx")
    found, _ = read_logger(tmp_path / "logger.xlsx", HOLE, RecordOptions(zone=UTC))
    assert found.began == datetime(2026, 3, 1, 8, tzinfo=UTC)
    assert found.hours == (0.0, 1.0, 2.0)


@pytest.mark.parametrize("start", [datetime(2026, 10, 24, 20), datetime(2026, 3, 28, 20)])
@pytest.mark.parametrize("minutes", [30, 60])
@pytest.mark.parametrize("follows", [True, False])
def test_a_change_of_the_clock_loses_no_hour(
    tmp_path: Path, start: datetime, minutes: int, follows: bool
) -> None:
    """Whether the logger follows it or not: entries stay one step apart."""
    first = start.replace(tzinfo=SUMMER)
    offset = first.utcoffset() or timedelta()
    rows = []
    for k in range(30):
        at = first.astimezone(UTC) + timedelta(minutes=minutes * k)
        wall = at.astimezone(SUMMER) if follows else at + offset
        rows.append(f"{wall:%Y-%m-%d %H:%M},{50 + k}")
    found, notes = _read(tmp_path, "time,rh\n" + "\n".join(rows), zone=SUMMER)
    assert found.began == first.astimezone(UTC)
    assert np.diff(found.hours) == pytest.approx(minutes / 60.0)
    assert any("was not changed" in note for note in notes) is not follows


def test_gaps_are_named_and_newest_first_is_turned(tmp_path: Path) -> None:
    """The longest with its start."""
    rows = [f"2026-03-{day:02d} 10:00,50" for day in (20, 12, 11, 10, 9, 8)]
    found, notes = _read(tmp_path, "time,rh\n" + "\n".join(rows))
    assert found.began.day == 8
    assert found.gaps == ((96.0, 288.0),)
    assert any("the longest of 8 days from 2026-03-12" in note for note in notes)


def test_no_headings_no_values_and_a_doubtful_date_are_refused(tmp_path: Path) -> None:
    """Naming what is allowed."""
    with pytest.raises(SurveyError, match="no heading row with a time"):
        _read(tmp_path, "a,b\n1,2\n")
    with pytest.raises(SurveyError, match="no entry holds"):
        _read(tmp_path, "time,rh\n2026-03-01 10:00,6553.5\n")
    with pytest.raises(SurveyError, match="which is the day and which the month"):
        _read(tmp_path, "Date,RH\n03/04/2026 10:00,50\n")


@given(
    arrays(float, st.integers(2, 400), elements=st.floats(0, 100)),
    st.integers(20, 200),
)
def test_thinning_keeps_ends_and_extremes(values: np.ndarray, most: int) -> None:
    """Of every series, however it is spread."""
    hours = np.arange(values.size, dtype=float) ** 1.5
    kept = thin(hours, [values], most)
    assert kept.size <= max(most, min(values.size, most)) + 2
    assert values[kept].max() == values.max()
    assert values[kept].min() == values.min()
    assert kept[0] == 0
    assert kept[-1] == values.size - 1


def test_a_pause_of_three_steps_is_no_gap() -> None:
    """A longer one is."""
    assert find_gaps(np.array([0.0, 1.0, 2.0, 5.0])) == ()
    assert find_gaps(np.array([0.0, 1.0, 2.0, 5.5])) == ((2.0, 5.5),)


def _logs(folder: Path, text: str, machine: str = "") -> tuple[object, ...]:
    path = folder / "machines.csv"
    path.write_text(text, encoding="utf-8")
    return read_machine_logs(path, RecordOptions(zone=UTC), machine=machine)


def test_counters_are_differenced_and_pints_are_litres(tmp_path: Path) -> None:
    """NIST Handbook 44, appendix C: a US liquid pint is 0.473176 l. A counter that fell is said."""
    (first, second), notes = _logs(
        tmp_path,
        "Date,Machine,Water (pints),Hour meter,kWh total\n"
        "2026-03-01 08:00,D1,,100,1000\n2026-03-02 08:00,D1,30,124,1018\n"
        "2026-03-02 08:00,D2,20,50,10\n2026-03-03 08:00,D1,28,20,1030\n",
    )
    span = (datetime(2026, 3, 1, tzinfo=UTC), datetime(2026, 3, 9, tzinfo=UTC))
    assert first.total("litres", *span) == pytest.approx(58 * 0.473176, rel=1e-5)
    assert first.total("run_hours", *span) == pytest.approx(44.0)
    assert first.total("energy_kwh", *span) == pytest.approx(30.0)
    assert second.total("run_hours", *span) is None
    assert any("'Hour meter' of D1 fell once" in note for note in notes)


def test_a_day_without_time_is_counted_to_its_end(tmp_path: Path) -> None:
    """What was taken out on the first belongs after the morning of the first."""
    (log,), _ = _logs(tmp_path, "date;litres\n2026-03-01;12,5\n", "D1")
    assert log.entries[0].when == datetime(2026, 3, 2, tzinfo=UTC)


def test_a_log_that_tells_nothing_is_refused(tmp_path: Path) -> None:
    """Or whose machine is not named, or that takes out less than nothing."""
    with pytest.raises(SurveyError, match="neither litres nor hours"):
        _logs(tmp_path, "date,foo\n2026-03-01,3\n", "D1")
    with pytest.raises(SurveyError, match="which machine"):
        _logs(tmp_path, "date,litres\n2026-03-01,3\n")
    with pytest.raises(SurveyError, match="row 2, column litres"):
        _logs(tmp_path, "date,litres\n2026-03-01,-3\n", "D1")
