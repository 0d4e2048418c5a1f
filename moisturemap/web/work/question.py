"""What a process that computes is asked, with all it needs to answer."""

from __future__ import annotations

import pickle
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from moisturemap.survey import Survey


@dataclass(frozen=True)
class DataKeys:
    """Which data a result is of; equal keys mean equal data.

    Attributes
    ----------
    number : int
        Last entry of the record of changes.
    head : str
        Its hash: another file may have an entry of the same number.
    frame : tuple
        What readings are taken in: rooms, lines, instruments, visits.
    scan : tuple
        What the map of a visit is made from: the frame and the readings.
    everything : tuple
        What any result is made from: also tests, limits, machines, decisions, issued holes.
    """

    number: int
    head: str
    frame: tuple[Any, ...]
    scan: tuple[Any, ...]
    everything: tuple[Any, ...]


@dataclass(frozen=True)
class Question:
    """One piece of work.

    Attributes
    ----------
    task : str
        Name of a function in ``tasks.py``.
    job : str
        Keeps the results of several jobs apart.
    keys : DataKeys or None
        None for work on a file alone.
    survey : bytes
        The survey, pickled by this program itself a moment ago.
    settings : mapping
        Settings of the project.
    arguments : mapping
        Plain values for the task.
    """

    task: str
    job: str = ""
    keys: DataKeys | None = None
    survey: bytes = b""
    settings: Mapping[str, Any] = field(default_factory=dict)
    arguments: Mapping[str, Any] = field(default_factory=dict)


class Snapshot:
    """A project as it was at one entry of its record."""

    def __init__(self, keys: DataKeys, survey: Survey, settings: Mapping[str, Any]) -> None:
        self.keys = keys
        self.survey = survey
        self.settings = settings

    @cached_property
    def packed(self) -> bytes:
        """The survey as it goes to another process."""
        return pickle.dumps(self.survey, protocol=pickle.HIGHEST_PROTOCOL)

    def question(self, task: str, job: str, arguments: Mapping[str, Any]) -> Question:
        """Return a question about this state of the project."""
        return Question(task, job, self.keys, self.packed, dict(self.settings), dict(arguments))
