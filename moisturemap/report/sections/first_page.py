"""Page one: is there a danger, may it be covered, where is it wet, what next and by whom."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import accumulate
from math import ceil

import pandas as pd

from moisturemap.acceptance import Decision
from moisturemap.drilling import DrillPlan
from moisturemap.drying import took_up_sentence
from moisturemap.language import keep_as_they_are, spoken
from moisturemap.report.content import (
    Block,
    Bullets,
    Column,
    Contents,
    Paragraph,
    Section,
    Table,
    Verdict,
)
from moisturemap.report.material import Material
from moisturemap.report.pictures import small_map
from moisturemap.report.reference import CLOSE, OPEN, plain, refer
from moisturemap.results.brief import TOLD_M2, beside_map_words, listed, wet_words

NO_DECISION = (
    "No calibrated test is judged in this report, so it says nothing about whether the floor may "
    "be covered. The relative scan shows where the floor reads higher or lower and guides where "
    "to test; a relative reading is not a moisture content."
)
ONLY_THERE = "The results hold for the tested places at the time they were read."
NOT_JUDGED = (
    "Calibrated tests are listed in this report but not judged against a limit. The relative scan "
    "guides where to test; acceptance rests on calibrated tests."
)

MOST_REASONS, MOST_LETTERS = 3, 170
"""Reasons on page one, and letters of a text there; the rest stands further back (our choice: page
one is one page)."""

PAGE_LINES, PAGE_LINES_ON_LETTER, LINE_LETTERS = 27, 23, 100
"""Lines of words and steps on page one beside its headings and map, and letters of one of words."""

SUMMARY_KEY_LINES = 1
"""Lines fewer on letter paper where the key of the map of a summary names lines and spots too."""

WHAT_LETTERS, WHO_LETTERS = 74, 27
"""Letters of a line in the columns of the table of steps (our choice, by the fullest page one: a
warning, three reasons and a wet zone; letter paper is 18 mm less high)."""

MEASURED = re.compile(r"\d\s?%|\d\s(?:days|Tage)\b")
"""Humidities, chances and waits: what makes a sentence true or false, so never left out."""

STEPS, FURTHER = "What to do next, and by whom", "Further steps"

HEADLINES = {
    "meets": "May it be covered? The tests meet the limit",
    "exceeds": "May it be covered? No: the limit is exceeded",
    "not proven": "May it be covered? Not proven",
    "not proven: conflicting evidence": "May it be covered? Not proven: conflicting evidence",
}
UNDECIDED = "May it be covered? No decision in this report"

INVALID = "May it be covered? No: tests that are not valid read above the limit"
COVERED_INVALID = "The floor is covered. Tests that are not valid read above the limit"

COVERED = {
    "meets": "The floor is covered. The tests meet the limit",
    "exceeds": "The floor is covered. It exceeds the limit",
    "not proven": "The floor is covered. That it meets the limit is not proven",
    "not proven: conflicting evidence": "The floor is covered. Not proven: conflicting evidence",
}
"""The same of a floor whose rooms all lie under a covering."""
COVERED_UNDECIDED = "The floor is covered. No decision in this report"

FULL = "the technical report"
"""Where a summary leads to; in a language of cases, the third."""

ONE_VISIT = "One scan cannot show a leak: moisture that rises is seen only by scanning again."
NOTHING_RISES = (
    "No reading is shown to rise from any visit to the next, nor from the first visit to the "
    "latest. That does not exclude a leak."
)


def first_page(material: Material) -> Section:
    """Answer the four questions of a client, most urgent first."""
    blocks: list[Block] = [*_danger(material), verdict(material)]
    blocks += reasons(material)
    blocks.append(Paragraph("Where does it read wet?", "lead"))
    blocks.append(Paragraph(material.wording.sentence(wet_words(material.study))))
    blocks += _beside_map(material)
    if material.supplement.pictures is None:
        summary = material.options.summary
        lower = summary and material.options.paper == "Letter"
        blocks.append(small_map(material.study, material.form, lower=lower, anomalies=summary))
    return Section("In short", (*blocks, *next_steps(material, _steps(material), blocks)))


def _danger(material: Material) -> list[Block]:
    """Say whether water is still arriving, and what to be careful of."""
    plan = material.supplement.drying
    say = material.wording.sentence
    if plan is None or len(plan.comparison.drying.series.visits) < 2:
        return [Paragraph(ONE_VISIT, "note")]
    drying = plan.comparison.drying
    if drying.rising.empty and not drying.rises:
        return [Paragraph(NOTHING_RISES, "note")]
    rising = [
        (f"{one.area} in {one.room}", f"in {one.room}", material.wording.area(one.area_m2))
        for one in drying.rising.itertuples()
    ]
    at = "; ".join(f"{named}, {size}" for named, _, size in rising)
    unnamed = "; ".join(f"{room}, {size}" for _, room, size in rising)
    ids = [one.id for one in drying.series.visits]
    said = []
    over = f"from {ids[0]} to {ids[-1]}"
    if rising and material.options.summary:  # its map shows no change, so no name of one
        said.append(f"Possible active leak: the reading rose {over} {unnamed}.")
    elif rising:
        said.append(f"Possible active leak: the reading rose {over} at {at}.")
    if drying.rises:
        said.append(took_up_sentence(drying.rises))
    said.append(
        "Find and stop the source before drying on. Water near electricity is for an electrician "
        "first."
    )
    return [Paragraph(" ".join(map(say, said)), "warning")]


def _beside_map(material: Material) -> list[Block]:
    """List what the map cannot show and may be wet."""
    where = "in the technical report" if material.options.summary else "further back"
    told = [material.wording.sentence(text) for text in beside_map_words(material.study)]
    return [Bullets(tuple(short(text, where) for text in told))] if told else []


def reasons(material: Material) -> list[Block]:
    """List the first reasons of a verdict."""
    decision = material.supplement.decision
    if decision is None or not decision.reasons:
        return []
    told = [material.wording.sentence(text) for text in decision.brief_reasons]
    where = "in the technical report" if material.options.summary else "under Result"
    shown = [short(text, where) for text in told[:MOST_REASONS]]
    if len(told) > len(shown):
        left = len(told) - len(shown)
        further = f"{left} more, under Result."
        if material.options.summary:
            further = f"{left} more, in the technical report."
        shown.append(further)
    return [Bullets(tuple(shown))]


def verdict(material: Material) -> Verdict:
    """Answer in one line whether the floor may be covered."""
    decision, say = material.supplement.decision, material.wording.sentence
    if decision is None:
        text = NOT_JUDGED if len(material.survey.tests) else NO_DECISION
        return Verdict(COVERED_UNDECIDED if _covered(material) else UNDECIDED, text)
    headlines = COVERED if _covered(material) else HEADLINES
    headline = headlines.get(decision.verdict, decision.verdict)
    if not decision.validly:
        headline = COVERED_INVALID if _covered(material) else INVALID
    return Verdict(headline, f"{say(decision.sentence)} {ONLY_THERE} {_as_of(material)}")


def _as_of(material: Material) -> str:
    """Say for which day it is judged, and whether the report is issued."""
    decision, wording = material.supplement.decision, material.wording
    assert decision is not None
    told = f"Judged as of {wording.day(wording.here(decision.as_of))}."
    return told if material.options.issued_by else f"{told} This report is a draft, not issued."


def _covered(material: Material) -> bool:
    """Whether every room is covered on the day of the decision, else of the latest visit."""
    decision, visits = material.supplement.decision, material.survey.visits
    days = [one.started for one in visits if one.started is not None]
    when = decision.as_of if decision is not None else max(days, default=None)
    day = None if when is None else when.date()
    return all(room.slab.covered_on(day) for room in material.survey.plan.rooms)


Step = tuple[str, str]
"""What to do, and by whom."""


def next_steps(material: Material, steps: Sequence[Step], above: Sequence[Block]) -> list[Block]:
    """List the steps that fit below what stands above, and the rest behind the contents.

    A summary keeps to two pages: it counts the rest and leads to the technical report.
    """
    rows = [
        (f"{n}", material.wording.sentence(what), who) for n, (what, who) in enumerate(steps, 1)
    ]
    columns = (Column("No.", 0.25, "right"), Column("What to do next", 5), Column("By whom", 2))
    options = material.options
    page = PAGE_LINES
    if options.paper == "Letter":
        page = PAGE_LINES_ON_LETTER - (SUMMARY_KEY_LINES if options.summary else 0)
    kept = _fitting(rows, page - sum(map(_lines, above)))
    shown, left = rows[:kept], rows[kept:]
    if left:
        more = f"{len(left)} more under {FURTHER} ({refer('next-rest')})."
        if options.summary:
            more = f"{len(left)} more, in the technical report."
        shown.append(("", more, ""))
    first = Table(STEPS, columns, tuple(shown), key="next")
    if options.summary:
        return [first]
    if not left:
        return [first, Contents()]
    rest = Table(FURTHER, columns, tuple(left), key="next-rest")
    return [first, Contents(), Paragraph(FURTHER, "lead"), rest]


def _lines(block: Block) -> int:
    """Return the lines of words above the map, a warning's frame counted as one."""
    match block:
        case Paragraph(text, kind):
            texts, more = (text,) if kind != "lead" else (), int(kind == "warning")
        case Verdict(_, text):
            texts, more = (text,), 0
        case Bullets(texts):
            more = 0
        case _:
            return 0
    return more + sum(ceil(len(plain(one)) / LINE_LETTERS) for one in texts)


