"""The address is told when the port answers."""

from __future__ import annotations

import signal
import socket

import pytest
from fastapi import FastAPI

from moisturemap.web.server import answer_on


def test_it_is_said_to_be_up_when_it_can_be_asked() -> None:
    """A script that opens the address at once is not refused."""
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))

        def up() -> None:
            socket.create_connection(listener.getsockname(), timeout=5).close()
            signal.raise_signal(signal.SIGINT)

        # a test run started in the background ignores the interrupt
        before = signal.signal(signal.SIGINT, signal.default_int_handler)
        try:
            with pytest.raises(KeyboardInterrupt):
                answer_on(listener, FastAPI(), up)
        finally:
            signal.signal(signal.SIGINT, before)
