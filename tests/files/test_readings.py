"""Readings from text, however it was written."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from moisturemap.errors import InputError
from moisturemap.files import ReadingOptions, read_readings

Writer = Callable[..., Path]


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]
)
def test_every_usual_encoding_is_read(table: Writer, encoding: str) -> None:
    """Accents survive with and without a byte order mark."""
    readings, notes = read_readings(table("x,y,value,room\n1,2,40,Küche\n".encode(encoding)))
    assert list(readings["room"]) == ["Küche"]
    assert bool(notes) is (encoding == "cp1252")


@pytest.mark.parametrize(
    ("mark", "delimiter"),
    [
        *itertools.product(".", ",;\t"),
        *itertools.product(",", ";\t"),
    ],
)
def test_every_delimiter_and_decimal_mark_is_read(table: Writer, mark: str, delimiter: str) -> None:
    """The same two readings, whatever separates cells and decimals."""
    rows = ["x|y|value", f"1{mark}5|0{mark}25|40{mark}5", "2|1|41"]
    readings, _ = read_readings(table("\r\n".join(rows).replace("|", delimiter)))
    np.testing.assert_allclose(readings[["x", "y", "value"]], [[1.5, 0.25, 40.5], [2, 1, 41]])


def test_a_comma_in_quotes_is_a_decimal_comma(table: Writer) -> None:
    """Spreadsheets quote decimal commas in comma-separated text."""
    readings, _ = read_readings(table('x,y,value\n"1,5","0,5",40\n'))
    assert readings["x"].tolist() == [1.5]


def test_semicolons_in_notes_do_not_split_a_comma_file(table: Writer) -> None:
    """The delimiter is what splits every line alike."""
    readings, _ = read_readings(table("x,y,value,note\n1,1,40,damp; by door\n2,1,41,\n"))
    assert readings["note"].tolist() == ["damp; by door", ""]


@pytest.mark.parametrize(
    "heading",
    [
        "x,y,value",
        "X [m];Y [m];Messwert",
        "Easting,Northing,Meter reading",
        "coord x,coord y,lecture",
        "x_m,y_m,WME",
        "Rechtswert;Hochwert;Anzeige",
        "X (m),Y (m),Moisture (rel)",
        "abscisse;ordonnée;valeur",
    ],
)
def test_headings_of_the_trade_are_understood(table: Writer, heading: str) -> None:
    """English, German and French headings, with or without units."""
    delimiter = ";" if ";" in heading else ","
    readings, _ = read_readings(table(f"{heading}\n{delimiter.join(['1', '2', '40'])}\n"))
    assert readings[["x", "y", "value"]].to_numpy().tolist() == [[1, 2, 40]]


@pytest.mark.parametrize(
    ("written", "value", "censored"),
    [
        (">999", 999, "above"),
        (">= 100", 100, "above"),
        ("≥100", 100, "above"),
        ("OL", None, "above"),
        ("O.L", None, "above"),
        ("FS", None, "above"),
        ("OR", None, "above"),
        ("O/R", None, "above"),
        ("++++", None, "above"),
        (">", None, "above"),
        ("----", None, ""),
        ("over", None, "above"),
        ("full scale", None, "above"),
        ("<5", 5, "below"),
        ("≤ 5", 5, "below"),
        ("LO", None, "below"),
        ("40", 40, ""),
        ("40 %", 40, ""),
        ("−3", -3, ""),
        ("1e2", 100, ""),
        ("1'234", 1234, ""),
        ("", None, ""),
        ("dry", None, ""),
        ("inf", None, ""),
        ("nan", None, ""),
        ("4O", None, ""),
    ],
)
def test_a_value_is_read_as_a_number_a_bound_or_not_at_all(
    table: Writer, written: str, value: float | None, censored: str
) -> None:
    """Full-scale marks are bounds; words that mean nothing give no number."""
    readings, _ = read_readings(table(f"x;y;value\n1;1;{written}\n"))
    row = readings.iloc[0]
    assert row["raw"] == written
    assert row["censored"] == censored
    np.testing.assert_equal(row["value"], np.nan if value is None else value)


@pytest.mark.parametrize(
    ("unit", "written", "metres"),
    [
        ("m", "2.5", 2.5),
        ("mm", "2500", 2.5),
        ("cm", "250", 2.5),
        ("ft", "10", 3.048),
        ("in", "100", 2.54),
        ("ft", "12' 6\"", 3.81),
        ("ft", "12'", 3.6576),
        ("ft", "8 ft 3 1/2 in", 2.5273),
        ("in", "12' 6\"", 3.81),
    ],
)
def test_positions_become_metres(table: Writer, unit: str, written: str, metres: float) -> None:
    """International foot and inch: 0.3048 m and 0.0254 m exactly (1959 agreement)."""
    quoted = '"' + written.replace('"', '""') + '"'
    readings, _ = read_readings(
        table(f"x,y,value\n{quoted},0,40\n"), ReadingOptions(coordinates=unit)
    )
    assert readings["x"].tolist() == pytest.approx([metres])


@pytest.mark.parametrize("unit", ["m", "cm", "mm"])
def test_feet_and_inches_are_refused_where_positions_are_metric(table: Writer, unit: str) -> None:
    """They were read as so many metres: the wet floor lay elsewhere."""
    written = table('x,y,value\n3,4,40\n"3\' 6""",4,45\n')
    with pytest.raises(InputError, match="x is not a number") as refused:
        read_readings(written, ReadingOptions(coordinates=unit))
    assert refused.value.place == "row 3, column x"
    assert refused.value.value == "3' 6\""
    assert f"in {unit}; feet and inches where" in str(refused.value.allowed)


