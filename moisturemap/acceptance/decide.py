"""The decision: limit, evidence, coverage, verdict, what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime
from pathlib import Path

import geopandas as gpd
import pandas as pd

from moisturemap.acceptance.chance import ChanceView, chance_view
from moisturemap.acceptance.check import check_table
from moisturemap.acceptance.coverage import Cover, Ground, cover, cover_age, coverage_table
from moisturemap.acceptance.evidence import (
    JudgedTest,
    findings_table,
    judge_tests,
    tests_table,
)
from moisturemap.acceptance.next_step import next_steps
from moisturemap.acceptance.proof import proof_sentence
from moisturemap.acceptance.record import entries_of, method_named
from moisturemap.acceptance.rule import RuleBook, packaged_rules
from moisturemap.acceptance.sealed import SpotVerdict, judge_spots
from moisturemap.acceptance.verdict import GUARD_SOURCE
from moisturemap.calibration import CalibrationCurve, RelateOptions, relate
from moisturemap.checked import checked
from moisturemap.errors import OptionError
from moisturemap.floorplan import Room
from moisturemap.provenance import Provenance
from moisturemap.slab import SpotOptions, equilibrium_moisture, rules_of_thumb
from moisturemap.survey import Limit, Survey
from moisturemap.zones import MappedVisit

SPOT_COLUMNS = (
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

USE_LIMITS = (
    "The results hold for the tested places at the time they were read; they promise nothing for"
    " other places or for later wetting.",
    "The scan is comparative: it guides where to test, and acceptance rests on the calibrated"
    " tests alone.",
    "The document of the covering and adhesive maker, the project specification and local code come"
    " before every rule used here.",
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
        True: a test meets the limit only with its uncertainty; False: by the reading alone.
    units : str
        ``metric`` or ``feet``: the unit the job is reported in, which counts of tests follow.
    as_of : datetime or None
        Day of the decision, with zone; None takes the latest time in the survey.
    spot : SpotOptions
    seed : int
    """

    rules: Path | None = None
    guard_band: bool = True
    units: str = "metric"
    as_of: datetime | None = None
    spot: SpotOptions = field(default_factory=SpotOptions)
    seed: int = 7

    def __post_init__(self) -> None:
        if self.units not in ("metric", "feet"):
            message = "unknown units"
            raise OptionError(message, value=self.units, allowed="metric, feet")
        if self.as_of is not None and self.as_of.tzinfo is None:
            message = "the day of the decision needs a zone"
            raise OptionError(message, value=self.as_of.isoformat(), allowed="a time with zone")


