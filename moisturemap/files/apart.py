"""Readers of complicated formats run in a process of their own, with bounds on memory and time.

Workbooks, drawings and GeoPackages are read by large libraries, in part written in languages where
a bad file can end the program. In a process of its own it ends that process alone.
"""

from __future__ import annotations

import atexit
import contextlib
import os
import pickle
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import IO, Any, TypeVar

from moisturemap.errors import FormatError, MoistureMapError

R = TypeVar("R")

LONGEST_S = 120.0
"""Longest a file may take to be read [s]; our choice.

A workbook of a million readings took 46 s beside other work.
"""

MOST_MEMORY = 4 * 2**30
"""Address space the reading process may take [bytes], where the system can bound it (not on
Windows, not kept on macOS); our choice. A million readings took 0.7 GB."""

_START = "from moisturemap.files.apart import serve; serve()"
_INSIDE = "MOISTUREMAP_READER"


def read_apart(reader: Callable[..., R], path: Path, *args: Any) -> R:
    """Call a reader on a file in the process for reading.

    Parameters
    ----------
    reader : callable
        A function of a module, so that it can be named to the other process.
    path : Path
        File; the first argument of the reader.
    args
        The others; whatever pickle can carry.

    Raises
    ------
    FormatError
        When the file takes too long or too much memory, or ends the process.
    MoistureMapError
        Whatever the reader raises on purpose.
    """
    if _INSIDE in os.environ or not sys.executable:
        return reader(path, *args)
    with _turn:
        return _reading_process().call(reader, path.absolute(), *args)


class _ReadingProcess:
    """The other process; it serves one file after another and ends with this one."""

    def __init__(self) -> None:
        package = str(Path(__file__).resolve().parents[2])
        search = os.pathsep.join([package, *filter(None, [os.environ.get("PYTHONPATH")])])
        self.process = subprocess.Popen(
            [sys.executable, "-c", _START],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, _INSIDE: "1", "PYTHONPATH": search},
        )

    def call(self, reader: Callable[..., R], path: Path, *args: Any) -> R:
        """Send one file and wait for what comes back."""
        late = threading.Event()
        watch = threading.Timer(LONGEST_S, self._too_late, (late,))
        watch.daemon = True
        watch.start()
        try:
            pickle.dump((reader, path, args), self._pipe(self.process.stdin))
            self._pipe(self.process.stdin).flush()
            worked, found = pickle.load(self._pipe(self.process.stdout))
        except (EOFError, OSError, pickle.UnpicklingError) as error:
            self.stop()
            what = f"reading it took longer than {LONGEST_S:.0f} s" if late.is_set() else _BROKE
            raise FormatError(
                what,
                source=path.name,
                allowed="the file saved again by the program it is from, or another format",
            ) from error
        except BaseException:  # stopped while waiting: what comes back would be of this file
            self.stop()
            raise
        finally:
            watch.cancel()
        if not worked:
            raise found
        return found  # type: ignore[no-any-return]

    def _too_late(self, late: threading.Event) -> None:
        late.set()
        self.process.kill()

    @staticmethod
    def _pipe(pipe: IO[bytes] | None) -> IO[bytes]:
        assert pipe is not None
        return pipe

    def stop(self) -> None:
        """End the process; harmless when it has ended."""
        self.process.kill()
        self.process.wait()
        for pipe in (self.process.stdin, self.process.stdout):
            with contextlib.suppress(OSError):
                self._pipe(pipe).close()


_BROKE = (
    f"the file is damaged or far too large: reading it ended the process for reading, which may "
    f"take {MOST_MEMORY // 2**30} GB of memory"
)
_turn = threading.Lock()
_process: _ReadingProcess | None = None


def _reading_process() -> _ReadingProcess:
    global _process
    if _process is None or _process.process.poll() is not None:
        if _process is not None:
            _process.stop()
        _process = _ReadingProcess()
    return _process


@atexit.register
def _stop() -> None:
    if _process is not None:
        _process.stop()


def serve() -> None:
    """Read files for the process that started this one, until it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the other process decides what Ctrl-C means
    _bound_memory()
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what libraries print is no answer
    while True:
        try:
            reader, path, args = pickle.load(sys.stdin.buffer)
        except EOFError:
            return
        pickle.dump(_answer(reader, path, args), answers)
        answers.flush()


def _answer(reader: Callable[..., Any], path: Path, args: tuple[Any, ...]) -> tuple[bool, Any]:
    try:
        return True, reader(path, *args)
    except MoistureMapError as refusal:
        return False, refusal
    except MemoryError:
        return False, FormatError(_BROKE, source=path.name)
    except Exception as error:
        # a fault of ours is told as one, with its place, in the process that can tell it
        fault = RuntimeError(f"{type(error).__name__} while reading {path.name}: {error}")
        return False, fault


def _bound_memory() -> None:
    try:
        import resource
    except ImportError:  # not on Windows
        return
    _, most = resource.getrlimit(resource.RLIMIT_AS)
    bound = MOST_MEMORY if most == resource.RLIM_INFINITY else min(MOST_MEMORY, most)
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_AS, (bound, most))
