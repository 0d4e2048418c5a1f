"""Ctrl-C that ends long work at once.

Python looks for signals between its own instructions, and at its end it waits for threads that
still compute and frees what it holds, so an interrupt may take seconds. A thread of ours is told of
the signal by the system itself and ends the program when nothing else did. Nothing is lost by that:
what a killed program leaves unfinished is swept away, or finished, by the next run.
"""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import sys
import threading
import time
from collections.abc import Iterator
from typing import NoReturn

GRACE_S = 0.7
"""What the program gets to end by itself after Ctrl-C [s]; our choice."""

STOPPED = "Stopped. Nothing half-written was left; what was there before is as it was."
EXIT_CODE = 130
"""As shells tell a program that SIGINT ended: 128 + 2 (POSIX, Shell and Utilities, 2.8.2)."""


@contextlib.contextmanager
def ends_at_once() -> Iterator[None]:
    """Let Ctrl-C end the program within a second while the block runs."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    heard, told = socket.socketpair()
    told.setblocking(False)
    before = signal.set_wakeup_fd(told.fileno(), warn_on_full_buffer=False)
    threading.Thread(target=_watch, args=(heard,), daemon=True).start()
    try:
        yield
    finally:
        signal.set_wakeup_fd(before)
        # after a signal the thread has read it and sleeps already; closing does not wake it
        told.close()


def _watch(heard: socket.socket) -> None:
    with heard:
        while number := heard.recv(1):
            if number[0] == signal.SIGINT:
                time.sleep(GRACE_S)
                end_stopped()


def end_stopped() -> NoReturn:
    """Say that the work was stopped, and end the program without waiting for anything."""
    with contextlib.suppress(OSError, ValueError):
        sys.stdout.flush()
        sys.stderr.flush()
        os.write(2, f"\n{STOPPED}\n".encode())
    os._exit(EXIT_CODE)