def _fitting(rows: Sequence[tuple[str, str, str]], most: int) -> int:
    """Count the steps that have room on page one, going by their letters."""
    told = [(re.sub(f"{OPEN}.*?{CLOSE}", "Table 12", what), who) for _, what, who in rows]
    lines = [max(ceil(len(a) / WHAT_LETTERS), ceil(len(b) / WHO_LETTERS)) for a, b in told]
    if sum(lines) <= most:
        return len(rows)
    return max(1, sum(1 for upto in accumulate(lines) if upto < most))


def _steps(material: Material) -> list[Step]:
    study, decision = material.study, material.supplement.decision
    plan = material.supplement.drying
    steps: list[Step] = []
    seen = None if plan is None else plan.comparison.drying
    rising = seen is not None and bool(len(seen.rising) or seen.rises)
    if rising:
        steps.append(
            ("Find and stop the source of water.", "licensed plumber or building services")
        )
    given = material.supplement.clearances
    cleared = bool(given) and set(study.drilling.cautions) <= set(given)
    withdrawn, tested = _hole_steps(study.drilling, _is_met(decision), cleared=cleared)
    steps += withdrawn
    if len(study.anomalies):
        names = listed([str(one) for one in study.anomalies["anomaly"]])
        ref = refer("anomalies")
        what = f"Before drilling nearby, locate {names} ({ref})."
        steps.append((what, "person with a service locator"))
    steps += _sweep_steps(material)
    steps += [
        *tested,
        *_untested_steps(material),
        *_beyond_plan(material, bool(tested)),
        *steps_of(material),
    ]
    if plan is not None and plan.equipment is not None:
        machines = _machine_steps(plan.equipment.placement.moves, refer("moves"))
        if rising:
            machines = [(f"Once the source is stopped: {what}", who) for what, who in machines]
        steps += machines
    if not steps:
        steps.append(("Keep this report with the record of the floor.", "report writer"))
    return steps


