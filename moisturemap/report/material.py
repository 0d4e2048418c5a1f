"""What a report is made from."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cached_property

from moisturemap.acceptance import Asked, Decision, asked_after
from moisturemap.bundles import DryingPlan, Study
from moisturemap.figures.sheet import Format
from moisturemap.investigation import Investigation
from moisturemap.language import units_in
from moisturemap.report.content import FOOTER, Picture
from moisturemap.report.options import PAPERS, UPRIGHT, ReportOptions
from moisturemap.report.wording import Wording
from moisturemap.store import Revisions
from moisturemap.survey import Survey, Visit

TESTS_FOOTER = "Results hold for the tested places at the time they were read."
"""At the foot of every sheet on a floor that was not scanned."""


@dataclass(frozen=True, kw_only=True)
class Supplement:
    """What a report may hold beside the study; sections appear for what is there.

    Attributes
    ----------
    decision : Decision or None
        Result of :func:`moisturemap.acceptance.decide`.
    drying : DryingPlan or None
        Result of :func:`moisturemap.workflow.plan_drying`.
    investigation : Investigation or None
        Result of :func:`moisturemap.workflow.investigate.investigate`.
    pictures : sequence of Picture or None
        The map and further figures, instead of those the package draws.
    photographs : sequence of Picture
        Photographs of holes and readings.
    not_shown : sequence of str
        What is said of photographs that could not be shown.
    clearances : mapping of str to mapping
        Cautions before drilling that are cleared, each with ``by``, ``on`` and ``document``.
    revisions : Revisions
        Reports issued before, from :func:`moisturemap.store.revisions_of`.
    made : datetime or None
        When the report is made; now by default.
    """

    decision: Decision | None = None
    drying: DryingPlan | None = None
    investigation: Investigation | None = None
    pictures: Sequence[Picture] | None = None
    photographs: Sequence[Picture] = ()
    not_shown: Sequence[str] = ()
    clearances: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    revisions: Revisions = field(default_factory=Revisions)
    made: datetime | None = None


def report_stem(number: str, language: str) -> str:
    """Return what the file of an issued report is called: by its number and its language."""
    return re.sub(r"[^\w.-]+", "-", f"report-{number}-{language}").strip("-.")[:80]


@dataclass(frozen=True)
class Material:
    """Everything the sections draw from."""

    found: Study | Survey
    options: ReportOptions = field(default_factory=ReportOptions)
    supplement: Supplement = field(default_factory=Supplement)

    @property
    def scanned(self) -> bool:
        """Whether there is a scan; without one the report rests on calibrated tests alone."""
        return isinstance(self.found, Study)

    @property
    def study(self) -> Study:
        """The study of the scan; only sections of a floor that was scanned ask for it."""
        assert isinstance(self.found, Study)
        return self.found

    @property
    def survey(self) -> Survey:
        """The survey, scanned or not."""
        return self.found if isinstance(self.found, Survey) else self.found.survey

    @property
    def visit(self) -> Visit:
        """The visit of the scan; without one the latest."""
        return self.found.visits[-1] if isinstance(self.found, Survey) else self.found.visit

    @property
    def foot(self) -> str:
        """What stands at the foot of every sheet."""
        return FOOTER if self.scanned else TESTS_FOOTER

    @property
    def wording(self) -> Wording:
        """Units, days and the zone of the visit."""
        started = self.visit.started
        zone = None if started is None else started.tzinfo
        own = units_in(self.options.language, self.survey.units)
        return Wording(self.options.units or own, self.options.dates, zone)

    @property
    def form(self) -> Format:
        """Size and units of the figures."""
        width, height = UPRIGHT[PAPERS[self.options.paper]]
        return Format(width_mm=width, height_mm=height, units=self.wording.system)

    @cached_property
    def asked(self) -> tuple[Asked, Asked]:
        """What the rules ask for now, and were every hole of the plan tested validly."""
        decision, study = self.supplement.decision, self.study
        assert decision is not None
        places = [(float(one.x), float(one.y)) for one in study.drilling.holes.itertuples()]
        return (
            asked_after(self.survey, study, decision, ()),
            asked_after(self.survey, study, decision, places),
        )

    @property
    def made(self) -> datetime:
        """When the report is made."""
        return self.supplement.made or datetime.now(UTC)

    @property
    def made_here(self) -> datetime:
        """The same, in the zone of the visit."""
        return self.made if self.wording.zone is None else self.made.astimezone(self.wording.zone)

    @property
    def record(self) -> tuple[int, str] | None:
        """Number and hash of the head of the record of changes, when there is one."""
        told = self.survey.provenance.options
        if "record_hash" not in told:
            return None
        return int(told["record_number"]), str(told["record_hash"])

    @property
    def number(self) -> str:
        """Number of the report: the user's, or one that follows from what it is made of."""
        if self.options.number:
            return self.options.number
        inputs = [one.sha256 for one in self.survey.provenance.inputs]
        parts = [self.survey.name, self.visit.id, *inputs, *map(str, self.record or ())]
        seal = hashlib.sha256("\n".join(parts).encode("utf-8", "replace")).hexdigest()[:8].upper()
        return f"{self.visit.id}-{seal}"
