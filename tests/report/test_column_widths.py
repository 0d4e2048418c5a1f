"""Columns are as wide as their texts ask for."""

from __future__ import annotations

from moisturemap.figures.typeface import advance
from moisturemap.report.column_widths import fitted
from moisturemap.report.content import Column, Content, Section, Table

LONG = "Store behind the stairs, once a coal cellar, now a lumber room of the tenants, no. 4"


def _widths(table: Table) -> list[float]:
    content = Content("", "", "", (), (Section("", (table,)),), "")
    (block,) = fitted(content).sections[0].blocks
    assert isinstance(block, Table)
    return [one.width for one in block.columns]


def _lines(table: Table, widths: list[float]) -> float:
    """Lines of all rows, of tables 174 mm wide in letters of 1.47 mm with two left free a cell."""
    letters = [174 / 1.47 * one / sum(widths) - 2 for one in widths]
    return sum(
        max(-(-len(cell) // room) for cell, room in zip(row, letters, strict=True))
        for row in table.rows
    )


def test_a_long_name_stands_in_few_lines() -> None:
    """Room that other columns do not fill goes to the column that makes the rows high."""
    columns = (Column("Hole"), Column("Room"), Column("Read"), Column("Depth"), Column("Verdict"))
    rows = (("H1", LONG, "2026-03-09", "48 mm", "meets"),)
    table = Table("Tests", columns, rows)
    assert _lines(table, _widths(table)) <= 0.5 * _lines(table, [1.0] * 5)


def test_wide_letters_ask_for_more_room_than_points_and_commas() -> None:
    """By the letters of the type and not by their number, so that a short name stays whole."""
    columns = (Column("Room"), Column("Corners"))
    corners = "; ".join(["36, 17.5"] * 11)
    one, other = _widths(Table("Rooms", columns, (("Room 1.01", corners),)))
    page_em = (174 / 1.47 - 0.1) * 0.521  # widths are rounded
    for text, width in (("Room 1.01", one), (corners, other)):
        assert advance(text) <= page_em * width / (one + other) - 2 * 0.521
    assert advance("Room 1.01") > 0.521 * len("Room 1.01")
    assert advance(corners) < 0.521 * len(corners)


def test_a_heading_stands_in_three_lines_at_most() -> None:
    """A narrow column of numbers does not make the head of its table higher than its rows."""
    columns = (Column("Days from the latest visit", 1, "right"), Column("In words"))
    width = _widths(Table("Forecasts", columns, (("8", 20 * LONG),)))[0]
    assert width >= 1.15 * advance("Days from") / 0.521


def test_columns_filled_in_by_hand_keep_their_share() -> None:
    """A blank column is there to be written in, however long the text beside it."""
    columns = (Column("Caution", 4), Column("Name", 1), Column("Date", 1))
    widths = _widths(Table("Cautions", columns, ((10 * LONG, "", ""),)))
    assert [round(one / sum(widths), 1) for one in widths] == [0.7, 0.2, 0.2]


def test_columns_of_one_kind_stay_alike() -> None:
    """Stacks of columns side by side are of one width."""
    one = (Column("No.", 0.7, "right"), Column("As read", 1.4))
    widths = _widths(Table("Readings", one * 2, (("1", "30", "2", "57, contested"),)))
    assert widths[:2] == widths[2:]


def test_no_value_is_broken_for_a_long_text() -> None:
    """A right-hand value and each word find room in their column beside a text of any length."""
    columns = (Column("Peak at x, y", 1, "right"), Column("Kept", 1), Column("Words", 1))
    widths = _widths(Table("Zones", columns, (("12.34, 56.78 m", "cannot", 20 * LONG),)))
    letters = [174 / 1.47 * one / sum(widths) - 2 for one in widths]
    assert letters[0] >= len("12.34, 56.78 m") - 0.1  # widths are rounded
    assert letters[1] >= len("cannot")


def test_a_short_value_stays_on_one_line() -> None:
    """A room by its number, or a verdict of two words, however long the text beside it."""
    columns = (Column("Room"), Column("Kept"), Column("In words"))
    rows = (("Room 1.11", "not kept", 20 * LONG), ("Room 1.12", "kept", 20 * LONG))
    widths = _widths(Table("Rules", columns, rows))
    page_em = (174 / 1.47 - 0.1) * 0.521
    for text, width in (("Room 1.11", widths[0]), ("not kept", widths[1])):
        assert advance(text) <= page_em * width / sum(widths) - 2 * 0.521


def test_a_column_is_as_wide_as_a_length_that_stays_on_one_line() -> None:
    """A word processor would part feet and inches inside the unit."""
    names = ("Zone", "Room", "Standing", "Area [ft2]", "Low to high [ft2]", "Peak", "Mean reading")
    columns = (*map(Column, names), Column("x, y", 1, "right"), Column("Remark"))
    cells = ("A", "ward", "wet", "117", "114 to 123", "69", "52")
    place = "21 ft 1 1/2 in, 14 ft 1 3/4 in"
    width = _widths(Table("Zones", columns, ((*cells, place, 4 * LONG),)))[7]
    assert (width - 2) * 0.521 >= advance("21 ft 1 1/2 in,")
