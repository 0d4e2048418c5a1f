"""The survey: what was measured, where, when, with what."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated

import pandas as pd

from moisturemap.checked import above, checked, within
from moisturemap.errors import SurveyError
from moisturemap.floorplan import FloorPlan, SitePlace
from moisturemap.provenance import Provenance
from moisturemap.survey.instrument import Instrument
from moisturemap.survey.issued_hole import IssuedHole
from moisturemap.survey.logger import LoggerSeries, MachineLog
from moisturemap.survey.visit import Visit

READING_COLUMNS = (
    "reading",
    "visit",
    "instrument",
    "x",
    "y",
    "value",
    "raw",
    "censored",
    "room",
    "label",
    "repeat",
    "time",
    "note",
    "source",
    "row",
)
"""``reading`` counts from 1 over the survey; ``value`` is NaN where nothing numeric was read;
``raw`` is the text as found; ``censored`` is "", "above" or "below"; ``source`` and ``row`` say
where it was read (the row as a spreadsheet numbers it, or a cell address)."""

TEST_COLUMNS = (
    "test",
    "visit",
    "hole",
    "x",
    "y",
    "method",
    "depth_mm",
    "value",
    "unit",
    "temperature_c",
    "air_temperature_c",
    "air_rh_pct",
    "drilled",
    "placed",
    "read",
    "instrument",
    "note",
    "source",
    "row",
)
"""Columns every table of calibrated tests has; methods add their own."""

EQUIPMENT_COLUMNS = (
    "machine",
    "visit",
    "kind",
    "x",
    "y",
    "direction_deg",
    "capacity",
    "unit",
    "note",
    "source",
    "row",
)
"""Drying machines; ``kind`` is "dehumidifier" or "air-mover"; direction is counter-clockwise from
the x axis [degrees]."""

DETAILS = ("client", "site", "country", "firm", "reference", "covering", "adhesive", "note")
"""What a survey may say of the job besides its name."""


@dataclass(frozen=True, slots=True)
@checked
class Limit:
    """The limit the calibrated tests are judged against, with the document that sets it.

    Attributes
    ----------
    method : str
        Method of test it is meant for.
    value : float
        [`unit`]
    unit : str
    source : str
        Document and revision.
    risk_pct : float or None
        Consumer's risk the document accepts [%]: the largest chance, for a place said to meet the
        limit, that it is really above; None takes the usual 5%.
    """

    method: str
    value: Annotated[float, above(0)]
    unit: str
    source: str
    risk_pct: Annotated[float | None, within(0.1, 50, "%")] = None


@dataclass(frozen=True, slots=True)
class ScanSettings:
    """What the survey itself says about its relative scale.

    Attributes
    ----------
    wet_level : float or None
    dry_reference : tuple of float
        Readings on floor known to be dry.
    base : str
        Material that level and reference are of, as rooms state it; "" where none is named.
    """

    wet_level: float | None = None
    dry_reference: tuple[float, ...] = ()
    base: str = ""


@dataclass(frozen=True)
class Survey:
    """Everything that was measured on one floor, as it was measured.

    Attributes
    ----------
    name : str
    plan : FloorPlan
    instruments : dict of str to Instrument
    visits : tuple of Visit
        In order of time; never empty.
    readings : pandas.DataFrame
        All visits, columns ``READING_COLUMNS``, nothing removed.
    tests : pandas.DataFrame
        Columns ``TEST_COLUMNS`` and those of the methods; may be empty.
    equipment : pandas.DataFrame
        Columns ``EQUIPMENT_COLUMNS``; may be empty.
    scan : ScanSettings
    limit : Limit or None
    room_limits : dict of str to Limit
        Limits of single rooms that override ``limit``.
    notes : tuple of str
        What was understood or mended while reading, in sentences.
    folder : Path or None
        Where it was read from.
    provenance : Provenance
    details : dict of str to str
        What a report says of the job: keys of ``DETAILS``.
    issued_holes : tuple of IssuedHole
        Holes of the drill plans that were issued, in their order.
    loggers : tuple of LoggerSeries
    machine_logs : tuple of MachineLog
    changed_tests : tuple of str
        Tests whose result or place was changed after they were stored, or that were set aside, and
        limits changed since a test was stored, and what a verdict rests on that was corrected since
        a report was issued, and readings that stood higher, in sentences; known of project files
        alone.
    former_readings : pandas.DataFrame
        Readings as they stood before they were lowered, moved or taken away; columns of
        ``readings``; of project files alone.
    former_tests : pandas.DataFrame
        Tests as first stored whose result, method or place was changed since, or that were set
        aside; columns of ``tests`` and ``told`` and ``altered_why``; of project files alone.
    hole_names : frozenset of str
        Names of holes under which a test was ever stored; of project files alone.
    record_faults : tuple of str
        What in a project file is not as its record of changes led to; of project files alone.
    lost_record : str
        What is missing of what was changed before, in a sentence; "" where nothing is.
    units : str
        What is printed of it unless asked otherwise: ``metric``, or ``us`` for a floor measured in
        feet or inches.
    site : SitePlace or None
        Where the plan lies on the site.
    timezone : str
        Zone of times that state none: an IANA name or an offset; "" where the survey names none.
    """

    name: str
    plan: FloorPlan
    instruments: dict[str, Instrument]
    visits: tuple[Visit, ...]
    readings: pd.DataFrame
    tests: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=list(TEST_COLUMNS)))
    equipment: pd.DataFrame = field(
        default_factory=lambda: pd.DataFrame(columns=list(EQUIPMENT_COLUMNS))
    )
    scan: ScanSettings = field(default_factory=ScanSettings)
    limit: Limit | None = None
    room_limits: dict[str, Limit] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    folder: Path | None = None
    provenance: Provenance = field(default_factory=Provenance)
    details: dict[str, str] = field(default_factory=dict)
    issued_holes: tuple[IssuedHole, ...] = ()
    loggers: tuple[LoggerSeries, ...] = ()
    machine_logs: tuple[MachineLog, ...] = ()
    changed_tests: tuple[str, ...] = ()
    former_readings: pd.DataFrame = field(default_factory=pd.DataFrame)
    former_tests: pd.DataFrame = field(default_factory=pd.DataFrame)
    hole_names: frozenset[str] = frozenset()
    record_faults: tuple[str, ...] = ()
    lost_record: str = ""
    units: str = "metric"
    site: SitePlace | None = None
    timezone: str = ""

    @property
    def lowered_readings(self) -> tuple[str, ...]:
        """The sentences on readings that once stood higher; of project files alone."""
        return tuple(one for one in self.notes if one in self.changed_tests)

    @property
    def missing_photographs(self) -> tuple[str, ...]:
        """The sentences on photographs that tests name and that are not there."""
        return tuple(one for one in self.notes if one.startswith("The photograph '"))

    def visit(self, visit: str | None = None) -> Visit:
        """Return a visit by its id, or the latest."""
        if visit is None:
            return self.visits[-1]
        for one in self.visits:
            if one.id == visit:
                return one
        allowed = ", ".join(one.id for one in self.visits)
        message = "no such visit"
        raise SurveyError(message, value=visit, allowed=allowed)

    def scanned_visit(self, visit: str | None = None) -> Visit:
        """Return a visit by its id, or the latest on which the floor was scanned.

        A visit on which probes are read again and nothing is scanned leaves the last scan standing.
        """
        if visit is None and not self.readings.empty:
            scanned = set(self.readings["visit"])
            return next(one for one in reversed(self.visits) if one.id in scanned)
        return self.visit(visit)

    def readings_of(self, visit: str | None = None) -> pd.DataFrame:
        """Return the readings of one visit (the latest when none is named)."""
        chosen = self.visit(visit).id
        return self.readings[self.readings["visit"] == chosen].reset_index(drop=True)
