"""What the report cannot say, and what it may be used for."""

from __future__ import annotations

from moisturemap.report.content import (
    Block,
    Bullets,
    Column,
    Paragraph,
    Section,
    Signatures,
    Table,
)
from moisturemap.report.material import Material

LATER = (
    "What the floor will do later. Results show the tested places at that time; wetting, leaks, "
    "heating and covering change them."
)


def cannot_say(material: Material) -> Section:
    """State, in every report, what cannot be concluded from it."""
    study, decision = material.study, material.supplement.decision
    items = [
        "Whether any part of the floor is dry enough to cover: a relative reading is not a "
        "moisture content, and no colour of the map stands for a passed test.",
        "How wet the floor is below the depth the scanner sees. Scanners of this kind see "
        "little more than the top of the slab (ASTM F2659-22 speaks of the upper 25.4 mm); the "
        "depth of calibrated tests lies deeper in most slabs.",
        LATER,
        "What an anomaly is. The scan shows that something disturbs the readings there, not what.",
        "That a place without an anomaly is clear of pipes, cables, bars, tendons or membranes.",
    ]
    if not len(study.survey.tests):
        items.append(
            "How relative readings of this instrument relate to a calibrated test on "
            "this floor: none was made."
        )
    elif (
        decision is not None
        and not any(one.earned for one in decision.curves)
        and not material.options.summary
    ):
        items.append(
            "How relative readings of this instrument relate to a calibrated test on this floor: "
            "the tests made do not show it."
        )
    if study.wet.level.value is None:
        items.append("Where the border of a wet zone lies: the readings show no distinct one.")
    if study.moisture.refusals:
        items.append("Anything about the parts that were not mapped.")
    said = tuple(map(material.wording.sentence, items))
    return Section("What this report cannot say", (Bullets(said),))


def limits_of_use(material: Material) -> Section:
    """Say what the report may be used for, with lines to sign."""
    text = (
        "This report describes the floor as it was read at the places and times given. It holds "
        "for those places and times only. The documents of the covering, the adhesive and the "
        "screed, the project specification and local code rank above every default used here. "
        "Drilling, electricity, heating and asbestos are matters for licensed trades and local law."
    )
    blocks: list[Block] = [Paragraph(text)]
    decision = material.supplement.decision
    if decision is not None and decision.statements and not material.options.summary:
        say = material.wording.sentence
        blocks.append(Bullets(tuple(say(statement) for statement in decision.statements)))
    listed = _revisions(material)
    if len(listed.rows) > 1 or not material.options.summary:  # its head names the only issue
        blocks.append(listed)
    blocks.append(Signatures(("Surveyed by", "Report by", "Received by")))
    return Section("Limits of use", tuple(blocks))


def _revisions(material: Material) -> Table:
    """List the earlier issues of this report, and this one."""
    columns = (
        Column("Report", 2),
        Column("Issued", 1.6),
        Column("By", 1.5),
        Column("What changed", 3.4),
    )
    before, say = material.supplement.revisions, material.wording
    kept = tuple((one.number, say.moment(one.when), one.who, one.changed) for one in before.earlier)
    by = material.options.issued_by
    what = f"this report: {before.changed}" if before.changed else "this report"
    made = say.moment(material.made_here)
    this = (material.number, made if by else f"draft of {made}", by or "not issued", what)
    rows = (*material.options.revisions, *kept, this)
    return Table("Revisions", columns, rows, key="revisions")
