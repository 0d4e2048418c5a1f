"""The word tables: whole, faithful to numbers and names, and used at the doors."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).resolve().parent))

from sentences import SLOT, english_lines, written

from moisturemap.bundles import Study
from moisturemap.cli import main
from moisturemap.errors import OptionError
from moisturemap.language import (
    LANGUAGES,
    keep_as_they_are,
    language_of,
    speaking,
    spelling,
    spoken,
)
from moisturemap.language.language import read_tables
from moisturemap.language.translation import Translator
from moisturemap.report.compose import compose
from moisturemap.report.material import Material
from moisturemap.report.options import ReportOptions
from moisturemap.survey import given_names
from moisturemap.units import Units

OTHERS = [code for code in LANGUAGES if code != "en"]
MARKS = " ,;:.\n"


def entries(code: str) -> dict[str, str]:
    """All entries of a language."""
    return {
        english: said
        for table in read_tables(code)
        for english, said in table.items()
        if english != "spelling"
    }


@pytest.mark.parametrize("code", OTHERS)
def test_every_sentence_has_an_entry(code: str) -> None:
    """A sentence of three words or more that a room writes stands in the tables."""
    known = {SLOT.sub("{}", english) for english in entries(code)}
    known |= {one.strip(MARKS) for one in known}
    missing = [
        f"{where}: {text}"
        for where, text in written()
        if text not in known and text.strip(MARKS) not in known
    ]
    assert not missing, "\n".join(missing)


@pytest.mark.parametrize("code", OTHERS)
def test_an_entry_keeps_its_slots_and_numbers(code: str) -> None:
    """Nothing a sentence holds is lost or made up in another language."""
    for english, said in entries(code).items():
        assert sorted(SLOT.findall(english)) == sorted(SLOT.findall(said)), english
        ours = sorted(re.findall(r"\d+", english))
        theirs = sorted(re.findall(r"\d+", said))
        assert ours == theirs, english


def test_the_caution_of_a_relative_reading_and_the_verdicts_are_said() -> None:
    """What must never be misread, word by word."""
    with speaking("de"):
        assert spoken("not proven") == "nicht nachgewiesen"
        assert spoken("meets") == "eingehalten"
        assert spoken("exceeds") == "überschritten"
        assert "kein Feuchtegehalt" in spoken("Relative readings: not a moisture content.")
        assert spoken("May it be covered? Not proven") == "Darf belegt werden? Nicht nachgewiesen"


def test_numbers_take_a_comma_and_names_stay() -> None:
    """Decimal comma (DIN 1333, CLDR de); a room called 1.02 keeps its name."""
    with speaking("de", ["1.02", "wet room, west"]):
        assert spoken("16.3 m2") == "16,3 m2"
        assert spoken("A in 1.02 (11.5 m2)") == "A in 1.02 (11,5 m2)"
        assert spoken("Not mapped: wet room, west") == "Nicht kartiert: wet room, west"
        assert spoken("3 readings") == "3 Messwerte"
        assert spoken("1 reading") == "1 Messwert"
        assert spoken("5.60, 0.15 m") == "5,60; 0,15 m"
        assert spelling().finished("bei 0,15,1,95") == "bei 0,15; 1,95"
        assert spoken("1, 2, 3") == "1, 2, 3"
    with speaking("de", ["drain", "south wall"]):
        assert "Südwand" in spoken("0.55 m from the south wall")
        assert spoken("Only 0.00 m from known service drain: locate it").count("drain") == 1
    assert spoken("3 readings") == "3 readings"


@pytest.mark.thorough
@given(st.text(max_size=60))
def test_any_text_comes_through(text: str) -> None:
    """What no table holds is somebody's own and stays as it was, digits included."""
    said = Translator(language_of("de")).render(text).text
    digits = [char for char in text if char.isdecimal()]
    assert [char for char in said if char.isdecimal()] == digits


def test_a_language_without_tables_is_refused() -> None:
    """The refusal names what there is."""
    with pytest.raises(OptionError, match="de"):
        language_of("xx")


