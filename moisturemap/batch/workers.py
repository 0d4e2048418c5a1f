"""Who does the floors: processes of this machine, or a Dask cluster that shares its files."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from datetime import date
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from moisturemap.batch.listing import FloorSource
from moisturemap.batch.one_floor import do_floor
from moisturemap.batch.options import BatchOptions
from moisturemap.errors import MissingExtra, OptionError

AHEAD = 2
"""Floors handed out a process at a time: enough that none waits, few enough to lose."""

DIED = "the process that worked on it died twice (out of memory, or killed from outside)"


@dataclass(frozen=True)
class Task:
    """One floor to do, with all that it needs."""

    source: FloorSource
    options: BatchOptions
    out: Path
    today: date
    shown: str

    def done(self) -> dict[str, Any]:
        """Do the floor."""
        return do_floor(self.source, self.options, self.out, self.today, self.shown)

    def failed(self, error: str) -> dict[str, Any]:
        """Return the result of a floor that could not be done."""
        return {
            "floor": self.source.floor,
            "survey": self.shown,
            "fingerprint": "",
            "day": self.today.isoformat(),
            "ages": False,
            "error": error,
            "rows": {},
            "map": None,
        }


def _do(task: Task) -> dict[str, Any]:
    return task.done()


def _prepare() -> None:
    """Leave Ctrl-C to the parent, which ends its processes itself."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def on_this_machine(tasks: list[Task], workers: int | None) -> Iterator[dict[str, Any]]:
    """Do floors in processes of this machine, yielding each result as it comes.

    When a process dies, the floors it may have been at are done once more, each alone; the one
    that kills its process again is a failure, and the rest goes on.
    """
    count = min(workers or os.cpu_count() or 1, len(tasks))
    left = list(reversed(tasks))
    while left:
        suspects: list[Task] = []
        yield from _pool(left, count, suspects)
        for task in suspects:
            alone: list[Task] = []
            yield from _pool([task], 1, alone)
            if alone:
                yield task.failed(DIED)


def _pool(left: list[Task], count: int, suspects: list[Task]) -> Iterator[dict[str, Any]]:
    """Do tasks from the end of a list until it is empty or a process dies."""
    executor = ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_prepare)
    handed: dict[Future[dict[str, Any]], Task] = {}
    try:
        while left or handed:
            while left and len(handed) < AHEAD * count:
                task = left.pop()
                handed[executor.submit(_do, task)] = task
            finished, _ = wait(handed, timeout=0.5, return_when=FIRST_COMPLETED)
            for one in finished:
                result = one.result()
                del handed[one]
                yield result
    except BrokenProcessPool:
        suspects += handed.values()
    finally:
        for process in list((executor._processes or {}).values()):
            if left or handed:
                process.terminate()
        executor.shutdown(wait=True, cancel_futures=True)


def on_cluster(tasks: list[Task], address: str) -> Iterator[dict[str, Any]]:
    """Do floors on a Dask cluster; a worker that dies gives its floors to another.

    Raises
    ------
    MissingExtra
        When dask.distributed is not installed.
    OptionError
        When no scheduler answers at the address.
    """
    try:
        from distributed import Client, as_completed
    except ImportError as missing:
        raise MissingExtra("work on a Dask cluster", "cluster") from missing
    try:
        # a client that finds no scheduler must not stay behind as the one all later work goes to
        client = Client(address, timeout="10s", set_as_default=False)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as refusal:
        message = "no Dask scheduler answers"
        allowed = "an address such as tcp://127.0.0.1:8786"
        raise OptionError(message, value=address, allowed=allowed) from refusal
    with client, client.as_current():
        futures = {client.submit(_do, task, pure=False): task for task in tasks}
        for future in as_completed(list(futures)):  # type: ignore[no-untyped-call]
            task = futures.pop(future)
            if future.status == "finished":
                yield future.result()
            else:
                yield task.failed(DIED)
            future.release()
