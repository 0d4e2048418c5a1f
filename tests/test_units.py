"""Numbers leave the package in metric units, or as a US tape and gauge show them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from moisturemap.errors import OptionError
from moisturemap.language import speaking
from moisturemap.quantities import tape
from moisturemap.units import Units, feet_and_inches, inches, zone_told

US = Units("us")


def test_a_place_in_a_list_is_short() -> None:
    """One line of a table of readings; feet and inches by the signs on a tape."""
    assert US.place_in_a_list(3.7465, 1.222375) == "12' 3 1/2\", 4' 1/8\""
    assert US.place_in_a_list(0.0, -0.0254) == '0", -1"'
    assert Units().place_in_a_list(3.7465, 1.2) == "3.75, 1.20"
    assert Units().heading_of_places == "x, y [m]"


def test_a_place_in_a_sentence_has_its_unit() -> None:
    """A reader of either system is told what the two numbers are."""
    text = "no valid test at the highest of them, 53 at (1.05, 2.10)"
    assert Units().sentence(text).endswith("53 at (1.05, 2.10 m)")
    assert US.sentence(text).endswith("53 at (3 ft 5 3/8 in, 6 ft 10 5/8 in)")
    assert Units().sentence("82 (77 to 88) %RH") == "82 (77 to 88) %RH"


@pytest.mark.parametrize(
    ("metres", "tape"),
    [
        (0.3048, "1 ft"),
        (0.0, "0 in"),
        (6.96 * 0.3048, "6 ft 11 1/2 in"),
        (0.0254, "1 in"),
        (3.048, "10 ft"),
        (0.3047, "1 ft"),
    ],
)
def test_a_distance_is_written_as_on_a_tape(metres: float, tape: str) -> None:
    """Feet, inches and eighths; exact by the yard and pound agreement of 1959."""
    assert feet_and_inches(metres) == tape


@pytest.mark.parametrize(
    ("millimetres", "gauge"),
    [(48, "1 7/8 in"), (25.4, "1 in"), (60, "2 3/8 in"), (1, "0.04 in"), (152.4, "6 in")],
)
def test_a_depth_is_written_in_sixteenths(millimetres: float, gauge: str) -> None:
    """Depth stops are set to a sixteenth of an inch."""
    assert inches(millimetres) == gauge


@given(st.floats(0, 300))
def test_no_tape_distance_is_off_by_more_than_half_its_mark(metres: float) -> None:
    """What is written, read back, is within a sixteenth of an inch and half a millimetre."""
    words = feet_and_inches(metres).split()
    total = 0.0
    for k, word in enumerate(words):
        if word == "ft":
            total += 12 * float(words[k - 1])
    for word in words[2 if "ft" in words else 0 :]:
        if word != "in":
            top, _, below = word.partition("/")
            total += float(top) / float(below or 1)
    assert abs(total * 0.0254 - metres) <= 0.0254 / 16 + 0.0005  # of the millimetre that it holds


@pytest.mark.parametrize(
    ("metric", "told"),
    [
        ("16.3 m2 (16.0 to 17.0), peak 73", "175 ft2 (172 to 183), peak 73"),
        (
            "parallel to the north wall 2, 4.1 m from it",
            "parallel to the north wall 2, 13 ft 5 in from it",
        ),
        ("from (6.1, 6.1) to (10.7, 5.8)", "from (20 ft, 20 ft) to (35 ft 1 in, 19 ft)"),
        ("0.20 m from the south wall", "7 7/8 in from the south wall"),
        ("20 for each 1000 ft2 (92.9 m2) of", "20 for each 1000 ft2 (92.9 m2) of"),
        ("3 for the first 100 m2 (1000 ft2) and", "3 for the first 1000 ft2 and"),
        ("4 for the first 50 m² and", "4 for the first 50 m² and"),
        ("21.0 C, 47 %RH, dew point 9.3 C", "70 °F, 47 %RH, dew point 49 °F"),
        ("about 40 l/day", "about 85 pints a day"),
        ("7.3 g/kg", "51 grains/lb"),
        ("read 3 of 5 metres", "read 3 of 5 metres"),
        ("1.5 to 2.0 m", "4 ft 11 in to 6 ft 7 in"),
    ],
)
def test_a_sentence_is_restated_whole(metric: str, told: str) -> None:
    """No metre is left beside a foot; in metres a place alone gains its unit."""
    assert US.sentence(metric) == told
    assert Units().sentence(metric).replace(" m)", ")") == metric.replace(" m)", ")")


@given(st.floats(0, 100))
def test_a_length_is_the_same_in_a_sentence_and_in_a_table(metres: float) -> None:
    """A sentence holds the millimetre, so that a tape reads alike in words, tables and drawings."""
    said = f"{tape(metres)} m from the south wall, at ({tape(metres)}, {tape(1.005)})"
    for units in (Units(), US):
        told = units.sentence(said)
        assert told.startswith(f"{units.length(metres)} from the south wall")
        assert told.endswith(f"({units.place(metres, 1.005)})")


def test_a_tape_distance_between_centimetres_is_told_to_the_centimetre_in_metres() -> None:
    """20 ft is 6.096 m: 20 ft on a tape, 6.10 m in metres; also with a decimal comma."""
    assert tape(6.096) == "6.096"
    assert tape(3.2) == "3.20"
    assert US.sentence("6.096 m from the south wall") == "20 ft from the south wall"
    assert Units().sentence("6.096 m from the south wall") == "6.10 m from the south wall"
    assert Units().sentence("edition 1.125 and 12.345 mm") == "edition 1.125 and 12.345 mm"
    with speaking("de"):
        assert Units().sentence("6.096 m from the south wall and 3.20 m off").startswith("6,10 m")


def test_another_system_is_refused() -> None:
    """The allowed ones are named."""
    with pytest.raises(OptionError, match="metric, us"):
        Units("imperial")


def test_an_area_is_the_same_in_a_sentence_and_by_itself() -> None:
    """4.96 m2 is 5.0 m2 in words: 54 ft2 in both, not 53."""
    units = Units("us")
    for area in (1.04, 4.96, 17.34, 28.049, 526.5):
        assert units.sentence(f"{area:.1f} m2") == units.area(area)


def test_the_zone_is_told_by_its_name_or_said_not_to_be_stated() -> None:
    """A winter job by the clock of Lisbon was told in "UTC", as one of which no zone is known."""
    winter = datetime(2026, 12, 1, 9, tzinfo=UTC)
    assert zone_told("Europe/Lisbon", winter) == "Europe/Lisbon (UTC)"
    assert zone_told("", winter) == "UTC, as no time zone is stated"
    assert zone_told("UTC", winter) == "UTC"
    ahead = winter.astimezone(timezone(timedelta(hours=1)))
    assert zone_told("", ahead) == zone_told("+01:00", ahead) == "UTC+01:00"
