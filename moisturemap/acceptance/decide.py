"""The decision: limit, evidence, coverage, verdict, what to do next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Annotated

import geopandas as gpd
import pandas as pd

from moisturemap.acceptance.altered import altered_doubts, changes_told
from moisturemap.acceptance.chance import ChanceView, chance_view
from moisturemap.acceptance.check import check_table
from moisturemap.acceptance.cover import Cover, Ground
from moisturemap.acceptance.coverage import cover, cover_age, coverage_table
from moisturemap.acceptance.doubt import doubts
from moisturemap.acceptance.evidence import (
    Bench,
    JudgedTest,
    findings_table,
    judge_test,
    tests_table,
)
from moisturemap.acceptance.floor import FloorVerdict, exceeds_validly, floor_verdict
from moisturemap.acceptance.known import (
    known_on,
    known_study,
    said_of_lapsing,
)
from moisturemap.acceptance.limit_doubt import heated_limits
from moisturemap.acceptance.next_step import next_steps
from moisturemap.acceptance.proof import proof_sentence
from moisturemap.acceptance.record import entries_of, method_named
from moisturemap.acceptance.rule import RuleBook, packaged_rules
from moisturemap.acceptance.sealed import ProfileVerdict, judge_profiles, without_verdict
from moisturemap.acceptance.sentence import choices_words, verdict_sentence
from moisturemap.acceptance.shared_zone import parts_under_limits
from moisturemap.acceptance.statements import decision_statements
from moisturemap.acceptance.supersede import supersede
from moisturemap.acceptance.told import told_beside
from moisturemap.acceptance.uncertainty import largest
from moisturemap.acceptance.unjudged import unjudged_table
from moisturemap.acceptance.unmapped import places_without_map
from moisturemap.acceptance.verdict import USUAL_RISK
from moisturemap.acceptance.waits import with_waits
from moisturemap.acceptance.wet_reach import wet_readings
from moisturemap.calibration import CalibrationCurve, RelateOptions, relate
from moisturemap.checked import between, checked, one_of
from moisturemap.errors import OptionError
from moisturemap.floorplan import Room
from moisturemap.provenance import Provenance
from moisturemap.slab import ProfileOptions
from moisturemap.survey import Limit, Survey
from moisturemap.zones import MappedVisit, wettest_parts
from moisturemap.zones.other_meter import places_of_other_meters
from moisturemap.zones.standing_out import read_wet

PROFILE_COLUMNS = (
    "spot",
    "room",
    "x",
    "y",
    "depths_mm",
    "read_pct",
    "depth_mean",
    "sealed",
    "sealed_low",
    "sealed_high",
    "hysteresis_low",
    "hysteresis_high",
    "limit",
    "chance_above",
    "verdict",
    "governs",
    "why",
)


@dataclass(frozen=True, slots=True, kw_only=True)
@checked
class DecideOptions:
    """What the user may choose about a decision.

    Attributes
    ----------
    rules : Path or None
        A file of rules of a country or maker, laid over those of the package.
    guard_band : bool
        True: a test meets the limit only with its uncertainty; False: by the value alone.
    risk : float
        Consumer's risk that sets the guard band, where the document of the limit states none.
    units : str
        ``metric`` or ``feet``: the unit the job is reported in, which counts of tests follow;
        ``stricter`` takes the one that asks for more, whatever a screen or report shows.
    as_of : datetime or None
        Day of the decision, with zone; None takes today.
    spot : ProfileOptions
    seed : int
    """

    rules: Path | None = None
    guard_band: bool = True
    risk: Annotated[float, between(0.0, 0.5)] = USUAL_RISK
    units: Annotated[str, one_of("metric", "feet", "stricter")] = "stricter"
    as_of: datetime | None = None
    spot: ProfileOptions = field(default_factory=ProfileOptions)
    seed: int = 7

    def __post_init__(self) -> None:
        if self.as_of is not None and self.as_of.tzinfo is None:
            message = "the day of the decision needs a zone"
            raise OptionError(message, value=self.as_of.isoformat(), allowed="a time with zone")

    @property
    def accepted_risk(self) -> float:
        """The risk in force: 0.5 without guard band."""
        return self.risk if self.guard_band else 0.5


@dataclass(frozen=True)
class Decision:
    """The verdict on a floor, with everything it rests on.

    Attributes
    ----------
    verdict : str
        ``meets``, ``exceeds``, ``not proven`` or ``not proven: conflicting evidence``.
    sentence : str
        The verdict in a sentence.
    reasons : tuple of str
        Why, the governing reason first.
    next_steps : tuple of str
    limits : dict of str to Limit or None
        By room.
    judged : tuple of JudgedTest
    tests : pandas.DataFrame
        Columns ``TEST_VERDICT_COLUMNS``.
    findings : pandas.DataFrame
        Columns ``FINDING_COLUMNS``: every rule not kept, with its source.
    checks : pandas.DataFrame
        Columns ``CHECK_COLUMNS``.
    spots : tuple of ProfileVerdict
    coverage : pandas.DataFrame
        Columns ``COVERAGE_COLUMNS``.
    proof : str
        What the passing tests support, as statistics.
    curves : tuple of CalibrationCurve
        How the scan goes with the tests, by slab; never used for acceptance.
    chance : ChanceView or None
        Chance that any place exceeds the limit, given the tests.
    book : RuleBook
        The rules in force.
    statements : tuple of str
        Limits of use and assumptions.
    unjudged : pandas.DataFrame
        Columns ``UNJUDGED_COLUMNS``: what was recorded and does not speak for the floor, and why.
    as_of : datetime
        Day of the decision.
    holds_until : datetime or None
        Until when a floor that meets does so by the rules on the age of tests; None else.
    provenance : Provenance
        Files of the survey, options and versions: enough to make it again.
    brief : mapping of str to str
        Reasons that are long, each in one line; "" for what is no reason any more.
    """

    verdict: str
    sentence: str
    reasons: tuple[str, ...]
    next_steps: tuple[str, ...]
    limits: dict[str, Limit | None]
    judged: tuple[JudgedTest, ...]
    tests: pd.DataFrame
    findings: pd.DataFrame
    checks: pd.DataFrame
    spots: tuple[ProfileVerdict, ...]
    coverage: pd.DataFrame
    proof: str
    curves: tuple[CalibrationCurve, ...]
    chance: ChanceView | None
    book: RuleBook
    statements: tuple[str, ...]
    unjudged: pd.DataFrame
    as_of: datetime
    holds_until: datetime | None = None
    provenance: Provenance = field(default_factory=Provenance)
    brief: Mapping[str, str] = field(default_factory=dict)

    @property
    def validly(self) -> bool:
        """False where the floor exceeds its limit by tests alone that are not valid."""
        return self.verdict != "exceeds" or exceeds_validly(self.judged, self.spots)

    @property
    def brief_reasons(self) -> tuple[str, ...]:
        """The reasons, each in one line that carries its numbers, without results replaced."""
        return tuple(told for one in self.reasons if (told := self.brief.get(one, one)))

    @property
    def profile_table(self) -> pd.DataFrame:
        """Spots with readings at depth; columns ``PROFILE_COLUMNS``."""
        return pd.DataFrame([_spot_row(spot) for spot in self.spots], columns=list(PROFILE_COLUMNS))

    @property
    def rules(self) -> pd.DataFrame:
        """The rules that some test or the whole did not keep, and those on coverage, cited."""
        used = dict.fromkeys([*self.findings["rule"], *self.coverage["rule"]])
        wanted = ["id", "words", "document", "source", "sureness"]
        return pd.DataFrame(self.book.citations(used), columns=wanted)


def decide(
    survey: Survey, study: MappedVisit | None = None, *, options: DecideOptions | None = None
) -> Decision:
    """Judge a floor by its calibrated tests.

    Parameters
    ----------
    survey : Survey
    study : Study, optional
        The scan of the same floor: shows whether the wettest floor was tested and relates scan and
        tests. It never makes a floor pass.
    options : DecideOptions, optional

    Notes
    -----
    The highest valid result governs; nothing is averaged. A sealed humidity worked out from several
    depths counts like a test: a dry skin over a wet core does not pass.
    """
    options = options or DecideOptions()
    found = weigh(survey, study, options=options)
    study = known_study(study, found.as_of)
    judged, limits, book = found.judged, found.limits, found.book
    spots = judge_profiles(judged, limits, options=options.spot)
    spots = with_waits(spots, judged, known_on(survey, found.as_of), found.as_of)
    curves = relate_all(survey, study, judged)
    tolerance, rejects = (
        largest(book, "probe-deviation-close", 2.0),
        largest(book, "probe-deviation", 3.0),
    )
    passing = sum(test.verdict.verdict == "meets" for test in judged if test.judged)
    count = sum(test.judged for test in judged)
    zoned = [one for one in found.covers if one.rule.id == "wettest-zone" and one.needed]
    choices = choices_words(options.accepted_risk, book, limits)
    chosen = {**asdict(options), "rules": list(book.sources), "as_of": found.as_of.isoformat()}
    return Decision(
        found.floor.verdict,
        verdict_sentence(
            found.floor.verdict,
            count,
            found.holds_until,
            choices,
            validly=exceeds_validly(judged, spots),
        ),
        (*found.floor.reasons, *changes_told(survey, found.floor.reasons), *found.remarks),
        next_steps(judged, spots, found.covers, any(limits.values()), found.floor.conflicting),
        limits,
        judged,
        tests_table(judged, limits),
        findings_table(judged),
        check_table(survey.instruments, tolerance, rejects),
        without_verdict(spots),
        coverage_table(found.covers),
        proof_sentence(passing, count, any(one.met is True for one in zoned)),
        curves,
        chance_view(judged, limits, survey.plan, study, curves, seed=options.seed),
        book,
        (
            *heated_limits(survey.plan.rooms, limits),
            *decision_statements(spots, judged, options.accepted_risk),
        ),
        unjudged_table(judged),
        found.as_of,
        found.holds_until,
        Provenance(survey.provenance.inputs, chosen),
        found.floor.brief,
    )


@dataclass(frozen=True)
class Weighed:
    """The verdict on a floor without what only accompanies it.

    Attributes
    ----------
    floor : FloorVerdict
    judged : tuple of JudgedTest
    covers : tuple of Cover
    limits : dict of str to Limit or None
    book : RuleBook
    as_of : datetime
    holds_until : datetime or None
        Of a floor that meets.
    remarks : tuple of str
        What of the scans stands in no map beside the tests, and why.
    """

    floor: FloorVerdict
    judged: tuple[JudgedTest, ...]
    covers: tuple[Cover, ...]
    limits: dict[str, Limit | None]
    book: RuleBook
    as_of: datetime
    holds_until: datetime | None
    remarks: tuple[str, ...] = ()


def weigh(
    survey: Survey, study: MappedVisit | None = None, *, options: DecideOptions | None = None
) -> Weighed:
    """Come to the verdict alone: tests, governing spots, coverage.

    Parameters
    ----------
    survey : Survey
    study : MappedVisit, optional
    options : DecideOptions, optional
    """
    options = options or DecideOptions()
    book = packaged_rules()
    if options.rules is not None:
        book = book.with_file(options.rules)
    limits = limits_by_room(survey)
    as_of = options.as_of or datetime.now(UTC)
    bench = Bench(limits, book, options.accepted_risk, as_of)
    known, study = known_on(survey, as_of), known_study(study, as_of)
    judged = tuple(supersede([judge_test(entry, bench) for entry in entries_of(known)]))
    spots = judge_profiles(judged, limits, options=options.spot, governing=True)
    covers = tuple(covers_of(known, study, judged, book, options))
    against = [*altered_doubts(known, judged, bench), *doubts(survey, judged)]
    floor = floor_verdict(judged, spots, covers, unlimited(limits), against)
    until = _holds_until(judged, book) if floor.verdict == "meets" else None
    told = told_beside(survey, study, judged, floor.verdict, as_of)
    told += said_of_lapsing(survey, until)
    return Weighed(floor, judged, covers, limits, book, as_of, until, told)


def unlimited(limits: dict[str, Limit | None]) -> tuple[str, ...]:
    """Return the rooms without a limit where others have one: nothing clears them.

    Parameters
    ----------
    limits : dict of str to Limit or None
        By room; "" is off the plan.
    """
    if not any(limits.values()):
        return ()
    return tuple(name for name, limit in limits.items() if limit is None and name)


def _holds_until(judged: Sequence[JudgedTest], book: RuleBook) -> datetime | None:
    """When the oldest test the verdict rests on grows too old."""
    reads = [test.read for test in judged if test.judged and test.read is not None]
    spans = [rule.at_most_days for rule in book.ages.values()]
    return min(reads) + timedelta(days=min(spans)) if reads and spans else None


def limits_by_room(survey: Survey) -> dict[str, Limit | None]:
    """Return the limit of each room by its name; "" is that of places off the plan.

    Parameters
    ----------
    survey : Survey
    """
    limits: dict[str, Limit | None] = {
        room.name: survey.room_limits.get(room.name, survey.limit) for room in survey.plan.rooms
    }
    return {**limits, "": survey.limit}


def relate_all(
    survey: Survey, study: MappedVisit | None, judged: Sequence[JudgedTest]
) -> tuple[CalibrationCurve, ...]:
    """Relate the scan of a study to the tests of its visit that count and stand for the limit."""
    if study is None:
        return ()
    values = {t.entry.key: t.value for t in judged if t.counts and t.for_limit}
    keys = survey.tests["test"].astype(str)
    tests = survey.tests[keys.isin(values)].assign(value=keys.map(values).astype(float))
    options = RelateOptions(reading_sd=study.clean.repeat_sd)
    return relate(replace(survey, tests=tests), study.visit, study.readings, options=options)


def covers_of(
    survey: Survey,
    study: MappedVisit | None,
    judged: Sequence[JudgedTest],
    book: RuleBook,
    options: DecideOptions,
) -> list[Cover]:
    """Hold tests against the rules on the tests as a whole, method by method."""
    zones: gpd.GeoDataFrame | None = study.wet.zones if study is not None else None
    unread = () if study is None else study.unread_rooms
    highest = (*places_without_map(survey, study), *places_of_other_meters(survey, study))
    limits = limits_by_room(survey)
    highest += () if study is None else parts_under_limits(study, limits)
    wettest = {} if study is None else wettest_parts(study.moisture, study.wet)
    surely = frozenset() if study is None else read_wet(study)
    wet = None if study is None else wet_readings(study)
    grounds: dict[str, list[Room]] = {}
    for room in survey.plan.rooms:
        limit = limits[room.name]
        if limit is not None:
            grounds.setdefault(method_named(limit.method).key, []).append(room)
    covers: list[Cover] = []
    for method, rooms in grounds.items():
        of_method = Ground(method, tuple(rooms), survey.plan, zones, unread, highest, wettest)
        ground = replace(of_method, read_wet=surely, wet=wet)
        covers += cover(judged, ground, book, options.units)
    return covers + cover_age(judged, book)


def _spot_row(spot: ProfileVerdict) -> tuple[object, ...]:
    depths = ", ".join(f"{reading.depth_mm:g}" for reading in spot.readings)
    read = ", ".join(f"{reading.rh_pct:g}" for reading in spot.readings)
    nothing = float("nan")
    found = (nothing,) * 6
    if spot.estimate is not None and spot.sealed is not None:
        sealed, band = spot.sealed, spot.estimate.hysteresis_band
        mean = spot.estimate.depth_mean.value
        found = (mean, sealed.value, sealed.low, sealed.high, *band)
    return (
        spot.spot,
        spot.room,
        spot.x,
        spot.y,
        depths,
        read,
        *found,
        nothing if spot.limit_pct is None else spot.limit_pct,
        spot.chance_above,
        spot.verdict,
        spot.governs,
        spot.why,
    )
