"""Where the water comes from: cautions, finding, causes, what cannot be told apart, next step."""

from __future__ import annotations

from moisturemap.investigation import CAUSES, Investigation, Standing
from moisturemap.report.content import (
    Block,
    Bullets,
    Column,
    Paragraph,
    Section,
    Signatures,
    Table,
    Verdict,
)
from moisturemap.report.material import Material
from moisturemap.report.pictures import investigation_pictures
from moisturemap.report.wording import number
from moisturemap.results.investigation import STANDING_WORDS

MOST_STEPS = 8
"""Proposals listed in a report; all are in the files."""


def water_source(material: Material) -> Section | None:
    """Say where the water may come from, and what would tell more."""
    found = material.supplement.investigation
    if found is None:
        return None
    say = material.wording.sentence
    blocks: list[Block] = [Paragraph(say(text), "warning") for text in found.cautions[:3]]
    blocks.append(Bullets(tuple(say(text) for text in found.cautions[3:])))
    blocks += [Paragraph(say(text), "warning") for text in found.doubts]
    headline = (
        "One cause is pointed to, at least in part" if found.firm else "No single cause stands out"
    )
    blocks.append(Verdict(headline, say(found.sentence.removeprefix(f"{headline}. "))))
    blocks.append(_causes(material, found))
    blocks.append(_steps(material, found))
    blocks += investigation_pictures(found, material.survey.name, material.form)
    blocks.append(Bullets(tuple(say(text) for text in found.statements)))
    blocks.append(Signatures(("Adopted or rejected line by line by",)))
    return Section("Where the water comes from", tuple(blocks))


def _causes(material: Material, found: Investigation) -> Table:
    say = material.wording.sentence
    columns = (
        Column("Cause", 1.7),
        Column("Standing", 0.9),
        Column("For", 3.6),
        Column("Against", 3.6),
        Column("Cannot be told from", 1.4),
        Column("Who confirms", 1.3),
    )
    rows = tuple(
        (
            say(CAUSES[one.cause].words),
            STANDING_WORDS[one.standing],
            " ".join(say(text) for text in one.why_for),
            " ".join(say(text) for text in one.why_against),
            _alike(material, found, one),
            "" if one.cause == "other" else CAUSES[one.cause].who,
        )
        for one in _listed(found)
    )
    silent = [CAUSES[one.cause].words for one in found.stands if one.standing == "not-looked-at"]
    note = f"Not looked at: {'; '.join(silent)}." if silent else ""
    return Table(
        "Causes and what speaks for and against them", columns, rows, dense=True, note=note
    )


def _alike(material: Material, found: Investigation, one: Standing) -> str:
    """Name the causes that cannot be told from one; all other open ones in short."""
    others = set(found.open_causes) - {one.cause}
    if len(others) > 1 and set(one.alike) == others:
        return "any other open cause"
    return "; ".join(material.wording.sentence(CAUSES[other].words) for other in one.alike)


def _listed(found: Investigation) -> list[Standing]:
    return [one for one in found.stands if one.standing != "not-looked-at"]


def _steps(material: Material, found: Investigation) -> Table:
    say = material.wording.sentence
    columns = (
        Column("What", 4),
        Column("Where", 1.6),
        Column("When", 1),
        Column("Pairs told apart", 0.9, "right"),
        Column("Burden", 2),
        Column("Risk", 2),
    )
    steps = found.next_measurements.head(MOST_STEPS)
    expected = steps["expected_pairs"].to_numpy(float)
    rows = tuple(
        (
            say(str(one.what)),
            str(one.where),
            str(one.when),
            number(pairs),
            str(one.burden),
            str(one.risk),
        )
        for one, pairs in zip(steps.itertuples(), expected, strict=True)
    )
    note = (
        "Pairs told apart: how many pairs of open causes it is likely to tell apart; for readings "
        "at depth by simulation, else judged as if one act in two gave an answer."
    )
    return Table("What to measure next", columns, rows, dense=True, note=note)
