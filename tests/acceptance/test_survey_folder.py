"""From a survey folder written by hand to a verdict."""

from pathlib import Path

import pytest
from invented_tests import decide

from moisturemap.survey import Survey
from moisturemap.workflow.read import read_survey

SETTINGS = """
[survey]
name = "invented hall"
[plan]
file = "plan.wkt"
[[rooms]]
name = "room 1"
base = "concrete slab"
thickness_mm = 150
drying_faces = 1
placed = 2025-03-01
[limit]
method = "in-situ-rh"
value = 85
unit = "%RH"
source = "adhesive data sheet, revision 4"
[[instruments]]
id = "P1"
kind = "rh-probe"
certificate = "C-7"
uncertainty = 1.5
calibrated = 2025-10-01
[[instruments.checks]]
when = 2026-03-08T09:00:00+01:00
reference = "NaCl"
read = 75.9
temperature_c = 20
[[instruments.checks]]
when = 2026-03-10T09:00:00+01:00
reference = "KCl"
read = 85.3
temperature_c = 20
[[visits]]
id = "v1"
started = 2026-03-09T08:00:00+01:00
tests = [{ file = "tests.csv" }]
"""

HEAD = (
    "hole;x;y;method;depth_mm;value;temperature_c;slab_temperature_c;air_temperature_c;air_rh_pct;"
    "drilled;lined;placed;read;drift_pct;conditioned_hours;service_conditions;instrument;edition"
)
DAY = "2026-03-09"
MADE = "2026-03-06 09:00;2026-03-06 09:10"


def row(hole: str, x: str, y: str, value: str, made: str = MADE) -> str:
    """One in-situ test as a German spreadsheet writes it."""
    air = "20;20,1;21;48"
    held = f"{DAY} 09:15;{DAY} 10:00;0,3;96;yes;P1;ASTM F2170-19a"
    return f"{hole};{x};{y};in situ RH;60;{value};{air};{made};{held}"


def folder(path: Path, value: str = "80,1", lined: str = "2026-03-06 09:10") -> Survey:
    """A survey folder with tests written as a German spreadsheet would."""
    (path / "survey.toml").write_text(SETTINGS, encoding="utf-8")
    (path / "plan.wkt").write_text("POLYGON((0 0,8 0,8 6,0 6,0 0))\n", encoding="utf-8")
    rows = [
        HEAD,
        row("H1", "0,6", "3", "78,2"),
        row("H2", "7,4", "3", "79,0"),
        row("H3", "4", "0,6", "77,4"),
        row("H4", "4", "5,4", value, f"{lined.replace(':10', ':00')};{lined}"),
    ]
    (path / "tests.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return read_survey(path)


def test_tests_entered_by_csv_reach_a_verdict(tmp_path: Path) -> None:
    """Semicolons, decimal commas and local times end in a verdict with its reason."""
    decision = decide(folder(tmp_path))
    assert list(decision.tests["standing"]) == ["valid"] * 4
    assert decision.verdict == "meets"
    assert "H4 at 60 mm: 79.9 %RH (80.1 as read, -0.19 by the checks)" in decision.reasons[0]


@pytest.mark.parametrize(
    ("value", "lined", "words", "verdict"),
    [
        ("80,1", "2026-03-08 14:10", "is 19.8 h, at least 24 h is asked for", "not proven"),
        ("104", "2026-03-06 09:10", "no air holds more than 100%", "exceeds"),
        ("80,1", "2026-03-10 09:10", "comes before lined", "not proven"),
    ],
)
def test_traps_in_the_csv_are_caught_in_words(
    tmp_path: Path, value: str, lined: str, words: str, verdict: str
) -> None:
    """A 20-hour test, 104 %RH and a time out of order each make H4 invalid, with the reason."""
    decision = decide(folder(tmp_path, value, lined))
    row = decision.tests.set_index("hole").loc["H4"]
    assert row["standing"] == "invalid"
    assert words in row["reasons"]
    assert decision.verdict == verdict
    assert any("Repeat the invalid tests: H4" in step for step in decision.next_steps)


def test_rules_of_a_country_are_laid_over_those_of_the_package(tmp_path: Path) -> None:
    """96 h asked for by an invented guide make all four tests too short."""
    rules = tmp_path / "rules.toml"
    rules.write_text('[[rule]]\nid = "f2170-wait-24"\nat_least = 96\n', encoding="utf-8")
    decision = decide(folder(tmp_path), rules=rules)
    assert set(decision.tests["standing"]) == {"invalid"}
    assert decision.book.sources == ("rules.toml", "rules.toml")