@pytest.mark.parametrize(
    "written",
    [
        "x;y;value\n1.000;1.500;30\n2.500;1.500;31\n",
        "x;y;value\n500;1.500;30\n",
        ";500;1.500\n500;30;31\n1000;32;33\n",
    ],
)
@pytest.mark.parametrize("unit", ["mm", "cm", "in"])
def test_a_dotted_thousand_in_small_units_is_asked_about(
    table: Writer, written: str, unit: str
) -> None:
    """As 1,500 is; all readings came to lie in the corner. In metres it is a decimal."""
    file = table(written)
    with pytest.raises(InputError, match="a thousand or a decimal"):
        read_readings(file, ReadingOptions(coordinates=unit))
    stated, _ = read_readings(file, ReadingOptions(coordinates=unit, decimal="."))
    metres, _ = read_readings(file)
    assert 1.5 in {*metres["x"], *metres["y"]}
    assert stated["x"].max() < metres["x"].max()


def test_a_dot_in_small_units_is_settled_by_another_number(table: Writer) -> None:
    written = table("x;y;value\n1500.5;1.500;30\n")
    readings, _ = read_readings(written, ReadingOptions(coordinates="mm"))
    assert readings[["x", "y"]].to_numpy().tolist() == [[pytest.approx(1.5005), 0.0015]]


def test_a_unit_in_the_heading_goes_before_the_survey_and_is_said(table: Writer) -> None:
    """The heading is nearest to the numbers."""
    readings, notes = read_readings(table("x (mm),y (mm),value\n2500,500,40\n"))
    assert readings[["x", "y"]].to_numpy().tolist() == [[2.5, 0.5]]
    assert any("mm as the headings say" in note for note in notes)


def test_rows_keep_the_numbers_a_spreadsheet_shows(table: Writer) -> None:
    """Titles and blank lines count."""
    readings, notes = read_readings(table("Ground floor\n\nx,y,value\n1,1,40\n\n2,1,41\n"))
    assert readings["row"].tolist() == ["4", "6"]
    assert len(notes) == 2


def test_repeats_side_by_side_become_rows(table: Writer) -> None:
    """Three readings a place, one not taken."""
    readings, _ = read_readings(
        table("x,y,reading 1,reading 2,reading 3\n1,1,40,42,\n2,1,50,51,52\n")
    )
    assert readings["value"].tolist() == [40, 42, 50, 51, 52]
    assert readings["repeat"].tolist() == [1, 2, 1, 2, 3]
    assert readings["row"].tolist() == ["2", "2", "3", "3", "3"]


@pytest.mark.parametrize(
    "headings", ["value,value2", "value,value 2", "Messwert,Messwert 2", "reading,reading_2"]
)
def test_a_second_numbered_column_holds_repeats(table: Writer, headings: str) -> None:
    """The wet half of a floor stood in it, and was lost without a word."""
    readings, _ = read_readings(table(f"x,y,{headings}\n1,1,31,95\n2,1,32,\n"))
    assert readings["value"].tolist() == [31, 95, 32]
    assert readings["repeat"].tolist() == [1, 2, 1]


@pytest.mark.parametrize(
    "second", [[31, 33, 30, 32, 95, 95, 94, 96], [60, 66, 60, 62, 65, 68, 61, 60]]
)
def test_a_further_column_like_the_readings_is_refused(table: Writer, second: list[int]) -> None:
    """Readings written twice, or in step with those of another scale."""
    first = [31, 33, 30, 31, 32, 34, 30, 30]
    rows = [f"{k},1,{a},{b}" for k, (a, b) in enumerate(zip(first, second, strict=True))]
    with pytest.raises(InputError, match="column Kontrolle holds 8 numbers like"):
        read_readings(table("\n".join(["x,y,Messwert,Kontrolle", *rows])))


