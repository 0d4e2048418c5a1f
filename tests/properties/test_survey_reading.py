"""Readings survive every way of writing them, and rubbish is refused in words."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from moisturemap.errors import InputError
from moisturemap.files import ReadingOptions, read_equipment, read_readings, read_tests

POSITIONS = st.integers(-5000, 99_999).map(lambda n: n / 1000)
VALUES = st.one_of(st.none(), st.integers(0, 9999).map(lambda n: n / 10))
LISTS = st.lists(st.tuples(POSITIONS, POSITIONS, VALUES), min_size=1, max_size=12)
EDGES = st.lists(st.integers(-40, 400), min_size=1, max_size=6, unique=True)
QUIET = settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])


def read(content: bytes, name: str = "t.csv", options: ReadingOptions | None = None) -> object:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(content)
        return read_readings(path, options)[0]


def refusal(call: Callable[[], object], otherwise: str) -> str:
    """Return the words of the refusal, or what is given when there is none."""
    try:
        call()
    except InputError as error:
        return str(error)
    return otherwise


@pytest.mark.thorough
@QUIET
@given(
    LISTS,
    st.sampled_from([(".", ","), (".", ";"), (",", ";"), (",", "\t"), (".", "\t")]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
    st.sampled_from(["\n", "\r\n"]),
)
def test_a_list_reads_back_as_it_was_written(
    rows: list[tuple[float, float, float | None]], marks: tuple[str, str], encoding: str, end: str
) -> None:
    """Whatever delimiter, decimal mark, encoding and line end; the mark is stated."""
    decimal, delimiter = marks
    lines = [["x", "y", "value", "note"]]
    for x, y, value in rows:
        cells = [f"{x:.3f}", f"{y:.3f}", "" if value is None else f"{value:.1f}"]
        lines.append([*[cell.replace(".", decimal) for cell in cells], "é"])
    text = end.join(delimiter.join(line) for line in lines) + end
    readings = read(text.encode(encoding), options=ReadingOptions(decimal=decimal))
    expected = np.array([[x, y, np.nan if v is None else v] for x, y, v in rows])
    np.testing.assert_allclose(readings[["x", "y", "value"]], expected)
    assert readings["row"].tolist() == [str(k + 2) for k in range(len(rows))]


@pytest.mark.thorough
@QUIET
@given(EDGES, EDGES, st.randoms())
def test_a_grid_gives_the_readings_of_its_list(
    across: list[int], down: list[int], random: object
) -> None:
    """Each filled cell once, at the position of its row and column."""
    values = {(x, y): random.randint(0, 999) for x in across for y in down if random.random() < 0.7}
    if not values:
        return
    grid = [
        ["", *[x / 4 for x in across]],
        *[[y / 4, *[values.get((x, y), "") for x in across]] for y in down],
    ]
    readings = read("\n".join(";".join(map(str, row)) for row in grid).encode())
    found = {(x * 4, y * 4): v for x, y, v in readings[["x", "y", "value"]].to_numpy()}
    assert found == values


@QUIET
@given(
    st.one_of(
        st.binary(max_size=300),
        st.text(st.sampled_from("xyvalue,;\t\n\r\"'0123456789.-<>#ÄO:/ "), max_size=200).map(
            lambda text: ("x,y,value,time,repeat\n" + text).encode()
        ),
    ),
    st.sampled_from(["t.csv", "t.xlsx", "t.txt"]),
)
def test_rubbish_is_read_or_refused_in_words(content: bytes, name: str) -> None:
    """No other error than an InputError ever leaves a reader."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(content)
        for reader in (read_readings, read_tests, read_equipment):
            assert name in refusal(lambda reader=reader: reader(path), name)


@QUIET
@given(st.integers(0, 10_000), st.integers(0, 255), st.randoms())
def test_a_workbook_with_a_flipped_byte_is_read_or_refused_in_words(
    place: int, byte: int, random: object
) -> None:
    """Damage on the way is met with words."""
    content = bytearray(_workbook())
    content[place % len(content)] = byte
    assert "t.xlsx" in refusal(lambda: read(bytes(content), "t.xlsx"), "t.xlsx")


_BOOK: list[bytes] = []


def _workbook() -> bytes:
    """Return a small workbook with a formula, a hidden row and a merged room."""
    if not _BOOK:
        import io

        import openpyxl

        book = openpyxl.Workbook()
        for row in (["x", "y", "value", "room"], [1, 1, 40, "hall"], [2, 1, 41, None]):
            book.active.append(row)
        book.active.merge_cells("D2:D3")
        book.active.row_dimensions[3].hidden = True
        file = io.BytesIO()
        book.save(file)
        _BOOK.append(file.getvalue())
    return _BOOK[0]