@dataclass(frozen=True)
class Decision:
    """The verdict on a floor, with everything it rests on.

    Attributes
    ----------
    verdict : str
        ``meets``, ``exceeds`` or ``not proven``.
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
    spots : tuple of SpotVerdict
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
    provenance : Provenance
        Files of the survey, options and versions: enough to make it again.
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
    spots: tuple[SpotVerdict, ...]
    coverage: pd.DataFrame
    proof: str
    curves: tuple[CalibrationCurve, ...]
    chance: ChanceView | None
    book: RuleBook
    statements: tuple[str, ...]
    provenance: Provenance = field(default_factory=Provenance)

    @property
    def spot_table(self) -> pd.DataFrame:
        """Spots with readings at depth; columns ``SPOT_COLUMNS``."""
        return pd.DataFrame([_spot_row(spot) for spot in self.spots], columns=list(SPOT_COLUMNS))

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
    book = packaged_rules()
    if options.rules is not None:
        book = book.with_file(options.rules)
    limits = limits_by_room(survey)
    judged = judge_tests(entries_of(survey), limits, book, guard=options.guard_band)
    spots = judge_spots(judged, limits, options=options.spot)
    covers = _covers(survey, study, judged, book, options)
    curves = relate_all(survey, study, judged)
    verdict, reasons = floor_verdict(judged, spots, covers)
    tolerance, rejects = _tolerances(book)
    passing = sum(test.verdict.verdict == "meets" for test in judged if test.judged)
    count = sum(test.judged for test in judged)
    zoned = [one for one in covers if one.rule.id == "wettest-zone" and one.needed]
    wettest = any(one.met is True for one in zoned)
    return Decision(
        verdict,
        _sentence(verdict, count),
        reasons,
        next_steps(judged, spots, covers, any(limits.values())),
        limits,
        judged,
        tests_table(judged, limits),
        findings_table(judged),
        check_table(survey.instruments, tolerance, rejects),
        spots,
        coverage_table(covers),
        proof_sentence(passing, count, wettest),
        curves,
        chance_view(judged, limits, survey.plan, study, curves, seed=options.seed),
        book,
        (*_statements(options, spots), *_timber_statements(judged)),
        Provenance(survey.provenance.inputs, {**asdict(options), "rules": list(book.sources)}),
    )


def limits_by_room(survey: Survey) -> dict[str, Limit | None]:
    """Return the limit of each room by its name; "" is that of places off the plan."""
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
    values = {t.entry.key: t.result.value for t in judged if t.counts and t.for_limit}
    keys = survey.tests["test"].astype(str)
    tests = survey.tests[keys.isin(values)].assign(value=keys.map(values).astype(float))
    options = RelateOptions(reading_sd=study.clean.repeat_sd)
    return relate(replace(survey, tests=tests), study.visit, study.readings, options=options)


def _covers(
    survey: Survey,
    study: MappedVisit | None,
    judged: Sequence[JudgedTest],
    book: RuleBook,
    options: DecideOptions,
) -> list[Cover]:
    zones: gpd.GeoDataFrame | None = study.wet.zones if study is not None else None
    unmapped = () if study is None else study.moisture.unmapped_rooms
    grounds: dict[str, list[Room]] = {}
    limits = limits_by_room(survey)
    for room in survey.plan.rooms:
        limit = limits[room.name]
        if limit is not None:
            grounds.setdefault(method_named(limit.method).key, []).append(room)
    covers: list[Cover] = []
    for method, rooms in grounds.items():
        ground = Ground(method, tuple(rooms), survey.plan, zones, unmapped)
        covers += cover(judged, ground, book, options.units)
    return covers + cover_age(judged, book, _as_of(survey, judged, options))


def _as_of(survey: Survey, judged: Sequence[JudgedTest], options: DecideOptions) -> datetime | None:
    if options.as_of is not None:
        return options.as_of
    times = [visit.started for visit in survey.visits]
    times += [test.entry.moment("read") for test in judged]
    return max((moment for moment in times if moment is not None), default=None)


def floor_verdict(
    judged: Sequence[JudgedTest], spots: Sequence[SpotVerdict], covers: Sequence[Cover]
) -> tuple[str, tuple[str, ...]]:
    """Return the verdict on the floor and its reasons; the highest result governs."""
    tests = sorted((test for test in judged if test.judged), key=_excess, reverse=True)
    governing = [spot for spot in spots if spot.governs]
    said = [(t.verdict.verdict, f"{t.entry.label}: {t.verdict.why}") for t in tests]
    said += [(s.verdict, f"{s.spot}: {s.why}") for s in governing]
    exceeding = [why for verdict, why in said if verdict == "exceeds"]
    doubtful = [why for verdict, why in said if verdict == "not proven"]
    gaps = [one.sentence for one in covers if one.required and one.met is False]
    if not tests:
        gaps.insert(0, "no valid test was held against a limit")
    reasons = (*exceeding, *doubtful, *gaps)
    if exceeding:
        return "exceeds", reasons
    if doubtful or gaps:
        return "not proven", reasons
    highest = tests[0]
    return "meets", (f"the highest result governs, {highest.entry.label}: {highest.verdict.why}",)


def _excess(test: JudgedTest) -> float:
    return test.verdict.chance_above if test.verdict.chance_above is not None else 1.0


def _sentence(verdict: str, count: int) -> str:
    if verdict == "meets":
        return (
            f"Meets the limit at all {count} places validly tested, and the tests cover the floor"
            " by the rules in force."
        )
    if verdict == "exceeds":
        return "Exceeds the limit: at least one place does, and the highest result governs."
    return "Not proven: the tests do not show that the floor meets the limit."


def _tolerances(book: RuleBook) -> tuple[float, float]:
    close, far = book.rules.get("probe-deviation-close"), book.rules.get("probe-deviation")
    rejects = far.at_most if far and far.at_most is not None else float("inf")
    tolerance = close.at_most if close and close.at_most is not None else rejects
    return tolerance, rejects


def _statements(options: DecideOptions, spots: Sequence[SpotVerdict]) -> tuple[str, ...]:
    guard = (
        "A test meets the limit only when its result and its expanded uncertainty (k = 2) stay"
        " within it; it exceeds when the result itself is above; between, nothing is proven"
        f" ({GUARD_SOURCE})."
        if options.guard_band
        else "Tests are held against the limit by the reading alone, without guard band, as chosen."
    )
    model = next((s.estimate.statements for s in spots if s.estimate is not None), ())
    refused = [f"No sealed humidity at {s.spot}: {s.refusal}." for s in spots if s.refusal]
    odd = [f"{s.spot}: {r}." for s in spots if s.estimate is not None for r in s.estimate.remarks]
    thick = {s.estimate.spec.thickness_mm for s in spots if s.wait is not None and s.estimate}
    return (
        *USE_LIMITS,
        guard,
        *(f"The drying model assumes: {m}." for m in model),
        *refused,
        *odd,
        *(_thumb(one) for one in sorted(thick)),
    )


def _thumb(thickness_mm: float) -> str:
    """Rules of thumb beside the time the drying model gives."""
    said = "; ".join(
        f"{rule.rule} ({rule.source}): "
        + ("outside its range" if rule.days is None else f"{rule.days:.0f} days")
        for rule in rules_of_thumb(thickness_mm)
    )
    return (
        f"Rules of thumb for the whole drying of {thickness_mm:g} mm, which disagree and are linear"
        f" in thickness where diffusion is quadratic: {said}."
    )


def _timber_statements(judged: Sequence[JudgedTest]) -> list[str]:
    """Say at which moisture timber settles in the air it was tested in."""
    said: dict[str, None] = {}
    for test in judged:
        entry = test.entry
        air, humidity = entry.number("air_temperature_c"), entry.number("air_rh_pct")
        if entry.method.key != "pin" or air is None or humidity is None:
            continue
        if 0 <= air <= 60 and 0 <= humidity <= 95:
            said[
                f"In air of {air:g} C and {humidity:g} %RH timber settles near"
                f" {equilibrium_moisture(air, humidity):.0f} %MC (Wood Handbook)."
            ] = None
    return list(said)


def _spot_row(spot: SpotVerdict) -> tuple[object, ...]:
    depths = ", ".join(f"{reading.depth_mm:g}" for reading in spot.readings)
    read = ", ".join(f"{reading.rh_pct:g}" for reading in spot.readings)
    nothing = float("nan")
    found = (nothing,) * 6
    if spot.estimate is not None:
        sealed, band = spot.estimate.sealed, spot.estimate.hysteresis_band
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