@pytest.mark.parametrize(
    "heading", ["battery", "Akku (%)", "number 2", "depth_mm", "temperature_c", "air temp", "row"]
)
def test_a_column_of_something_else_is_no_reading(table: Writer, heading: str) -> None:
    """Nor is it told of, though its numbers lie near the readings."""
    rows = [f"{k},1,{30 + k % 3},{30 + k % 4}" for k in range(9)]
    readings, notes = read_readings(table("\n".join([f"x,y,value,{heading}", *rows])))
    assert len(readings) == 9
    assert not notes


def test_numbers_of_unknown_kind_are_told_of(table: Writer) -> None:
    """They may be readings of another scale; the file is read all the same."""
    rows = [f"{k},1,{30 + k % 3},{k // 4}" for k in range(9)]
    readings, notes = read_readings(table("\n".join(["x,y,value,surface", *rows])))
    assert len(readings) == 9
    assert any("column surface holds 9 numbers that were not read" in note for note in notes)


def test_columns_that_are_not_known_are_kept_in_the_note(table: Writer) -> None:
    """Nothing written is lost."""
    readings, _ = read_readings(table("x,y,value,note,surface\n1,1,40,edge,tiles\n2,1,41,,\n"))
    assert readings["note"].tolist() == ["edge; surface: tiles", ""]


@pytest.mark.parametrize(
    "written",
    [
        "2026-03-04 09:30",
        "04.03.2026 09:30",
        "2026-03-04T09:30:00Z",
        "2026-03-04T10:30+01:00",
        "2026/03/04 09:30",
        "09:30",
        "9:30 am",
    ],
)
def test_times_are_read_with_their_zone(table: Writer, written: str) -> None:
    """All are half past nine UTC; a time of day takes the day of the visit."""
    from datetime import date

    readings, _ = read_readings(
        table(f"x,y,value,time\n1,1,40,{written}\n"), ReadingOptions(day=date(2026, 3, 4))
    )
    assert readings["time"].iloc[0].isoformat() == "2026-03-04T09:30:00+00:00"


def test_slashed_dates_are_settled_by_a_day_above_twelve(table: Writer) -> None:
    """25/03 shows that the day comes first."""
    readings, _ = read_readings(table("x,y,value,date\n1,1,4,03/04/2026\n1,2,4,25/03/2026\n"))
    assert readings["time"].dt.strftime("%m-%d").tolist() == ["04-03", "03-25"]


def test_a_grid_reads_as_its_list_would(table: Writer) -> None:
    """Decimal commas in positions and values; blank cells were not read; addresses are kept."""
    readings, notes = read_readings(table(";0;0,5;1\n0;40;41,5;\n0,5;FS;;43\n"))
    assert readings[["x", "y"]].to_numpy().tolist() == [[0, 0], [0.5, 0], [0, 0.5], [1, 0.5]]
    np.testing.assert_equal(readings["value"].to_numpy(), [40, 41.5, np.nan, 43])
    assert readings["row"].tolist() == ["B2", "C2", "B3", "D3"]
    assert notes == ()


def test_a_grid_corner_may_name_the_unit(table: Writer) -> None:
    """The unit stands behind the names of the axes."""
    readings, _ = read_readings(table("y \\ x (ft),0,10\n0,40,41\n"))
    assert readings["x"].tolist() == pytest.approx([0, 3.048])


def test_grid_positions_that_run_both_ways_are_noted(table: Writer) -> None:
    """0, 1, 20, 3 is most likely a slip."""
    _, notes = read_readings(table(",0,1,20,3\n0,40,41,42,43\n"))
    assert any("do not run one way" in note for note in notes)


def test_an_option_outside_what_is_allowed_is_refused() -> None:
    """Options are checked like files."""
    with pytest.raises(InputError, match="yard"):
        ReadingOptions(coordinates="yard")


def test_decimal_commas_in_a_file_parted_by_commas_are_refused(tmp_path: Path) -> None:
    """0,5 and 31,5 would be four cells: x = 0, y = 5 and a reading of 31 one cell off."""
    path = tmp_path / "commas.csv"
    path.write_text("x,y,value\n0,5,0,5,31\n1,5,0,5,32\n")
    with pytest.raises(InputError, match="more cells than there are headings") as refused:
        read_readings(path)
    assert refused.value.place == "row 2"


def test_a_row_of_units_below_the_headings_is_read(tmp_path: Path) -> None:
    """As meters and spreadsheets write it: names in one row, units in the next."""
    path = tmp_path / "scan.csv"
    path.write_text("Easting,Northing,Meter reading\n(cm),cm,digits\n50,150,28\n100,150,31\n")
    frame, notes = read_readings(path)
    assert list(frame["x"]) == [0.5, 1.0]
    assert list(frame["row"]) == ["3", "4"]
    assert any("cm" in note for note in notes)
    path.write_text("x (ft),y (ft),value\ncm,cm,\n50,150,28\n")
    with pytest.raises(InputError, match="do not agree"):
        read_readings(path)
