"""Numbers, units, days and people's own texts."""

from datetime import UTC, date, datetime, timedelta, timezone

import pandas as pd
import pytest
from shapely.geometry import box

from moisturemap.errors import OptionError
from moisturemap.language import speaking, spoken
from moisturemap.report import ReportOptions
from moisturemap.report.plain import bound, breakable
from moisturemap.report.sections.appendix import _corners
from moisturemap.report.wording import MISSING, Wording, number, printable, shortened


def test_lengths_are_exact_in_both_systems() -> None:
    """1 ft = 0.3048 m and 1 in = 25.4 mm (international yard and pound agreement 1959)."""
    metric, us = Wording(), Wording("us")
    assert (metric.length(3.048), us.length(3.048)) == ("3.05 m", "10 ft")
    assert (metric.depth(60), us.depth(50.8)) == ("60 mm", "2 in")
    assert (metric.area(92.90304), us.area(92.90304)) == ("92.9 m2", "1000 ft2")
    assert (metric.temperature(20), us.temperature(20)) == ("20.0 °C", "68 °F")


def test_what_was_not_given_is_said() -> None:
    """A blank would leave open whether it was looked for."""
    wording = Wording()
    for value in (None, float("nan"), pd.NaT, ""):
        assert wording.length(value) == wording.depth(value) == number(value) == MISSING
    assert wording.day(None) == wording.moment(None) == wording.moment(pd.NaT) == MISSING


@pytest.mark.parametrize(
    ("dates", "text"),
    [
        ("iso", "2026-03-04"),
        ("dmy", "4 March 2026"),
        ("mdy", "March 4, 2026"),
        ("en-GB", "4 March 2026"),
        ("en-US", "March 4, 2026"),
        ("de-DE", "04.03.2026"),
        ("fr-FR", "04/03/2026"),
    ],
)
def test_days_are_written_as_asked(dates: str, text: str) -> None:
    """Without the computer's own locale."""
    assert Wording("metric", dates).day(date(2026, 3, 4)) == text


def test_times_carry_their_zone() -> None:
    """So that a reading can be placed in time."""
    east = timezone(timedelta(hours=5, minutes=30))
    assert Wording().moment(datetime(2026, 3, 4, 9, 5, tzinfo=UTC)) == "2026-03-04 09:05 UTC"
    assert Wording().moment(datetime(2026, 3, 4, 9, 5, tzinfo=east)) == "2026-03-04 09:05 UTC+05:30"


def test_times_of_a_report_stand_in_its_zone() -> None:
    """The zone is said once in the head; each time is local and without it."""
    say = Wording(zone=timezone(timedelta(hours=1)))
    assert say.moment(datetime(2026, 3, 4, 23, 30, tzinfo=UTC)) == "2026-03-05 00:30"


def test_no_metre_is_left_in_a_report_in_feet() -> None:
    """Lengths, depths, areas and places; other numbers and compound units stay."""
    say = Wording("us").sentence
    assert say("0.52 m from the wall") == "1 ft 8 1/2 in from the wall"
    assert say("stop at 60 mm: 40% of 150 mm") == "stop at 2 3/8 in: 40% of 5 7/8 in"
    assert say("16.3 m2 in 3 places") == "175 ft2 in 3 places"
    assert say("5 g/m2 and 3 min") == "5 g/m2 and 3 min"
    assert Wording().sentence("0.52 m") == "0.52 m"


def test_control_characters_become_visible() -> None:
    """They act neither on the reader nor on the page."""
    assert printable("a\x00b\x1b\x7f") == "a[U+0000]b[U+001B][U+007F]"
    assert printable("\u202eevil\u202c") == "[U+202E]evil[U+202C]"
    assert printable("\ud800\x85\ufffe") == "\ufffd[U+0085][U+FFFE]"
    assert printable("a\nb\tc é 水 \u0645 👩\u200d🔧") == "a\nb\tc é 水 \u0645 👩\u200d🔧"


def test_numbers_are_written_without_idle_zeros() -> None:
    """And never in powers."""
    assert [number(v, 2) for v in (3.0, 3.456, 1234567.0, -0.5)] == ["3", "3.46", "1234567", "-0.5"]


def test_headings_are_shortened() -> None:
    """The text stands in full elsewhere."""
    assert shortened("a  b\nc") == "a b c"
    assert len(shortened("n" * 200)) == 80


@pytest.mark.parametrize(
    "wrong", [{"paper": "A5"}, {"units": "cubits"}, {"dates": "x"}, {"pdf": "x"}]
)
def test_unknown_options_are_refused_with_what_is_allowed(wrong: dict[str, str]) -> None:
    """Each by name."""
    with pytest.raises(OptionError, match="Allowed"):
        ReportOptions(**wrong)  # type: ignore[arg-type]


def test_an_edition_of_a_standard_has_no_minus_sign() -> None:
    """A hyphen of a name stays one; the sign of a number becomes a true minus."""
    assert bound("edition -09; ASTM F1869-11") == "edition\u00a0\u201109; ASTM\u00a0F1869-11"
    assert bound("Ausgabe -16b") == "Ausgabe\u00a0\u201116b"
    assert bound("corrected by -0.29") == "corrected by \u22120.29"
    assert bound("(EN 1264-4), 2026-03-04") == "(EN\u00a01264\u20114), 2026-03-04"


def test_no_line_ends_inside_the_name_of_a_hole_or_behind_nr() -> None:
    """H- and 3/b stood on two lines, and so did Nr. and 4."""
    assert bound("H-3/b, Nr. 4, No. 5") == "H\u20113/b, Nr.\u00a04, No.\u00a05"


def test_the_typesetter_is_given_true_minus_signs_and_no_hyphen_to_part_a_number_at() -> None:
    """As the word processor and the page are."""
    assert breakable("corrected by -0.29") == "corrected by \u22120.29"
    assert breakable("90-%-Intervall") == "90\u2011%\u2011Intervall"
    assert breakable("v1-8FAE70DB, 2026-03-04") == "v1-8FAE70DB, 2026-03-04"


def test_the_name_of_a_standard_is_not_parted_from_its_number() -> None:
    """Over two lines a reader takes the number for another one."""
    for name in ("EN 1264-4", "ASTM F2170", "29 CFR 1926.1101", "ISO 3382"):
        assert " " not in breakable(name)


def test_days_in_sentences_are_written_as_in_tables() -> None:
    """A job by month, day and year told a forecast "between 29 March 2026 and 2026-07-19"."""
    say = Wording("us", "mdy").sentence
    told = say("met between 29 March 2026 and 2026-07-19 (2026-03-16 09:00)")
    assert told == "met between March 29, 2026 and July 19, 2026 (March 16, 2026 09:00)"
    kept = 'its note says "from 2026-03-01", file scan-2026-03-01.csv, (cleared: name, 2026-03-31)'
    assert say(kept) == kept
    assert say("2026-13-45") == "2026-13-45"
    assert Wording().sentence("on 29 March 2026") == "on 29 March 2026"


def test_corners_are_pairs_in_every_language() -> None:
    """With decimal commas "4,9; 0; 4,9; 5" was no list of corners any more."""
    corners = _corners(box(0, 0, 4.9, 5), Wording()).replace("\u00a0", " ")
    assert corners == "(4.9 / 0) (4.9 / 5) (0 / 5) (0 / 0)"
    with speaking("de"):
        assert spoken(corners) == "(4,9 / 0) (4,9 / 5) (0 / 5) (0 / 0)"
