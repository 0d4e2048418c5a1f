"""What came out, and what was asked."""

from __future__ import annotations

from moisturemap.acceptance import Decision
from moisturemap.quantities import spoken_figures
from moisturemap.report.content import Block, Bullets, Paragraph, Section, Terms
from moisturemap.report.material import Material
from moisturemap.report.wording import MISSING, word_of
from moisturemap.survey import USED_FLAGS, Limit


def result(material: Material) -> Section:
    """Say what stands behind page one: the reasons, what to do, what the scan shows."""
    blocks = why_and_next(material)
    blocks += [Paragraph("What the scan shows", "lead"), Bullets(tuple(_findings(material)))]
    return Section("Result", tuple(blocks))


def why_and_next(material: Material) -> list[Block]:
    """Say why the verdict is what it is, and everything to do next."""
    decision, say = material.supplement.decision, material.wording.sentence
    blocks: list[Block] = []
    if decision is not None:
        why = [*decision.brief_reasons, *replaced(decision)]
        for lead, texts in (("Why", why), ("What to do next", decision.next_steps)):
            if texts:
                blocks += [Paragraph(lead, "lead"), Bullets(tuple(say(text) for text in texts))]
    return blocks


def replaced(decision: Decision) -> list[str]:
    """Name the results that spoke against the floor until a later valid one took their place."""
    names = [
        f"{test.entry.label}, {spoken_figures(test.value or 0.0)} {test.entry.method.units[0]}"
        for test in decision.judged
        if test.superseded and test.against.verdict != "not judged"
    ]
    if not names:
        return []
    return [
        "read anew since, so no longer counted; a later valid reading of the same place stands for "
        f"each: {'; '.join(names)}"
    ]


def _findings(material: Material) -> list[str]:
    study, say = material.study, material.wording.sentence
    found = [say(study.wet.statement)] if study.wet.statement else []
    if len(study.anomalies):
        aside = int((~study.readings["flag"].isin(USED_FLAGS)).sum())
        count = len(study.anomalies)
        found.append(
            f"{count} {'anomaly' if count == 1 else 'anomalies'}: pipes, metal, mis-keyed values "
            "and the like; "
            f"{aside} of {len(study.readings)} readings are set aside with a reason and do not "
            "enter the map."
        )
    if len(study.drill_plan):
        count = len(study.drill_plan)
        found.append(
            f"{count} {'place is' if count == 1 else 'places are'} proposed for calibrated tests. "
            "Nothing is drilled before a named person has cleared the cautions listed with them."
        )
    if material.supplement.drying is not None:
        areas = material.supplement.drying.comparison.drying.areas
        found += [say(str(sentence)) for sentence in areas["sentence"]]
    found += [say(f"Not mapped: {why}") for why in study.moisture.refusals.values()]
    return [*found, *([say(study.quality)] if study.quality else [])]


NO_LIMIT = (
    "none stated. The document of the covering and of its adhesive sets it; without it no test "
    "can be judged"
)

SCAN_QUESTION = (
    "Where does the floor read wet, what disturbs the readings, and where should calibrated tests "
    "be made?"
)
TESTS_QUESTION = "Do the calibrated tests show that the floor meets the limit?"
JUDGED_QUESTION = f"{TESTS_QUESTION} {SCAN_QUESTION}"

_DETAILS = {
    "client": "Client",
    "site": "Site",
    "country": "Country",
    "firm": "Firm",
    "reference": "Reference",
    "covering": "Covering",
    "adhesive": "Adhesive",
    "note": "Note",
}


def asked(material: Material) -> Section:
    """Say what the survey was to answer, on which floor, against which limit."""
    survey, wording = material.survey, material.wording
    details = survey.details
    rows = [(label, details[key]) for key, label in _DETAILS.items() if details.get(key)]
    rooms = survey.plan.rooms
    named = rooms[0].name if len(rooms) == 1 else f"{len(rooms)} rooms"
    rows.append(("Floor", f"{named}, {wording.area(survey.plan.outline.area)}"))
    absent = [_DETAILS[key] for key in ("covering", "adhesive") if not details.get(key)]
    if absent:
        rows.append((absent[0] if len(absent) == 1 else "Covering and adhesive", MISSING))
    rows.append(("Limit", NO_LIMIT if survey.limit is None else _limit(survey.limit)))
    rows += [(f"Limit in {room}", _limit(one)) for room, one in survey.room_limits.items()]
    decision = material.supplement.decision
    question = JUDGED_QUESTION if decision is not None else SCAN_QUESTION
    if decision is not None:
        rows.append(("Judged as of", wording.day(wording.here(decision.as_of))))
    if not material.scanned:
        question = TESTS_QUESTION
    return Section("What was asked", (Paragraph(question), Terms(tuple(rows))))


def _limit(limit: Limit) -> str:
    return f"{limit.value:g} {limit.unit} by {word_of(limit.method)}: {limit.source}"
