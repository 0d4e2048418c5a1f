"""One piece of work beside another, on a second core.

Of many small steps two threads of one interpreter get hardly faster: each waits for the other to
let go of it. So a process that may be copied does the work in a copy of itself, which sees all data
as they are and sends back the result alone.
"""

from __future__ import annotations

import os
import pickle
import select
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor, wait
from contextlib import contextmanager, suppress
from typing import BinaryIO, TypeVar

from moisturemap.geostat.kriging.workers import cores, sharing_cores

Given = TypeVar("Given")
Result = TypeVar("Result")

LOOK_S = 0.02
"""How often it is looked whether the work is still wanted [s]."""

_may_be_copied = threading.Event()


def allow_copies() -> None:
    """Let this process be copied: one that runs no thread of its own while it computes.

    Where the system cannot copy a process (all but Linux), threads stand in.
    """
    if sys.platform == "linux":
        _may_be_copied.set()


Waited = Callable[[Callable[[], None]], Result]
"""Waits for a result; what it is given is called meanwhile, and may raise to end the waiting."""


def copies_work() -> bool:
    """Whether work beside is done in a copy, and so costs no time of this process."""
    return _may_be_copied.is_set() and cores() > 1


@contextmanager
def beside(work: Callable[[], Result], *, idle: bool = False) -> Iterator[Waited[Result]]:
    """Begin a piece of work, and give what waits for its result.

    Parameters
    ----------
    work : callable
        Without arguments; must change nothing that is looked at afterwards, for a copy takes such
        changes with it.

    idle : bool
        This process does nothing meanwhile: all cores are left to the copy.

    Yields
    ------
    callable
        Returns the result, or raises what the work raised. Left without asking for it, a copy is
        ended; a thread is waited for.
    """
    if not copies_work():
        with ThreadPoolExecutor(1) as crew:
            future = crew.submit(work)
            yield lambda look: _looked_for(future, look)
        return
    with sharing_cores(1 if idle else 2):
        copy, told = _copied(work)
        try:
            yield lambda look: _result(told, work, look)
        finally:
            told.close()
            os.kill(copy, signal.SIGKILL)
            os.waitpid(copy, 0)


@contextmanager
def standing_by(
    ready: Callable[[], None], work: Callable[[Given], Result]
) -> Iterator[Callable[[Given], Waited[Result]] | None]:
    """Copy this process for a piece of work whose data come later; the copy gets ready meanwhile.

    Parameters
    ----------
    ready : callable
        What the copy does before the data come: loads what the work needs.
    work : callable
        Takes what it is given, and must change nothing that is looked at afterwards.

    Yields
    ------
    callable or None
        Hands the data to the copy, and returns what waits for its result as :func:`beside` does.
        None where no copy is made: on one core, where the system cannot, or where other threads
        run, whose locks a copy would never see free.
    """
    if sys.platform != "linux" or cores() == 1 or threading.active_count() > 1:
        yield None
        return
    source, data = os.pipe()

    def stand_by() -> Result:
        ready()
        with os.fdopen(source, "rb") as stream:
            return work(pickle.load(stream))

    copy, told = _copied(stand_by, source)
    os.close(source)

    def hand(given: Given) -> Waited[Result]:
        # a copy that has ended is stood in for when its result is waited for
        with suppress(BrokenPipeError), os.fdopen(os.dup(data), "wb") as stream:
            pickle.dump(given, stream, protocol=pickle.HIGHEST_PROTOCOL)
        return lambda look: _result(told, lambda: work(given), look)

    try:
        yield hand
    finally:
        os.close(data)
        told.close()
        os.kill(copy, signal.SIGKILL)
        os.waitpid(copy, 0)


def _copied(work: Callable[[], Result], *kept: int) -> tuple[int, BinaryIO]:
    """Copy this process; return the number of the copy, and where it tells its result."""
    mine, theirs = os.pipe()
    parent = os.getpid()
    copy = os.fork()
    if copy:
        os.close(theirs)
        return copy, os.fdopen(mine, "rb")
    with suppress(BaseException):  # whatever happens, a copy never goes on as the process it was
        _close_but(theirs, *kept)
        _tell(work, theirs, parent)
    os._exit(0)


def _close_but(*kept: int) -> None:
    """Close what belongs to the process copied; kept open, nobody would see it end."""
    first = 3
    for one in sorted(kept):
        os.closerange(first, one)
        first = one + 1
    os.closerange(first, os.sysconf("SC_OPEN_MAX"))


def _tell(work: Callable[[], Result], pipe: int, parent: int) -> None:
    """Work as a copy, and write the result or what was raised into a pipe."""
    threading.Thread(target=_end_with, args=(parent,), daemon=True).start()
    try:
        told: tuple[bool, object] = True, work()
    except Exception as error:
        told = False, error
    with os.fdopen(pipe, "wb") as stream:
        pickle.dump(told, stream, protocol=pickle.HIGHEST_PROTOCOL)


def _end_with(parent: int) -> None:
    while os.getppid() == parent:
        time.sleep(LOOK_S)
    os._exit(1)


def _looked_for(future: Future[Result], look: Callable[[], None]) -> Result:
    """Return what a thread found."""
    while not wait([future], LOOK_S).done:
        look()
    return future.result()


def _result(told: BinaryIO, work: Callable[[], Result], look: Callable[[], None]) -> Result:
    """Return what a copy told; of one that ended before, for want of memory say, what is done here.

    Raises
    ------
    Exception
        What the work raised.
    """
    while not select.select([told], [], [], LOOK_S)[0]:
        look()
    try:
        done, content = pickle.load(told)
    except (EOFError, pickle.UnpicklingError):
        return work()
    if not done:
        raise content
    result: Result = content
    return result
