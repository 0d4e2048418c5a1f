"""Where the water comes from: the questions, their answers, and what follows."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from pydantic import Field

from moisturemap.web.payloads import Name, Payload, Short
from moisturemap.web.routes.access import AskerHere, JobHere, RequestKey, handed_on

router = APIRouter(prefix="/api/projects/{project}", tags=["investigation"])

Place = Annotated[str | None, Query(max_length=120, description="Hole, zone or room")]
Answer = Short | Annotated[list[Short], Field(max_length=20)] | float


class AnswersIn(Payload):
    """Answers by the key of their question; all of them, as the page shows them."""

    answers: Annotated[dict[Short, Answer], Field(max_length=60)]
    who: Name
    why: Short = "questions on the source of water answered"


@router.get("/questions")
def questions(job: JobHere) -> dict[str, Any]:
    """Return the questions the plan does not answer for every room, and what was answered."""
    from moisturemap.investigation import QUESTIONS
    from moisturemap.results.investigation import question_plain
    from moisturemap.store import with_extra
    from moisturemap.web.work.source_work import ANSWERS

    rooms = [with_extra(row) for row in job.project.rows("rooms")]
    listed = [
        question_plain(one)
        for one in QUESTIONS.values()
        if not one.room_field or not all(room.get(one.room_field) for room in rooms)
    ]
    return {"questions": listed, "answers": job.project.settings().get(ANSWERS) or {}}


@router.put("/answers")
def put_answers(job: JobHere, content: AnswersIn, key: RequestKey = "") -> dict[str, Any]:
    """Keep the answers; one that a question does not allow is refused."""
    from moisturemap.investigation import Answers
    from moisturemap.web.work.source_work import ANSWERS

    Answers.of(content.answers, source="answers")
    if job.repeated(key) is None:
        job.keep(ANSWERS, dict(content.answers), content.who, content.why, key)
    return {"answers": job.project.settings().get(ANSWERS) or {}}


@router.get("/investigation")
def investigation(request: Request, asker: AskerHere, place: Place = None) -> Response:
    """Weigh where the water comes from, with the answers kept."""
    return handed_on(request, asker.ask("investigation", place=place or None))
