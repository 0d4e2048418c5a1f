"""Files of loggers and machines, read in the process for reading."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from moisturemap.web.work.desk import Desk


def logger_file(desk: Desk, path: str, options: Mapping[str, str], channel: str) -> dict[str, Any]:
    """Show how the file of a logger is understood."""
    from moisturemap.entry.logs import record_options, understood_logger

    return understood_logger(Path(path), record_options(**options), channel)


def logger_series(
    desk: Desk, path: str, options: Mapping[str, str], channel: str, place: Any
) -> Any:
    """Return the series of a logger at its place."""
    from moisturemap.entry.logs import record_options
    from moisturemap.files import read_logger

    return read_logger(Path(path), place, record_options(**options), channel=channel)[0]


def machine_file(
    desk: Desk, path: str, options: Mapping[str, str], machine: str, room: str
) -> tuple[Any, dict[str, Any]]:
    """Read the log of machines, and show how it is understood."""
    from moisturemap.entry.logs import record_options, understood_machines

    return understood_machines(Path(path), record_options(**options), machine, room)
