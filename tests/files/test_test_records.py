"""Calibrated tests and machines from tables."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from moisturemap.errors import SurveyError
from moisturemap.files import RecordOptions, read_equipment, read_tests
from moisturemap.survey import TEST_COLUMNS, TEST_FIELDS, TEST_METHODS

Writer = Callable[..., Path]


def test_every_field_goes_by_its_own_name(table: Writer) -> None:
    """A table with every field there is reads each by its kind."""
    example = {"number": "50", "time": "2026-03-04T10:00Z", "flag": "yes", "text": "a"}
    row = {name: example[field.kind] for name, field in TEST_FIELDS.items()}
    row |= {"method": "in-situ-rh", "unit": "%RH", "pressure_bar": "1"}
    tests, notes = read_tests(table(",".join(row) + "\n" + ",".join(row.values()) + "\n"))
    assert notes == ()
    for name, field in TEST_FIELDS.items():
        value = tests[name].iloc[0]
        if field.kind == "number":
            assert isinstance(value, float)
        elif field.kind == "time":
            assert value.tzinfo is not None
        elif field.kind == "flag":
            assert value is True or value == True  # noqa: E712 - numpy's own yes
        else:
            assert isinstance(value, str)


def test_columns_every_table_has_are_there_whatever_the_file_states(table: Writer) -> None:
    """Blank where the file is silent."""
    tests, _ = read_tests(table("method,x,y,value,unit\nmver,1,2,4.2,lb\n"))
    assert set(TEST_COLUMNS) - {"test", "visit"} <= set(tests)
    assert tests["unit"].tolist() == ["lb"]
    assert np.isnan(tests["depth_mm"].iloc[0])
    assert tests["read"].isna().all()


@pytest.mark.parametrize("method", TEST_METHODS)
def test_methods_go_by_their_names_and_the_words_of_the_trade(table: Writer, method: str) -> None:
    """Key and synonyms, whatever the case."""
    for word in (method, method.upper(), *TEST_METHODS[method].synonyms):
        unit = TEST_METHODS[method].units[0]
        tests, _ = read_tests(table(f'method,value,unit\n"{word}",5,{unit}\n'))
        assert tests["method"].tolist() == [method]


def test_synonyms_never_stand_for_two_methods() -> None:
    """A word that meant two methods would be read as either."""
    words = [word for method in TEST_METHODS.values() for word in (method.key, *method.synonyms)]
    assert len({word.casefold() for word in words}) == len(words)


@pytest.mark.parametrize(("x", "message"), [('3\' 6""', "x cannot be"), ("1.500", "a thousand")])
def test_places_of_tests_that_their_unit_contradicts_are_refused(
    table: Writer, x: str, message: str
) -> None:
    """Feet, and what may be a thousand, in millimetres."""
    file = table(f'method,x,y,value,unit\nmver,"{x}",2000,4,lb\n')
    with pytest.raises(SurveyError, match=message) as refused:
        read_tests(file, RecordOptions(coordinates="mm"))
    assert "row 2" in str(refused.value.place)


def test_german_headings_with_decimal_commas(table: Writer) -> None:
    """A carbide table as a screed layer writes it."""
    head = "Bohrung;Verfahren;Tiefe (mm);Wert;Einheit;Einwaage;Bemerkung"
    tests, _ = read_tests(table(f"{head}\nB1;CM;45;1,8;CM-%;50;Mitte\n"))
    row = tests.iloc[0]
    assert (row["hole"], row["method"], row["depth_mm"], row["value"], row["sample_mass_g"]) == (
        "B1",
        "carbide",
        45,
        1.8,
        50,
    )


def test_columns_that_are_not_known_are_kept_as_text_and_named(table: Writer) -> None:
    """Nothing is lost."""
    tests, notes = read_tests(table("method,value,weather\npin,12,rain\n"))
    assert tests["weather"].tolist() == ["rain"]
    assert any("weather" in note for note in notes)


def test_a_probe_at_the_end_of_its_scale_is_a_bound(table: Writer) -> None:
    """``>98`` keeps its side."""
    tests, _ = read_tests(table("method,value\nin-situ-rh,>98\n"))
    assert tests["value"].tolist() == [98]
    assert tests["censored"].tolist() == ["above"]


def test_positions_in_feet_become_metres_and_may_be_absent_together(table: Writer) -> None:
    """A test without a place is read, and it is said."""
    path = table("method,x,y,value\npin,10,20,12\npin,,,13\n")
    tests, notes = read_tests(path, RecordOptions(coordinates="ft"))
    assert tests["x"].tolist()[0] == pytest.approx(3.048)
    assert np.isnan(tests["x"].iloc[1])
    assert any("state no place" in note for note in notes)


def test_a_hole_written_twice_is_kept_and_said(table: Writer) -> None:
    """Copied values are what a reviewer looks for."""
    tests, notes = read_tests(table("hole,method,value\nH1,pin,12\nH1,pin,12\n"))
    assert len(tests) == 2
    assert any("rows 3 repeat hole, method" in note for note in notes)


def test_depths_of_one_hole_read_together_are_no_repeats(table: Writer) -> None:
    """Three depths at one time and place are three tests."""
    rows = "".join(f"H1,1,2,in-situ-rh,{depth},80\n" for depth in (20, 60, 120))
    _, notes = read_tests(table(f"hole,x,y,method,depth_mm,value\n{rows}"))
    assert not any("repeat" in note for note in notes)


def test_one_name_at_two_places_is_said(table: Writer) -> None:
    """Two holes called 1 are two holes."""
    rows = "1,0.6,0.6,in-situ-rh,60,92\n1,5.4,3.4,in-situ-rh,60,70\n"
    _, notes = read_tests(table(f"hole,x,y,method,depth_mm,value\n{rows}"))
    assert any("5.6 m apart '1'" in note for note in notes)


def test_every_method_asks_only_for_fields_that_exist() -> None:
    """Requirements, options and instrument kinds are all known words."""
    from moisturemap.survey import INSTRUMENT_KINDS

    for method in TEST_METHODS.values():
        named = [one for group in method.required for part in group for one in part.split("+")]
        assert set(named) <= set(TEST_FIELDS)
        assert set(method.optional) <= set(TEST_FIELDS)
        assert set(method.instrument_kinds) <= set(INSTRUMENT_KINDS)
        assert set(named) <= set(method.fields)


def test_machines_are_named_and_their_kinds_understood(table: Writer) -> None:
    """Names are made where none is written; a direction may be absent."""
    machines, _ = read_equipment(table("type,x,y,direction\nfan,1,2,90\nTrockner,3,4,\n"))
    assert machines["kind"].tolist() == ["air-mover", "dehumidifier"]
    assert machines["machine"].tolist() == ["M1", "M2"]
    assert np.isnan(machines["direction_deg"].iloc[1])


@pytest.mark.parametrize(
    ("heading", "typed", "column", "value"),
    [
        ("depth (in)", "1.5", "depth_mm", 38.1),
        ("depth [cm]", "4", "depth_mm", 40.0),
        ("depth_in", "1.5", "depth_mm", 38.1),
        ("depth_mm", "40", "depth_mm", 40.0),
        ("thickness (in)", "4", "thickness_mm", 101.6),
        ("temperature (F)", "68", "temperature_c", 20.0),
        ("temperature (°F)", "68", "temperature_c", 20.0),
        ("temperature_f", "68", "temperature_c", 20.0),
        ("air temperature (degF)", "68", "air_temperature_c", 20.0),
        ("temperature (°C)", "20", "temperature_c", 20.0),
        ("temperature_c", "20", "temperature_c", 20.0),
    ],
)
def test_units_of_a_heading_are_read(
    table: Writer, heading: str, typed: str, column: str, value: float
) -> None:
    """1 in = 25.4 mm and t/F = 1.8 t/C + 32 (NIST SP 811, appendix B): 1.6 in is not 1.6 mm."""
    tests, _ = read_tests(table(f"method,value,{heading}\nin-situ-rh,80,{typed}\n"))
    assert tests[column].iloc[0] == pytest.approx(value)


def test_german_headings_are_read_with_their_umlauts(table: Writer) -> None:
    """Messgerät and Prüfer as well as Messgeraet and Pruefer."""
    head = "Bohrung;Prüfverfahren;Tiefe (mm);Wert;Einheit;Messgerät;Prüfer"
    tests, _ = read_tests(table(f"{head}\nB1;CM;45;1,8;CM-%;P7;AK\n"))
    assert tests[["method", "instrument", "operator"]].iloc[0].tolist() == ["carbide", "P7", "AK"]


@pytest.mark.parametrize("heading", ["Bohrloch", "Loch", "Messstelle", "Prüfstelle"])
def test_german_headings_name_the_hole(table: Writer, heading: str) -> None:
    """A hole without its name cannot be told from the others."""
    head = f"{heading};Verfahren;Tiefe (mm);Wert;Einheit"
    tests, _ = read_tests(table(f"{head}\nB1;CM;45;1,8;CM-%\n"))
    assert list(tests["hole"]) == ["B1"]


@pytest.mark.parametrize(
    ("heading", "value"),
    [
        ("x (yd)", "1"),
        ("depth (dm)", "0.6"),
        ("Depth %", "40"),
        ("temperature (K)", "293"),
        ("x (steps)", "4"),
    ],
)
def test_a_unit_that_is_not_converted_is_refused(table: Writer, heading: str, value: str) -> None:
    """It was dropped without a word: 1.1 yd stood at 1.1 m."""
    with pytest.raises(SurveyError, match="not converted"):
        read_tests(table(f"method,{heading}\nin-situ-rh,{value}\n"))


@pytest.mark.parametrize("heading", ['depth (")', "Tiefe (Zoll)", "depth (in)"])
def test_inches_go_by_their_sign_and_their_german_name(table: Writer, heading: str) -> None:
    """Two inches are 50.8 mm."""
    quoted = heading.replace('"', '""')
    tests, _ = read_tests(table(f'method,"{quoted}"\nin-situ-rh,2\n'))
    assert tests["depth_mm"].tolist() == pytest.approx([50.8])


@pytest.mark.parametrize("heading", ["depth_mm", "x", "temperature_c", "thickness_mm"])
def test_a_share_is_no_length_and_no_temperature(table: Writer, heading: str) -> None:
    """60 % of a slab is not 60 mm."""
    other = "y" if heading == "x" else "x"
    with pytest.raises(SurveyError, match="60 %"):
        read_tests(table(f"method,{heading},{other},value\nin-situ-rh,60 %,1,74 %\n"))


@pytest.mark.parametrize(
    "heading", ["RH reading", "Final reading", "value 1", "2. Messwert", "reading_3"]
)
def test_a_second_column_of_results_is_refused(table: Writer, heading: str) -> None:
    """Kept as text it let the lower of two readings count."""
    with pytest.raises(SurveyError, match="may hold results"):
        read_tests(table(f"method,value,{heading}\nin-situ-rh,74,91\n"))


@pytest.mark.parametrize("heading", ["probe no", "reading depth", "serial", "air pressure"])
def test_other_columns_of_numbers_are_kept_as_text(table: Writer, heading: str) -> None:
    """And a column of results that holds no number."""
    tests, _ = read_tests(table(f"method,value,{heading},RH reading\nin-situ-rh,74,91,-\n"))
    assert tests[heading].tolist() == ["91"]


def test_a_time_of_day_with_a_point_is_not_a_share_of_an_hour(table: Writer) -> None:
    """10.55 is five to eleven; 10.5 may be half past ten, and is refused."""
    text = "method,drilled\nin-situ-rh,2026-03-04 {}\n"
    tests, _ = read_tests(table(text.format("10.55")))
    assert tests["drilled"].iloc[0] == pd.Timestamp("2026-03-04 10:55", tz="UTC")
    tests, _ = read_tests(table(text.format("9:05")))
    assert tests["drilled"].iloc[0] == pd.Timestamp("2026-03-04 09:05", tz="UTC")
    tests, _ = read_tests(table(text.format("9.05.30")))
    assert tests["drilled"].iloc[0] == pd.Timestamp("2026-03-04 09:05:30", tz="UTC")
    with pytest.raises(SurveyError, match="not a date or time"):
        read_tests(table(text.format("10.5")))


def test_an_emission_without_unit_is_refused(table: Writer) -> None:
    """Its two units are a factor of 4.88 apart: 12 may be far below a limit or above it."""
    with pytest.raises(SurveyError, match="unit of a mver test has to be stated"):
        read_tests(table("method,x,y,value\nmver,1,2,12\n"))


def test_a_wait_begins_in_the_later_of_an_hour_that_comes_twice(table: Writer) -> None:
    """The clocks of London go back at 02:00 on 26 October 2025."""
    text = "method,value,placed,read\nhood-rh,68,{0},{0}\n"
    options = RecordOptions(zone=ZoneInfo("Europe/London"))
    for stated, placed, read in (
        ("2025-10-26 01:30", "01:30", "00:30"),
        ("2025-10-26 03:30", "03:30", "03:30"),
        ("2025-03-30 01:30", "01:30", "01:30"),
    ):
        tests, _ = read_tests(table(text.format(stated)), options=options)
        shown = [f"{tests[name].iloc[0]:%H:%M}" for name in ("placed", "read")]
        assert shown == [placed, read]
