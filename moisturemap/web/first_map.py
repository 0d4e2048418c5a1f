"""The first map of a job, begun when its page is opened, before that has loaded and asks for it."""

from __future__ import annotations

import threading
from contextlib import suppress
from functools import partial

from moisturemap.errors import MoistureMapError
from moisturemap.web.jobs import Job, now_and_then
from moisturemap.web.work import Question

MAPS = ("floor_map", "quick_map")
"""What it is worked out for."""


def begin_first_map(job: Job) -> None:
    """Work out the map of a job while the page that will ask for it loads.

    Once for each job. Whatever else is asked meanwhile goes before it. Nothing of it is shown
    before it is asked for, and then only if the data are still the same.
    """
    if job.foreseen or not job.lanes.study.apart:
        return
    job.foreseen = True
    threading.Thread(target=_work_out, args=(job,), name="first map", daemon=True).start()


def _work_out(job: Job) -> None:
    with suppress(MoistureMapError):  # it is refused again, in words, when it is asked for
        snapshot = job.snapshot()
        question = snapshot.question("map_ahead", job.id, {"visit": None})
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
    """Whether what is asked comes sooner by the map that is worked out."""
    return asked.task in MAPS and (asked.job, asked.keys) == (question.job, question.keys)
