"""The names people gave in a survey, which stay as they are in every language."""

from __future__ import annotations

from collections.abc import Iterator

from moisturemap.survey.survey import Survey


def given_names(survey: Survey) -> frozenset[str]:
    """Return every name, source and note somebody wrote in a survey."""
    return frozenset(text for text in _texts(survey) if text.strip())


def _texts(survey: Survey) -> Iterator[str]:
    yield survey.name
    yield from survey.details.values()
    for room in survey.plan.rooms:
        yield room.name
        yield room.slab.pour
    yield from (line.name for line in survey.plan.lines)
    for visit in survey.visits:
        yield visit.id
        yield visit.operator
    for one in survey.instruments.values():
        yield from (one.id, one.serial, one.certificate, one.model)
    for limit in (survey.limit, *survey.room_limits.values()):
        if limit is not None:
            yield limit.source
    for table in (survey.readings, survey.tests, survey.equipment):
        for column in ("label", "note", "hole", "machine", "source", "room"):
            if column in table:
                yield from map(str, table[column].dropna().unique())
    yield from (one.name for one in survey.provenance.inputs)
