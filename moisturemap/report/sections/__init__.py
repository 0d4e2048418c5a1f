"""The sections of a report, one file for each part of the job."""

from __future__ import annotations

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

SUMMARY = (first_page, asked, rooms, cannot_say, limits_of_use)
"""Sections of the two pages for the client."""

APPENDICES = (readings_listed, floor_data, origin)

__all__ = ["APPENDICES", "BODY", "SUMMARY"]
