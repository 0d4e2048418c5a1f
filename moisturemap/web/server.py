"""The app on a port, which says when it answers there."""

from __future__ import annotations

import socket
from collections.abc import Callable

import uvicorn
from fastapi import FastAPI


class _Server(uvicorn.Server):
    """Calls back once the port answers, not when it is merely taken."""

    def __init__(self, config: uvicorn.Config, up: Callable[[], None]) -> None:
        super().__init__(config)
        self._up = up

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        self._up()


def answer_on(listener: socket.socket, app: FastAPI, up: Callable[[], None]) -> None:
    """Serve the app on a bound socket until it is ended.

    Parameters
    ----------
    listener : socket.socket
    app : FastAPI
    up : callable
        Called when the first question can be asked.
    """
    config = uvicorn.Config(app, log_level="warning", server_header=False, lifespan="on")
    _Server(config, up).run(sockets=[listener])
