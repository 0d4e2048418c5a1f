"""Country of a floor, by what is stated and by its time zone."""

from __future__ import annotations

import pandas as pd
import pytest
from shapely.geometry import box

from moisturemap.floorplan import FloorPlan, Room
from moisturemap.report.sections.drilling import _elsewhere
from moisturemap.survey import READING_COLUMNS, UK, US, Country, Survey, Visit, country_of

CAUTIONS = (("\u2610", "Silica dust (OSHA 29 CFR 1926.1153; HSE CIS36).", ""),)


def survey(zone: str = "", country: str = "") -> Survey:
    """A survey without readings."""
    plan = FloorPlan((Room("hall", box(0, 0, 4, 3)),))
    empty = pd.DataFrame(columns=list(READING_COLUMNS))
    details = {"country": country} if country else {}
    return Survey("invented", plan, {}, (Visit("v1"),), empty, timezone=zone, details=details)


@pytest.mark.parametrize(
    ("zone", "stated", "expected"),
    [
        ("", "", None),
        ("+01:00", "", None),
        ("UTC", "", None),
        ("Etc/GMT-1", "", None),
        ("Europe/London", "", Country(UK, "Europe/London")),
        ("America/Chicago", "", Country(US, "America/Chicago")),
        ("America/Indiana/Knox", "", Country(US, "America/Indiana/Knox")),
        ("America/Toronto", "", Country("", "America/Toronto")),
        ("Europe/Berlin", "", Country("", "Europe/Berlin")),
        ("Europe/Berlin", "U.S.A.", Country(US)),
        ("", "Scotland", Country(UK)),
        ("America/Chicago", "Norway", Country("Norway")),
    ],
)
def test_a_country_is_stated_or_told_by_a_zone_of_places(zone, stated, expected) -> None:
    """An offset tells none; what is stated goes first."""
    assert country_of(survey(zone, stated)) == expected


@pytest.mark.parametrize(
    ("place", "words"),
    [
        (None, "For a floor elsewhere they are not in force"),
        (Country(US, "America/Chicago"), "HSE, BS, BR and Regulations are of the United Kingdom"),
        (Country(UK), "OSHA and ACI are of the United States"),
        (Country("", "Europe/Berlin"), "neither country, by its time zone Europe/Berlin"),
        (Country("Norway"), "This floor lies in neither country: they are not in force here"),
    ],
)
def test_rules_of_another_country_are_said_not_to_be_in_force(place, words) -> None:
    """Those of the floor's own country are not."""
    assert words in _elsewhere(CAUTIONS, place)
