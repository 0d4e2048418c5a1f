"""Where long work is done: one piece at a time, watched, and ended when it is no longer wanted."""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
import threading
import time
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from moisturemap.errors import Cancelled, MoistureMapError
from moisturemap.web.work.desk import Desk, Memo
from moisturemap.web.work.question import Question

Say = Callable[[str, float], None]
Unwanted = Callable[[], bool]

LOOK_S = 0.05
"""How often it is asked whether the work is still wanted [s]."""
PATIENCE_S = 10.0
"""Work that does not end by itself after it was cancelled is ended, and with its process all that
was at hand: after it computed this long [s of the processor]. On a busy machine the clock runs on
meanwhile, and who goes from task to task would have everything begun anew each time."""
LONGEST_S = 120.0
"""Nor does it go on longer than this by the clock [s]: it may hang and compute nothing."""


BEHIND = 5
"""How far all else goes before studies (nice): with two cores full of them the app answered in half
the time."""

READY = "ready"
"""What a process says once it has loaded what it needs."""


@contextmanager
def in_turn(lock: threading.RLock, unwanted: Unwanted) -> Iterator[None]:
    """Hold a lock once it is free, waiting only as long as the work is wanted.

    Raises
    ------
    Cancelled
        When it is wanted no more before its turn has come.
    """
    while not lock.acquire(timeout=LOOK_S):
        if unwanted():
            raise Cancelled
    try:
        yield
    finally:
        lock.release()


class WorkEnded(MoistureMapError):
    """The process that computed ended before its answer."""


class _LeftEarlyError(Exception):
    """A question was left before it was sent."""


class Lane(ABC):
    """One piece of work at a time.

    Attributes
    ----------
    apart : bool
        Whether it is done in a process of its own, and so holds nobody else up.
    waiting : list of Question
        What waits for its turn.
    """

    apart = False

    def __init__(self) -> None:
        self.waiting: list[Question] = []
        self._turn = threading.RLock()

    @contextmanager
    def _its_turn(self, question: Question, unwanted: Unwanted) -> Iterator[None]:
        """Wait for the turn of a question, and hold it."""
        self.waiting.append(question)
        with ExitStack() as held:
            try:
                held.enter_context(in_turn(self._turn, unwanted))
            finally:
                self.waiting.remove(question)
            yield

    @abstractmethod
    def run(self, question: Question, say: Say, unwanted: Unwanted) -> Any:
        """Return the answer to a question.

        Raises
        ------
        Cancelled
            When it was no longer wanted before it was done.
        WorkEnded
            When the process ended, for want of memory say.
        """

    @abstractmethod
    def warm_up(self) -> None:
        """Load what the work needs, before it is needed."""

    @abstractmethod
    def close(self) -> None:
        """End what runs."""


def answer(question: Question, memo: Memo, say: Say) -> Any:
    """Do one piece of work here and now."""
    from moisturemap.web.work import tasks

    return getattr(tasks, question.task)(Desk(question, memo, say), **question.arguments)


class SameThread(Lane):
    """Work done by whoever asks; for tests, and where no process can be started."""

    def __init__(self) -> None:
        super().__init__()
        self._memo = Memo()

    def run(self, question: Question, say: Say, unwanted: Unwanted) -> Any:
        """Return the answer to a question."""

        def watched(phrase: str, fraction: float) -> None:
            say(phrase, fraction)
            if unwanted():
                raise Cancelled

        with self._its_turn(question, unwanted):
            return answer(question, self._memo, watched)

    def warm_up(self) -> None:
        """Nothing to start."""

    def close(self) -> None:
        """Nothing to end."""


