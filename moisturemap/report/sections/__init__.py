"""The sections of a report, one file for each part of the job."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from moisturemap.report.content import Section
from moisturemap.report.material import Material
from moisturemap.report.sections import without_scan
from moisturemap.report.sections.appendix import floor_data, origin, readings_listed
from moisturemap.report.sections.dried import drying, machines
from moisturemap.report.sections.drilling import cautions, holes, set_out
from moisturemap.report.sections.evidence import conditions, deviations, instruments
from moisturemap.report.sections.findings import asked, result
from moisturemap.report.sections.first_page import first_page
from moisturemap.report.sections.investigation import water_source
from moisturemap.report.sections.limits import cannot_say, limits_of_use
from moisturemap.report.sections.room_table import rooms
from moisturemap.report.sections.scan import anomalies, map_check, the_map, wet_zones
from moisturemap.report.sections.storeys import storeys
from moisturemap.report.sections.tested import photographs, profiles, rules, tests

BODY = (
    first_page,
    asked,
    result,
    storeys,
    rooms,
    wet_zones,
    the_map,
    tests,
    profiles,
    rules,
    drying,
    machines,
    water_source,
    anomalies,
    holes,
    cautions,
    set_out,
    instruments,
    conditions,
    map_check,
    photographs,
    deviations,
    cannot_say,
    limits_of_use,
)
"""Sections in the order of the report; each returns None when it has nothing to say."""

Maker = Callable[[Material], Section | None]


@dataclass(frozen=True, slots=True)
class Parts:
    """What a kind of report is put together from.

    Attributes
    ----------
    subtitle : str
    body, summary, appendices : tuple of callable
        Sections in the order of the report, of the two pages for the client, and behind them.
    """

    subtitle: str
    body: tuple[Maker, ...]
    summary: tuple[Maker, ...]
    appendices: tuple[Maker, ...]


WITH_SCAN = Parts(
    "Moisture survey of the subfloor",
    BODY,
    (first_page, asked, rooms, cannot_say, limits_of_use),
    (readings_listed, floor_data, origin),
)

TESTS_ALONE = Parts(
    "Calibrated moisture tests of the subfloor, without a scan",
    (
        without_scan.first_page,
        asked,
        without_scan.result,
        without_scan.rooms,
        tests,
        profiles,
        rules,
        instruments,
        conditions,
        photographs,
        deviations,
        without_scan.cannot_say,
        limits_of_use,
    ),
    (
        without_scan.first_page,
        asked,
        without_scan.rooms,
        without_scan.cannot_say,
        limits_of_use,
    ),
    (floor_data, origin),
)

__all__ = ["TESTS_ALONE", "WITH_SCAN"]