@pytest.mark.thorough
def test_a_report_leaves_hardly_a_word_in_english(bakery: Study) -> None:
    """Names, files and versions stay; every other text of the content is in the tables."""
    with speaking("de", given_names(bakery.survey)) as translator:
        unknown: set[str] = set()
        outcomes: set[str] = set()
        render = translator.render

        def noted(text: str):  # type: ignore[no-untyped-def]
            made = render(text)
            unknown.update(made.unknown)
            outcomes.update([] if made.unknown else [made.text])
            return made

        translator.render = noted  # type: ignore[method-assign]
        content = compose(Material(bakery, ReportOptions(all_readings=False)))
    assert content.language == "de"
    assert content.sections[0].title == "Auf einen Blick"
    prose = {one for one in unknown if re.search(r"[a-z]{3,} [a-z]{2,}", one)}
    # a figure looks at its texts once more when it is saved, line by line
    german = " ".join(outcomes)
    assert not {one for one in prose if one not in german}


@pytest.mark.thorough
def test_the_command_line_speaks_german() -> None:
    """By option; what is refused is said in it too."""
    ran = CliRunner().invoke(main, ["map", "demo_plans/bakery", "--language", "de"])
    assert ran.exit_code == 0, ran.output
    assert "Was zu tun ist" in ran.output
    assert "kein Feuchtegehalt" in ran.output
    assert "reading" not in ran.output


@pytest.mark.thorough
@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize(
    "command", ["check", "map --full", "drill", "decide --full --as-of 2026-03-20"]
)
def test_no_english_word_is_left_on_the_terminal(command: str, units: str, bakery: Study) -> None:
    """But for names, notes and sources; in metres and in feet."""
    verb, *options = command.split()
    spelt = ["--language", "de", "--units", units]
    if verb == "check":
        spelt = spelt[:2]
    ran = CliRunner().invoke(main, [verb, "demo_plans/bakery", *options, *spelt])
    assert ran.exit_code in (0, 2), ran.output
    assert english_lines(ran.output, "de", given_names(bakery.survey)) == []


def test_feet_and_inches_are_said_in_german() -> None:
    """The sentence is said first, then its metric numbers are restated, as in English."""
    us = Units("us")
    english = (
        "0.52 m from the east wall and 1.20 m from the south wall, at most 25 l/day on 16.3 m2"
    )
    assert us.sentence(
        "Depth stop at 60 mm: 40% of 150 mm, taken as drying from the top only."
    ) == ("Depth stop at 2 3/8 in: 40% of 5 7/8 in, taken as drying from the top only.")
    with speaking("de"):
        assert us.sentence(
            "Depth stop at 60 mm: 40% of 150 mm, taken as drying from the top only."
        ) == (
            "Tiefenanschlag auf 2 3/8 in: 40 % von 5 7/8 in, mit Trocknung nur nach oben gerechnet."
        )
        assert us.sentence("2.5 m2 (2.4 to 2.6)") == "27 ft2 (26 bis 28)"
        assert us.sentence("0.06 m2") == "0,6 ft2"
        assert spoken(us.sentence("0.52 m")) == "1 ft 8 1/2 in"
    assert us.sentence(english).endswith("at most 53 pints a day on 175 ft2")


def test_a_clause_of_a_document_is_no_number_with_decimals() -> None:
    """What a reader looks up keeps its point; a measured value takes the comma."""
    render = Translator(language_of("de")).render
    assert render("ASTM F2170 10.2; NT BUILD 439").text == "ASTM F2170 10.2; NT BUILD 439"
    assert render("BS 8204-1:2003+A1 6.5").text.endswith("6.5")
    assert render("82.7 ± 3.1 %RH").text.startswith("82,7 ± 3,1")


def test_a_percent_sign_stands_as_the_language_writes_it() -> None:
    """DIN 5008: a space before the sign; Duden, rule on compounds: hyphens on both sides."""
    with speaking("de"):
        assert spoken("12%") == "12 %"
        assert spelling().finished("90%-Intervall") == "90-%-Intervall"
        assert spoken("85 %RH") == "85 % r. F."
        assert spelling().finished("um etwa 0,5 %RH.") == "um etwa 0,5 % r. F."
    assert spoken("12%") == "12%"


def test_a_line_of_figures_is_kept_alone_and_said_in_a_sentence() -> None:
    """The label Room 1.05 in two lines took the comma from each 1.05 of a German report."""
    with speaking("de", ["Room 1.05"]):
        keep_as_they_are(["Room", "1.05"])
        assert spoken("1.05") == "1.05"
        assert spoken("in Room 1.05").endswith("Room 1.05")
        assert "1,05 m" in spoken("Move dehumidifier D1 1.05 m to the corner, for zone A.")
