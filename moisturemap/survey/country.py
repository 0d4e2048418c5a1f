"""In which country a floor lies, as far as the rules named by cautions ask: stated, or by its zone.

Zones of the United States and the United Kingdom: zone.tab of the IANA time zone database.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from moisturemap.survey.survey import Survey

US, UK = "the United States", "the United Kingdom"

_NAMES = {
    US: {"us", "usa", "united states", "united states of america"},
    UK: {
        "uk",
        "gb",
        "united kingdom",
        "great britain",
        "england",
        "scotland",
        "wales",
        "northern ireland",
    },
}
_ZONES = {
    US: re.compile(
        r"US/.+|Pacific/Honolulu|America/(?:Indiana/.+|Kentucky/.+|North_Dakota/.+|Adak|Anchorage"
        r"|Boise|Chicago|Denver|Detroit|Indianapolis|Juneau|Los_Angeles|Louisville|Menominee"
        r"|Metlakatla|New_York|Nome|Phoenix|Sitka|Yakutat)"
    ),
    UK: re.compile(r"GB|Europe/(?:London|Belfast)"),
}
_PLACED = re.compile(
    r"(?:Africa|America|Antarctica|Arctic|Asia|Atlantic|Australia|Europe|Indian|Pacific)/.+"
)


@dataclass(frozen=True, slots=True)
class Country:
    """A country: ``US``, ``UK``, another one as stated, or "" where only a zone outside both is.

    Attributes
    ----------
    name : str
    zone : str
        Time zone by which it is told; "" where the country is stated.
    """

    name: str
    zone: str = ""


def country_of(survey: Survey) -> Country | None:
    """Return the country of a floor, or None where neither it nor a zone of places is stated.

    Parameters
    ----------
    survey : Survey
    """
    stated = survey.details.get("country", "").strip()
    plain = stated.casefold().replace(".", "").removeprefix("the ")
    for name, names in _NAMES.items():
        if plain in names:
            return Country(name)
    if stated:
        return Country(stated)
    zone = survey.timezone.strip()
    for name, zones in _ZONES.items():
        if zones.fullmatch(zone):
            return Country(name, zone)
    return Country("", zone) if _PLACED.fullmatch(zone) else None
