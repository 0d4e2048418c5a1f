"""What the first page of a job shows, begun when it is opened, before it has loaded and asks."""

from __future__ import annotations

import threading
from contextlib import suppress
from functools import partial
from typing import Literal

from moisturemap.errors import MoistureMapError
from moisturemap.web.jobs import Job, now_and_then
from moisturemap.web.work import Question

Page = Literal["map", "drying"]

TASKS: dict[Page, str] = {"map": "map_ahead", "drying": "drying_ahead"}
"""What is worked out for a page."""

HELPED = {"map_ahead": ("floor_map", "quick_map"), "drying_ahead": ("drying",)}
"""What comes sooner by it."""
AWAITED_S = 8.0
"""So long what nobody waits for gives way to the first page [s]."""


def begin_first_page(job: Job, page: Page) -> None:
    """Work out what a page of a job shows while the page that will ask for it loads.

    Once for each job. Whatever else is asked meanwhile goes before it. Nothing of it is shown
    before it is asked for, and then only if the data are still the same.
    """
    if job.foreseen or not job.lanes.study.apart:
        return
    job.foreseen = True
    threading.Thread(target=_work_out, args=(job, TASKS[page]), name=page, daemon=True).start()


def await_first_page(job: Job) -> None:
    """Wait while the first page of a job is worked out, if it is; not for ever."""
    if job.foreseen:
        job.first_page.wait(AWAITED_S)


def _work_out(job: Job, task: str) -> None:
    try:
        _computed(job, task)
    finally:
        job.first_page.set()


def _computed(job: Job, task: str) -> None:
    with suppress(MoistureMapError):  # it is refused again, in words, when it is asked for
        snapshot = job.snapshot()
        question = snapshot.question(task, job.id, {"visit": None})
        lane = job.lanes.study

        def unwanted() -> bool:
            waiting = any(not _helped(one, question) for one in lane.waiting)
            return waiting or job.changed_since(snapshot)

        try:
            lane.run(question, partial(_tell, job), now_and_then(unwanted))
        finally:
            job.doing = ("", 1.0)


def _tell(job: Job, phrase: str, fraction: float) -> None:
    job.doing = (phrase, fraction)


def _helped(asked: Question, question: Question) -> bool:
    """Whether what is asked comes sooner by what is worked out."""
    return asked.task in HELPED[question.task] and (asked.job, asked.keys) == (
        question.job,
        question.keys,
    )
