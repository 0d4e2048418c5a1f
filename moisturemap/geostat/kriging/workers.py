"""Two or more cores at work on batches, each with one thread of linear algebra."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from moisturemap.geostat.threads import one_thread

Batch = TypeVar("Batch")
Result = TypeVar("Result")

MOST = 8


def cores() -> int:
    """Cores this process may use, at most ``MOST``."""
    if hasattr(os, "sched_getaffinity"):
        return min(len(os.sched_getaffinity(0)), MOST)
    return min(os.cpu_count() or 1, MOST)


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
    if len(pieces) <= 1:
        for batch in pieces:
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
