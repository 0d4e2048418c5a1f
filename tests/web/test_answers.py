"""What is answered is what is described: no name more, none less."""

from __future__ import annotations

from typing import Any
from urllib.parse import unquote

from pydantic import BaseModel

from moisturemap.web.answers import JobAnswer, ReadingAnswer, StepsAnswer
from moisturemap.web.jobs import Job
from moisturemap.web.routes.jobs import steps, summary
from moisturemap.web.routes.readings import readings

from .conftest import TestClient, make_job


def _undescribed(told: Any, model: type[BaseModel]) -> set[str]:
    """Names that differ between an answer as it is made and its description."""
    return set(told) ^ set(model.model_fields)


def _job(client: TestClient, base: str) -> Job:
    app: Any = client.app
    job: Job = app.state.shelf.job(unquote(base.rsplit("/", 1)[1]))
    return job


def test_a_job_is_described_whole(client: TestClient) -> None:
    """Rooms, visits, instruments with checks, readings and steps of undo: each name is typed."""
    base = make_job(client)
    made = client.post(
        f"{base}/instruments/meter 1/checks",
        json={"when": "2026-03-02T09:00Z", "reference": "block", "read": 40, "who": "Ada Marsh"},
    )
    assert made.status_code < 300, made.text
    job = _job(client, base)
    told = summary(job)
    assert _undescribed(told, JobAnswer) == set()
    for name, part in (("visits", 0), ("instruments", 0)):
        inner: Any = JobAnswer.model_fields[name].annotation
        assert told[name], name
        assert _undescribed(told[name][part], inner.__args__[0]) == set(), name
    (check,) = told["instruments"][0]["checks"]
    described: Any = JobAnswer.model_validate(told).instruments[0].checks[0]
    assert _undescribed(check, type(described)) == set()
    row = readings(job, visit=told["visits"][0]["id"])["readings"][0]
    assert _undescribed(row, ReadingAnswer) == set()
    assert _undescribed(steps(job), StepsAnswer) == set()


def test_words_a_file_leaves_empty_are_empty_words(client: TestClient) -> None:
    """A reading that another program stored without label or note is answered all the same."""
    base = make_job(client)
    job = _job(client, base)
    rows = job.project.rows("readings")
    bare = {**rows[0], "label": None, "note": None, "repeat": None}
    with job.alone(), job.change("Ada Marsh", "from elsewhere", "") as made:
        made.add("readings", [{k: v for k, v in bare.items() if k != "fid"}])
    told = client.get(f"{base}/readings", params={"visit": rows[0]["visit"]})
    assert told.status_code == 200, told.text
    last = told.json()["readings"][-1]
    assert (last["label"], last["note"], last["repeat"]) == ("", "", 0)
