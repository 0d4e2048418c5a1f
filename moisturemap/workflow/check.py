"""What a careful colleague would say about a survey before leaving site."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from moisturemap.floorplan import check_plan, domains
from moisturemap.scanning import Remark, review
from moisturemap.survey import Survey, clean_readings

SERIOUS_FIRST = ("problem", "warning", "info")


@dataclass(frozen=True)
class SurveyCheck:
    """Remarks on one visit, most serious first."""

    survey: str
    visit: str
    count: int
    remarks: tuple[Remark, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return plain types for JSON."""
        return asdict(self)


def check_survey(survey: Survey, *, visit: str | None = None) -> SurveyCheck:
    """Review one visit of a survey, the latest when none is named."""
    chosen = survey.visit(visit)
    clean = clean_readings(survey, chosen.id, domains=domains(survey.plan))
    notes = (*survey.plan.notes, *survey.notes, *clean.notes, *check_plan(survey.plan))
    remarks = [*review(survey, clean), *(Remark("info", note) for note in dict.fromkeys(notes))]
    remarks.sort(key=lambda remark: SERIOUS_FIRST.index(remark.level))
    return SurveyCheck(survey.name, chosen.id, len(clean.readings), tuple(remarks))