class OwnProcess(Lane):
    """Work done in a process of its own, which cannot take the app along when it ends badly.

    Parameters
    ----------
    name : str
    behind : bool
        Whether the app and the page go before it where they want the same core.
    """

    apart = True

    def __init__(self, name: str, behind: bool = False) -> None:
        super().__init__()
        self._name, self._behind = name, behind
        self._process: multiprocessing.process.BaseProcess | None = None
        self._connection: Connection | None = None
        self._closed = threading.Event()
        self._stop: Any = None
        self._ready = False

    def warm_up(self) -> None:
        """Start the process, so that it loads its libraries while the user looks around."""
        with self._turn:
            self._started()

    def _started(self) -> Connection:
        if self._process is not None and self._process.is_alive() and self._connection:
            return self._connection
        # A fresh interpreter: a fork would copy locks that other threads hold.
        context = multiprocessing.get_context("spawn")
        self._connection, theirs = context.Pipe()
        self._stop = context.Event()
        self._ready = False
        process = context.Process(
            target=_work,
            args=(theirs, self._stop, self._behind),
            name=f"moisturemap {self._name}",
            daemon=True,
        )
        process.start()
        self._process = process
        theirs.close()
        if self._closed.is_set():  # while it started
            process.kill()
        return self._connection

    def run(self, question: Question, say: Say, unwanted: Unwanted) -> Any:
        """Return the answer to a question."""
        with self._its_turn(question, unwanted):
            if unwanted():
                raise Cancelled
            connection = self._started()
            try:
                self._await_ready(connection, unwanted)
                self._stop.clear()
                connection.send(question)
                kind, content = self._watch(connection, say, unwanted)
            except (EOFError, ConnectionError, OSError) as ended:
                self._end()
                message = (
                    "the computation ended before its answer, perhaps for want of memory. "
                    "Nothing stored is lost; ask again, or with fewer readings"
                )
                raise WorkEnded(message) from ended
            except _LeftEarlyError:
                raise Cancelled from None
            except BaseException:
                # What it still answers is no answer to what is asked next.
                self._end()
                raise
            if kind == "error":
                raise content
            return content

    def _await_ready(self, connection: Connection, unwanted: Unwanted) -> None:
        """Wait while it loads; who leaves meanwhile does not make it begin anew.

        On a slow machine it would never be ready otherwise for somebody who goes from task to task.
        """
        while not self._ready:
            if connection.poll(LOOK_S):
                self._ready = connection.recv()[0] == READY
            if not self._ready and unwanted():
                raise _LeftEarlyError

    def _watch(self, connection: Connection, say: Say, unwanted: Unwanted) -> tuple[str, Any]:
        """Return what came, an answer or an error."""
        left: tuple[float, float] | None = None
        while True:
            if connection.poll(LOOK_S):
                kind, content = connection.recv()
                if kind == "say":
                    say(*content)
                else:
                    return kind, content
            if left is None and unwanted():
                left = self._worked_s(), time.monotonic()
                self._stop.set()
            if left is not None and (
                self._worked_s() - left[0] > PATIENCE_S or time.monotonic() - left[1] > LONGEST_S
            ):
                raise Cancelled

    def _worked_s(self) -> float:
        """Return how long the process has computed [s]; by the clock where no system tells."""
        try:
            assert self._process is not None
            told = Path(f"/proc/{self._process.pid}/stat").read_text(encoding="ascii")
            user, system = told.rpartition(")")[2].split()[11:13]
            return (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")
        except (OSError, AttributeError):
            return time.monotonic()

    def _end(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.join(5)
        if self._connection is not None:
            self._connection.close()
        self._process = self._connection = None

    def close(self) -> None:
        """End the process, also one that is just being started."""
        self._closed.set()
        process = self._process
        if process is not None:
            process.kill()


def _work(connection: Connection, stop: Any, behind: bool) -> None:
    """Answer questions until the app is gone."""
    if behind and hasattr(os, "nice"):  # not on Windows
        os.nice(BEHIND)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C ends the app, and the app ends this
    with suppress(OSError):
        # Where memory runs out, this process goes first and the app stays.
        Path("/proc/self/oom_score_adj").write_text("600", encoding="ascii")
    from moisturemap.geostat import allow_copies, one_thread
    from moisturemap.web.work import tasks

    tasks.load()
    gc.freeze()  # what is loaded stays: looked through for waste, it takes 0.2 s each time
    allow_copies()
    connection.send((READY, None))
    with one_thread():  # on busy cores the threads of linear algebra wait for each other
        _answers(connection, stop)


def _answers(connection: Connection, stop: Any) -> None:
    from moisturemap.web.work.ahead import Ahead

    memo = Memo()
    ahead = Ahead(memo)

    def say(phrase: str, fraction: float) -> None:
        connection.send(("say", (phrase, fraction)))
        if stop.is_set():
            raise Cancelled

    while True:
        try:
            question = ahead.fill(connection, stop) or connection.recv()
        except (EOFError, OSError):
            return
        try:
            connection.send(("answer", answer(question, memo, say)))
        except (BrokenPipeError, ConnectionError):
            return
        except MoistureMapError as refused:
            connection.send(("error", refused))
        except Exception as failed:
            import logging

            logging.getLogger("uvicorn.error").exception("%s failed", question.task)
            connection.send(("error", RuntimeError(f"{type(failed).__name__}: {failed}")))
        else:
            ahead.answered(question)