def _sweep_steps(material: Material) -> list[Step]:
    """Ask for sweeps across what is contested."""
    study, steps = material.study, list[Step]()
    places = study.sweeps.groupby("anomaly", sort=False).size()
    if len(places):
        named = listed(
            [
                f"{name} at {count} places" if count > 1 else f"{name} at 1 place"
                for name, count in places.items()
            ]
        )
        what = f"Sweep the meter across {named}, as marked in {refer('map', spoken(FULL))}."
        steps.append((what, "scanner operator"))
    return steps


def _untested_steps(material: Material) -> list[Step]:
    """Ask for tests of what no hole reaches; they come behind the cautions to clear."""
    study, steps = material.study, list[Step]()
    left = len(study.drilling.unreached)
    if left:
        where = "in the technical report" if material.options.summary else "under Drill plan"
        what = f"1 place that reads wet has no hole of the plan: see why {where}."
        if left > 1:
            told = f"{left} places that read wet have no hole of the plan"
            what = f"{told}: see why {where}."
        steps.append((what, "test technician"))
    small = sum(one >= TOLD_M2 for one in study.wet.small_m2)
    if small:
        what = f"Test the smaller patches above the wet level too: {small} ({refer('map')})."
        steps.append((what, "test technician"))
    return steps


def _beyond_plan(material: Material, tested: bool) -> list[Step]:
    """Say that the plan leaves places for which the rules ask a test."""
    if material.supplement.decision is None or not tested:
        return []
    now, then = material.asked
    if not then.places and not then.short:
        return []
    left = f"Plan further holes: those of {refer('holes', spoken(FULL))} leave"
    kept = sum(one in now.places for one in then.places)
    counted = f"{kept} of {len(now.places)} places that ask for a valid test"
    if not kept and then.places:
        counted = f"no place that asks for a valid test now, but {len(then.places)} then"
    if not then.places:
        counted = f"{then.short} tests that the rule on number asks for"
    if material.options.summary:
        return [(f"{left} {counted} (named there).", "test technician")]
    return [(f"{left} {counted} (named below it).", "test technician")]


