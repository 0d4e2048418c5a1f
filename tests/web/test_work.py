"""Long work of a job: done once for the data as they are, dropped when they change."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import cast

import pytest

from moisturemap.store import Project
from moisturemap.web.jobs import KEPT_RESULTS, Job

Say = Callable[[str, float], None]


@pytest.fixture
def job() -> Job:
    """A job whose project is never asked."""
    return Job("job", cast(Project, object()))


def test_a_result_is_computed_once(job: Job) -> None:
    """Two tabs that ask for the same map wait for one computation."""
    count = 0

    def compute(say: Say) -> int:
        nonlocal count
        count += 1
        time.sleep(0.05)
        return count

    answers: list[int] = []
    threads = [
        threading.Thread(target=lambda: answers.append(job.result(("map",), compute)))
        for _ in range(4)
    ]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert answers == [1, 1, 1, 1]


def test_work_on_data_that_have_changed_is_dropped(job: Job) -> None:
    """The progress call ends it, and the answer is that of the new data."""
    begun = threading.Event()
    runs: list[int] = []

    def compute(say: Say) -> int:
        runs.append(job.generation)
        begun.set()
        for step in range(200):
            say("mapping", step / 200)
            if job.generation == 0:
                time.sleep(0.005)
        return job.generation

    answers: list[int] = []
    thread = threading.Thread(target=lambda: answers.append(job.result(("map",), compute)))
    thread.start()
    begun.wait()
    job.touched()
    thread.join()
    assert runs == [0, 1]
    assert answers == [1]
    assert job.doing == ("", 1.0)


def test_a_failure_is_not_kept(job: Job) -> None:
    """The next request tries again."""

    def fail(say: Say) -> int:
        raise ValueError

    with pytest.raises(ValueError):
        job.result(("map",), fail)
    assert job.result(("map",), lambda say: 7) == 7


def test_old_results_make_room(job: Job) -> None:
    """Only a few results are kept in memory."""
    for number in range(KEPT_RESULTS + 5):
        job.result((number,), lambda say: 0)
    assert len(job._results) == KEPT_RESULTS
