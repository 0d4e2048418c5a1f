"""Settings and zones of time as a reader meets them."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from zoneinfo import ZoneInfo

from moisturemap.anomalies import DetectOptions
from moisturemap.drilling import DrillOptions
from moisturemap.language import speaking, spoken
from moisturemap.mapping import MappingOptions
from moisturemap.report.plain import breakable
from moisturemap.report.sections.settings import VALUES, WORDS, setting_rows
from moisturemap.report.wording import Wording
from moisturemap.units import zone_name
from moisturemap.zones import ZoneOptions

OPTIONS = {
    "detect": asdict(DetectOptions()),
    "mapping": asdict(MappingOptions()),
    "zones": asdict(ZoneOptions()),
    "drilling": asdict(DrillOptions()),
}


def test_every_setting_has_words_of_its_own() -> None:
    told = [words for words, _ in setting_rows(OPTIONS, Wording())]
    assert set(told) <= set(WORDS.values())
    assert len(set(told)) == len(told)


def test_lengths_among_the_settings_are_in_the_units_of_the_report() -> None:
    told = dict(setting_rows(OPTIONS, Wording(units="us")))
    assert told[WORDS["drilling.patch_radius_m"]].endswith("in")
    assert dict(setting_rows(OPTIONS, Wording()))[WORDS["drilling.clearance_m"]] == "0.30 m"


def test_a_zone_is_written_by_its_distance_from_utc() -> None:
    when = datetime(2026, 7, 1, 8, 0, tzinfo=ZoneInfo("America/Chicago"))
    assert zone_name(when) == "UTC-05:00"


def test_no_line_ends_inside_feet_and_inches() -> None:
    assert " " not in breakable("22 ft 7 5/8 in")
    assert " " not in breakable("5 15/16 in")


def test_the_rule_a_plan_counts_by_is_said_in_german() -> None:
    """No value of a setting that has words keeps an English one."""
    with speaking("de"):
        told = {name: spoken(words) for name, words in VALUES.items()}
    assert told["f2170-m2"] == "ASTM F2170, gezählt nach Quadratmetern"
    assert not {words for words in told.values() if " by " in words}