def _hole_steps(plan: DrillPlan, met: bool, *, cleared: bool) -> tuple[list[Step], list[Step]]:
    """Name the issued holes that must not be drilled any more, and those that are to be tested."""
    blocked = [hole for hole, _ in plan.blocked]
    withdrawn: list[Step] = []
    steps: list[Step] = []
    if blocked:
        names, ref = listed(blocked), refer("holes")
        what = (
            f"Withdraw {names} and do not drill there: see what was found since the plan was "
            f"issued ({ref})."
        )
        withdrawn.append((what, "named competent person"))
    gone = plan.holes["hole"].isin(blocked) | (plan.holes["status"] == "done")
    left = [str(one) for one in plan.holes.loc[~gone, "hole"]]
    if left and not met:
        names, full = listed(left), spoken(FULL)
        if cleared:
            what = (
                f"Test {names} as set out in {refer('holes', full)}; the cautions of "
                f"{refer('cautions', full)} are cleared for them."
            )
            steps.append((what, "test technician"))
        else:
            what = (
                f"Clear every caution of {refer('cautions', full)}, then test {names} as set out "
                f"in {refer('holes', full)}."
            )
            steps.append((what, "named competent person, then test technician"))
    return withdrawn, steps


def steps_of(material: Material) -> list[Step]:
    """Return the next steps of a decision."""
    decision = material.supplement.decision
    if decision is None:
        return []
    where = "in the technical report" if material.options.summary else "under Result"
    return [(short(text, where), "test technician") for text in decision.next_steps]


def _machine_steps(moves: pd.DataFrame, ref: str) -> list[tuple[str, str]]:
    """Name the machines that are to be moved and those to be turned, brought or taken away."""
    who = "drying technician"
    steps = []
    moved = moves.loc[moves["action"] == "move", "machine"].astype(str)
    if len(moved):
        told = f"Move {listed([*moved])} ({ref}), then scan again after a day."
        steps.append((told, who))
    others = moves.loc[~moves["action"].isin(["move", "stay"]), "machine"].astype(str)
    if len(others):
        steps.append((f"Turn, bring or take away {listed([*others])} as {ref} says.", who))
    return steps


def short(text: str, where: str) -> str:
    """Return a text of page one; of a long one whole clauses, and where the rest stands.

    No clause with a measured number is left out. It is cut as it is said in the language, because
    no word table holds half a sentence.
    """
    text = text if OPEN in text else spoken(text)
    if len(text) <= MOST_LETTERS:
        return text
    kept = _clauses(text, ";.")
    if not 0.3 * MOST_LETTERS < len(kept) < MOST_LETTERS:
        kept = _clauses(text, ";:,.")
    if kept == text:
        return text
    kept = kept.rstrip(";:,.")
    keep_as_they_are([kept])
    return f"{kept} … (in full {where})"


def _clauses(text: str, ends: str) -> str:
    """Return as many whole clauses as fit, one at least."""
    clauses = _closed(re.split(rf"(?<=\S\S[{ends}]) ", text))
    upto = [len(" ".join(clauses[:count])) for count in range(1, len(clauses) + 1)]
    count = sum(1 for letters in upto if letters <= MOST_LETTERS - 30)
    told = [at for at, clause in enumerate(clauses, 1) if MEASURED.search(clause)]
    return " ".join(clauses[: max([1, count, *told])])


def _closed(clauses: list[str]) -> list[str]:
    """Join what stands in one pair of brackets: a text is not cut inside them."""
    whole = [""]
    for clause in clauses:
        is_open = whole[-1].count("(") > whole[-1].count(")")
        whole[-1:] = [f"{whole[-1]} {clause}"] if is_open else [whole[-1], clause]
    return whole[1:]


def _is_met(decision: Decision | None) -> bool:
    return decision is not None and decision.verdict == "meets"
