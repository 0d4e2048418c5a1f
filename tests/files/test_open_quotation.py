"""A quotation mark that nobody closed swallows no row."""

import pytest

from moisturemap.errors import FormatError
from moisturemap.files.delimited import read_delimited


def rows(tmp_path, text):
    path = tmp_path / "t.csv"
    path.write_text(text, encoding="utf-8")
    return read_delimited(path, path.name)[0]


@pytest.mark.parametrize("later", ["", '4,5,"by wall\n'], ids=["never", "by the next of its kind"])
def test_a_mark_left_open_is_refused_by_row(tmp_path, later):
    """Whether or not a later row opens one again."""
    with pytest.raises(FormatError, match="row 3") as told:
        rows(tmp_path, f'x,y,note\n1,2,\n3,4,"near door\n9,9,wet\n{later}')
    assert "quotation mark" in str(told.value)


def test_cells_of_several_lines_and_marks_within_are_read(tmp_path):
    """As spreadsheets write them; inches and feet stay text."""
    read = rows(tmp_path, 'x,note\n1,"two\nlines"\n2,a 5" pipe\n3,"said ""wet"""\n')
    assert [row[1] for row in read[1:]] == ["two\nlines", 'a 5" pipe', 'said "wet"']


def test_text_after_a_closing_mark_is_kept(tmp_path):
    """Written by hand, and nothing is lost by it."""
    read = rows(tmp_path, 'x,note\n1,"door" side\n2,b\n')
    assert [row[1] for row in read[1:]] == ["door side", "b"]


def test_a_mark_left_open_in_the_last_row_loses_nothing(tmp_path):
    """There is nothing below it."""
    assert [row[0] for row in rows(tmp_path, 'x,note\n1,a\n2,"near door\n')] == ["x", "1", "2"]
