"""Two or more cores at work on batches, each with one thread of linear algebra."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import TypeVar

from moisturemap.geostat.threads import one_thread

Batch = TypeVar("Batch")
Result = TypeVar("Result")

MOST = 8


_sharers = [1]
"""How many processes share the cores; the last one holds."""


def cores() -> int:
    """Cores this process may use, at most ``MOST``."""
    if hasattr(os, "sched_getaffinity"):
        there = len(os.sched_getaffinity(0))
    else:
        there = os.cpu_count() or 1
    return max(min(there, MOST) // _sharers[-1], 1)


@contextmanager
def sharing_cores(processes: int) -> Iterator[None]:
    """Leave the other cores to copies of this process, and let these leave some to it."""
    _sharers.append(_sharers[-1] * processes)
    try:
        yield
    finally:
        _sharers.pop()


def work_through(
    batches: Iterable[Batch],
    work: Callable[[Batch], Result],
    collect: Callable[[Result], None],
    report: Callable[[float], None] | None = None,
) -> None:
    """Do independent batches on all cores.

    Linear algebra is held to one thread meanwhile, so that cores are not oversubscribed.

    Parameters
    ----------
    batches : iterable
    work : callable
        Called once for each batch, from several threads.
    collect : callable
        Called from this thread with each result, in the order of the batches.
    report : callable, optional
        Called from this thread with the fraction done; what it raises stops the work.
    """
    pieces = list(batches)
    if len(pieces) <= 1 or cores() == 1:
        for number, batch in enumerate(pieces):
            if report is not None and len(pieces) > 1:
                report(number / len(pieces))
            collect(work(batch))
        return
    with one_thread(), ThreadPoolExecutor(cores()) as crew:
        running = [crew.submit(work, batch) for batch in pieces]
        try:
            for number, one in enumerate(running):
                if report is not None:
                    report(number / len(running))
                collect(one.result())
        except BaseException:
            for one in running:
                one.cancel()
            raise
