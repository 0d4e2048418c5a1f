"""Every fault of a survey folder is refused in words that name file, place, value and allowed."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from moisturemap.errors import InputError
from moisturemap.workflow.read import read_survey


def swap(old: str, new: str) -> Callable[[str], str]:
    return lambda text: text.replace(old, new)


def add(line: str) -> Callable[[str], str]:
    return lambda text: text + line


# part spoiled, how, and what the message must name
FAULTS = {
    # survey.toml
    "not toml": ("toml", swap("[survey]", "[survey"), ["survey.toml", "line 2"]),
    "decimal comma": ("toml", swap("wet_level = 60", "wet_level = 60,5"), ["survey.toml", "line"]),
    "unknown table": ("toml", add("\n[scann]\n"), ["scann", "did you mean 'scan'"]),
    "unknown key": ("toml", swap("wet_level", "wet_levl"), ["[scan]", "did you mean 'wet_level'"]),
    "wrong type": (
        "toml",
        swap("wet_level = 60", 'wet_level = "60"'),
        ["[scan] wet_level", "'60'", "a number"],
    ),
    "not finite": ("toml", swap("wet_level = 60", "wet_level = nan"), ["[scan] wet_level", "nan"]),
    "no name": ("toml", swap('name = "Two rooms"', ""), ["[survey]", "'name' is missing"]),
    "no visits": ("toml", lambda text: text.split("[[visits]]")[0], ["'visits' is missing"]),
    "unknown unit": (
        "toml",
        swap('coordinates = "m"', 'coordinates = "yd"'),
        ["coordinates", "'yd'", "'ft'"],
    ),
    "unknown zone": (
        "toml",
        swap("Europe/Lisbon", "Europe/Nowhere"),
        ["timezone", "Nowhere", "IANA"],
    ),
    "unknown room": (
        "toml",
        swap('name = "hall"', 'name = "halll"'),
        ["halll", "did you mean 'hall'", "store"],
    ),
    "room twice": (
        "toml",
        swap(
            '[[instruments]]\nid = "scanner"',
            '[[rooms]]\nname = "hall"\n[[instruments]]\nid = "scanner"',
        ),
        ["[[rooms]] 2", "stands twice", "hall"],
    ),
    "three faces": (
        "toml",
        swap("drying_faces = 1", "drying_faces = 3"),
        ["drying_faces", "3", "1, 2"],
    ),
    "negative thickness": (
        "toml",
        swap("thickness_mm = 150", "thickness_mm = -150"),
        ["thickness_mm", "-150", "from 1 to 3000"],
    ),
    "scale turned": (
        "toml",
        swap("scale = [0, 100]", "scale = [100, 0]"),
        ["[[instruments]] 1 scale", "the lower first"],
    ),
    "unknown kind": (
        "toml",
        swap('kind = "relative"', 'kind = "relativ"'),
        ["[[instruments]] 1 kind", "did you mean 'relative'"],
    ),
    "instrument twice": (
        "toml",
        swap('id = "probe 1"', 'id = "scanner"'),
        ["[[instruments]] 2", "stands twice"],
    ),
    "unknown instrument": (
        "toml",
        swap('instrument = "scanner"', 'instrument = "scaner"'),
        ["visit v1, readings 1", "did you mean 'scanner'", "probe 1"],
    ),
    "check without value": ("toml", swap("read = 75.1", ""), ["checks 1", "'read' is missing"]),
    "no such file": (
        "toml",
        swap('"readings.csv"', '"reading.csv"'),
        ["readings 1 file", "reading.csv", "did you mean 'readings.csv'"],
    ),
    "file outside": (
        "toml",
        swap('"readings.csv"', '"../readings.csv"'),
        ["readings 1 file", "../readings.csv", "relative to the folder"],
    ),
    "absolute file": (
        "toml",
        swap('"readings.csv"', '"/tmp/readings.csv"'),
        ["readings 1 file", "/tmp/readings.csv"],
    ),
    "drive letter": ("toml", swap('"readings.csv"', r"'C:\readings.csv'"), ["readings 1 file"]),
    "file twice": (
        "toml",
        swap('instrument = "scanner" }]', 'instrument = "scanner" }, "readings.csv"]'),
        ["visit v1, readings", "listed twice", "readings.csv"],
    ),
    "impossible air": (
        "toml",
        swap("started = ", "air_rh_pct = 140\nstarted = "),
        ["air_rh_pct", "140", "from 0 to 100"],
    ),
    "started as text": (
        "toml",
        swap("started = 2026-03-04T08:50:00", 'started = "4 March"'),
        ["[[visits]] 1 started", "4 March", "2026-03-14T09:30:00"],
    ),
    "unknown method": (
        "toml",
        swap('method = "in-situ-rh"', 'method = "rh"'),
        ["[limit] method", "'rh'", "'in-situ-rh'"],
    ),
    "unit of another method": (
        "toml",
        swap('unit = "%RH"', 'unit = "lb"'),
        ["[limit] unit", "'lb'", "%RH"],
    ),
    "limit as a share": (
        "toml",
        lambda t: re.sub(r"(\[limit\].*?\nvalue = )[\d.]+", r"\g<1>0.8", t, flags=re.DOTALL),
        ["[limit] value", "0.8", "80 %RH"],
    ),
    "limit without source": (
        "toml",
        swap('source = "Adhesive', 'note = "Adhesive'),
        ["[limit]", "'note'", "source"],
    ),
    "room limit without limit": (
        "toml",
        lambda t: t.split("[limit]")[0].replace("thickness_mm", "limit = 75\nthickness_mm"),
        ["[[rooms]] 1 limit", "75", "method"],
    ),
    # readings
    "empty": ("readings", "", ["readings.csv", "empty"]),
    "headings only": ("readings", "x,y,value\n", ["readings.csv", "no reading"]),
    "no headings": (
        "readings",
        "0.5,0.5,40\n1.5,0.5,42\n",
        ["readings.csv", "row 1", "x, y, value"],
    ),
    "no value column": ("readings", "x,y,dampish\n1,1,4\n", ["row 1", "dampish", "value"]),
    "two value columns": (
        "readings",
        "x,y,value,reading\n1,1,4,5\n",
        ["row 1, cell D1", "'value' and 'reading'"],
    ),
    "x missing": ("readings", swap("1.5,0.5,42", ",0.5,42"), ["readings.csv", "row 3, column x"]),
    "y not a number": (
        "readings",
        swap("2.5,0.5,45", "2.5,half,45"),
        ["row 4, column y", "'half'", "a number"],
    ),
    "mixed decimal marks": ("readings", "x;y;value\n0,5;0.5;40\n", ["row 2, cell A2", "mixed"]),
    "thousand or decimal": (
        "readings",
        "x;y;value\n1,250;2;40\n",
        ["row 2, cell A2", "'1,250'", 'decimal = ","'],
    ),
    "thousands point": (
        "readings",
        "x;y;value\n0,5;2;40\n1.250;2;40\n",
        ["row 3, cell A3", "1.250"],
    ),
    "error value": ("readings", swap("2.5,0.5,45", "2.5,0.5,#N/A"), ["row 4, cell C4", "#N/A"]),
    "german error value": ("readings", swap("2.5,0.5,45", "#BEZUG!,0.5,1"), ["cell A4", "#BEZUG!"]),
    "bad time": (
        "readings",
        swap("2026-03-04T09:01", "nineish"),
        ["row 3, column time", "nineish"],
    ),
    "no such day": ("readings", swap("2026-03-04T09:01", "2026-02-30"), ["row 3", "2026-02-30"]),
    "day or month": ("readings", "x,y,value,time\n1,1,40,03/04/2026\n", ["row 2", "03/04/2026"]),
    "repeat of a half": (
        "readings",
        "x,y,value,repeat\n1,1,40,1.5\n",
        ["row 2, column repeat", "1.5"],
    ),
    "grid heading twice": ("readings", ",0,1,1\n0,40,41,42\n", ["cell D1", "twice", "cell C1"]),
    "grid without y": ("readings", ",0,1\n0,40,41\n,42,43\n", ["cell B3", "no y", "'42'"]),
    "grid without x": ("readings", ",0,1,\n0,40,41,42\n", ["cell D2", "no x", "'42'"]),
    "zip named csv": ("readings", b"PK\x03\x04rest", ["readings.csv", "zip"]),
    "zero bytes": ("readings", b"x,y,value\n1,1,4\x00\n", ["readings.csv", "zero bytes"]),
    "web page": ("readings", "<!DOCTYPE html><table></table>", ["readings.csv", "web page"]),
    # tests
    "tests without method": (
        "tests",
        "hole,x,y,value\nH1,1,1,82\n",
        ["tests.csv", "row 1", "method"],
    ),
    "unknown test method": (
        "tests",
        swap("in-situ-rh", "in-situ-hr"),
        ["tests.csv", "row 2, column method", "did you mean 'in-situ-rh'"],
    ),
    "method blank": (
        "tests",
        swap("in-situ-rh", ""),
        ["row 2, column method", "method is missing"],
    ),
    "wrong unit": ("tests", swap("%RH", "lb"), ["row 2, column unit", "'lb'", "%RH"]),
    "depth negative": (
        "tests",
        swap(",60,", ",-60,"),
        ["row 2, column depth_mm", "-60", "at least 0"],
    ),
    "temperature slip": ("tests", swap(",18,", ",180,"), ["row 2, column temperature_c", "180"]),
    "value in words": ("tests", swap(",82,", ",wet,"), ["row 2, column value", "'wet'"]),
    "test half placed": (
        "tests",
        swap("H1,1,1,", "H1,1,,"),
        ["tests.csv", "row 2", "y is missing"],
    ),
    "test instrument unknown": (
        "tests",
        swap("probe 1", "probe 2"),
        ["tests.csv", "row 2", "did you mean 'probe 1'"],
    ),
    # equipment
    "unknown machine": (
        "equipment",
        swap("dehumidifier", "dehumidifer"),
        ["equipment.csv", "row 2, column kind", "did you mean 'dehumidifier'"],
    ),
    "machine without place": (
        "equipment",
        swap("D1,dehumidifier,1,1", "D1,dehumidifier,,1"),
        ["equipment.csv", "row 2", "x is missing"],
    ),
    "machine twice": ("equipment", swap("F1,", "D1,"), ["row 3, column machine", "one name"]),
    "machine turned too far": ("equipment", swap(",90,", ",900,"), ["direction_deg", "900"]),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_is_refused_by_place_and_value(
    fault: str, write_survey: Callable[..., Path]
) -> None:
    """The message names what a person needs to find and mend the fault."""
    part, change, named = FAULTS[fault]
    with pytest.raises(InputError) as refusal:
        read_survey(write_survey(**{part: change}))
    for word in named:
        assert word in str(refusal.value), f"{word!r} not in: {refusal.value}"


def test_the_list_of_faults_is_long_enough() -> None:
    """Forty kinds of bad input at least are tried."""
    assert len(FAULTS) >= 40


@pytest.mark.parametrize("name", ["nowhere", "nowhere/survey.toml", "nowhere.gpkg"])
def test_a_path_that_leads_nowhere_is_refused(name: str, tmp_path: Path) -> None:
    """A missing folder is named, without a traceback of the operating system."""
    from moisturemap.errors import MoistureMapError

    with pytest.raises(MoistureMapError, match="nowhere"):
        read_survey(tmp_path / name)


def test_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    """A survey is a folder, a .toml or a .gpkg."""
    path = tmp_path / "survey.pdf"
    path.write_text("x")
    with pytest.raises(InputError, match=r"survey\.toml"):
        read_survey(path)
