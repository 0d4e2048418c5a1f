"""One thread of linear algebra."""

from __future__ import annotations

from contextlib import AbstractContextManager
from functools import cache
from typing import Any

from threadpoolctl import ThreadpoolController


def one_thread() -> AbstractContextManager[Any]:
    """Hold linear algebra to one thread: of small systems, more would wait for each other.

    On a busy machine they wait for minutes. The libraries are looked up once, because that takes
    longer than solving some of these systems.
    """
    held: AbstractContextManager[Any] = _libraries().limit(limits=1)
    return held


@cache
def _libraries() -> ThreadpoolController:
    import scipy.linalg  # noqa: F401

    return ThreadpoolController()
