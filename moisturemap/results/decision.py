"""A decision in plain types, sentences and files."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from math import isnan
from pathlib import Path
from typing import Any

from moisturemap.acceptance import ChanceView, Decision
from moisturemap.bundles import Judgement
from moisturemap.drilling.chance import chance_words
from moisturemap.quantities import three_figures
from moisturemap.results.run import write_run
from moisturemap.results.study_files import write_table
from moisturemap.results.summary import records
from moisturemap.results.terminal import Terminal
from moisturemap.units import Units


def summarise_decision(judgement: Judgement) -> dict[str, Any]:
    """Return a decision in plain types."""
    decision = judgement.decision
    limits = {
        room or "off the plan": None
        if limit is None
        else {
            "method": limit.method,
            "value": limit.value,
            "unit": limit.unit,
            "source": limit.source,
            "risk_pct": limit.risk_pct,
        }
        for room, limit in decision.limits.items()
    }
    return {
        "survey": judgement.survey.name,
        "verdict": decision.verdict,
        "sentence": decision.sentence,
        "as_of": decision.as_of.isoformat(),
        "holds_until": None if decision.holds_until is None else decision.holds_until.isoformat(),
        "reasons": list(decision.reasons),
        "next_steps": list(decision.next_steps),
        "limits": limits,
        "tests": records(decision.tests),
        "unjudged": records(decision.unjudged),
        "findings": records(decision.findings),
        "checks": records(decision.checks),
        "spots": records(decision.profile_table),
        "coverage": records(decision.coverage),
        "proof": decision.proof,
        "chance": None if decision.chance is None else chance_sentence(decision.chance),
        "scan_relation": [
            {"slab": one.slab, "earned": bool(one.earned), "reason": one.reason}
            for one in decision.curves
        ],
        "rules": records(decision.rules),
        "statements": list(decision.statements),
    }


def export_decision(decision: Decision, folder: Path) -> list[Path]:
    """Write the tables of a decision as CSV into a folder."""
    return write_run("decide", None, folder, [partial(_tables, decision)])


def _tables(decision: Decision, folder: Path) -> list[Path]:
    tables = {
        "tests": decision.tests,
        "unjudged": decision.unjudged,
        "findings": decision.findings,
        "checks": decision.checks,
        "spots": decision.profile_table,
        "coverage": decision.coverage,
        "rules": decision.rules,
    }
    return [
        write_table(table, folder / f"decision-{name}.csv")
        for name, table in tables.items()
        if not table.empty
    ]


def describe_decision(judgement: Judgement, units: Units = Units()) -> str:
    """Return the verdict first, then why, each test, what to do next, limits of use."""
    say = Terminal(units)
    decision = judgement.decision
    parts = [judgement.survey.name, "", f"Verdict: {decision.verdict.upper()}", decision.sentence]
    parts.append(f"As of {decision.as_of:%Y-%m-%d}.")
    parts += [say.item("why", reason) for reason in decision.reasons]
    parts += ["", "Tests"]
    for test in decision.tests.itertuples():
        parts.append(
            say.item(
                str(test.hole),
                f"{_value_words(test)} ({test.method}), {test.standing}; "
                f"{test.verdict}: {test.why}",
            )
        )
    told = decision.tests.assign(reason=decision.tests["reasons"].str.split("\n")).explode("reason")
    parts += [say.item(*one) for one in _by_text(told["hole"], told["reason"])]
    if not decision.unjudged.empty:
        parts += ["", "Recorded and not judged"]
        unjudged = decision.unjudged
        parts += [say.item(*one) for one in _by_text(unjudged["hole"], unjudged["why"])]
    parts += ["", "Coverage"]
    marks = {"True": "ok", "False": "NO"}
    for one in records(decision.coverage):
        parts.append(say.item(marks.get(str(one["met"]), "?"), str(one["sentence"])))
    if decision.next_steps:
        parts += ["", "Next", *(say.item("-", step) for step in decision.next_steps)]
    parts += ["", say.paragraph(decision.proof)]
    if decision.chance is not None:
        parts.append(say.paragraph(chance_sentence(decision.chance)))
    parts += [say.paragraph(f"Scan and tests, {one.slab}: {one.reason}") for one in decision.curves]
    parts += ["", *(say.paragraph(statement) for statement in decision.statements)]
    return "\n".join(parts)


def _by_text(holes: Iterable[Any], texts: Iterable[Any]) -> list[tuple[str, str]]:
    """Return each text once, behind all the holes it holds for."""
    found: dict[str, list[str]] = {}
    for hole, text in zip(holes, texts, strict=True):
        if text:
            found.setdefault(str(text), []).append(str(hole))
    return [(", ".join(dict.fromkeys(named)), text) for text, named in found.items()]


SHOWN_CORRECTION = 0.05
"""A correction smaller than this would be printed as nothing [unit of the result]."""


def _value_words(test: Any) -> str:
    """Say a result as read, corrected and in service."""
    if isnan(test.raw):
        return "no result"
    words = f"{test.raw:g} {test.unit} as read"
    if abs(test.correction) >= SHOWN_CORRECTION:
        words += (
            f", {three_figures(test.raw + test.correction, test.limit)} corrected by the checks"
            f" ({test.correction:+.1f})"
        )
    if test.at_service == test.at_service:
        words += f", {three_figures(test.at_service, test.limit)} at service temperature"
    return words


def chance_sentence(view: ChanceView) -> str:
    """Say what the spatial view gives, and that it never makes a floor pass."""
    return (
        f"By a model of the floor between the tests ({view.how}) the chance that some place "
        f"exceeds the limit is {chance_words(view.chance_any)}; {view.expected_share:.1%} of the "
        "floor is expected to. With few tests this rests mostly on what is assumed of floors; it "
        "shows where the next test is worth most and never makes a floor pass."
    )
