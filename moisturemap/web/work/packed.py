"""Answers packed where they are made, so that the app itself only hands them on."""

from __future__ import annotations

import gzip
import json
from dataclasses import dataclass
from typing import Any

LEVEL = 4
"""Of compression: beyond it a map grows hardly smaller and takes twice as long (our choice)."""


@dataclass(frozen=True)
class Packed:
    """A JSON answer, compressed, and the entry of the record whose data it is of."""

    content: bytes
    record: int


@dataclass(frozen=True)
class Paper:
    """A file that was made: name, bytes, what the reader should know, and numbers printed in it.

    ``number`` is that of a report.
    """

    name: str
    content: bytes
    notes: tuple[str, ...] = ()
    numbers: dict[str, Any] | None = None
    visit: str = ""
    record: int | None = None
    number: str = ""


def pack(answer: dict[str, Any], record: int) -> Packed:
    """Return an answer with the number of the record it is of."""
    text = json.dumps({**answer, "record": record}, allow_nan=False, separators=(",", ":"))
    return Packed(gzip.compress(text.encode(), LEVEL), record)
