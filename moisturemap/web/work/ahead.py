"""What is likely to be asked next, computed in a copy of the process while nothing is asked."""

from __future__ import annotations

import io
import os
import pickle
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import fields, is_dataclass, replace
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import pandas as pd

from moisturemap.errors import MoistureMapError
from moisturemap.geostat import beside, copies_work
from moisturemap.web.work.desk import Desk, Memo
from moisturemap.web.work.question import Question

IDLE_S = 1.0
"""So long nothing is asked after an answer before something is computed ahead [s]."""
POLITE = 10
"""How far what is asked goes before it (nice)."""
TRIES = 3
"""How often it is begun: somebody who asks on and on has it computed when he asks for it."""
MAPS = ("floor_map", "quick_map")
"""Questions after which visits are compared."""
FEWEST_VISITS = 2
"""Visits there must be to be compared."""


class _AskedError(Exception):
    """Something else was asked."""


class Ahead:
    """After the map of a visit the comparison with those before it: Drying then comes at once.

    Nothing of it is shown before it is asked for, and then only if the data are still the same:
    what was found is kept under the data it is of, like everything at hand.

    Parameters
    ----------
    memo : Memo
        What the process has at hand; what was found ahead is put there.
    """

    def __init__(self, memo: Memo) -> None:
        self._memo = memo
        self._map: Question | None = None
        self._tries = 0

    def answered(self, question: Question) -> None:
        """Note a map that was shown."""
        if question.task in MAPS:
            self._map, self._tries = question, TRIES

    def fill(self, connection: Connection, stop: Any) -> Question | None:
        """Compute until something is asked.

        Parameters
        ----------
        connection : Connection
            Where questions come.
        stop : Event
            Set when what was asked is wanted no more.

        Returns
        -------
        Question or None
            What was asked meanwhile, if it was taken from the connection: what is computed just
            now is waited for before it is answered, anything else ends the computing.
        """
        if self._map is None or not copies_work() or connection.poll(IDLE_S):
            return None
        question = _following(self._map, self._memo)
        self._tries -= 1
        if question is None or self._tries == 0:
            self._map = None
        if question is None:
            return None
        asked: Question | None = None

        def look() -> None:
            nonlocal asked
            if asked is None and connection.poll():
                asked = connection.recv()
                connection.send(("say", ("differencing visits", 0.5)))
            if asked is not None and (stop.is_set() or not _alike(asked, question)):
                raise _AskedError

        known = _parts([value for _, value in self._memo.items()])
        try:
            with beside(partial(self._found, question, known), idle=True) as told:
                for key, value in _read(told(look), known):
                    self._memo.put(key, value)
        except _AskedError:
            return asked
        except MoistureMapError:
            pass  # it is refused again, in words, when it is asked for
        self._map = None
        return asked

    def _found(self, question: Question, known: list[Any]) -> bytes:
        """Return what the process lacks for an answer, as a copy of it."""
        from moisturemap.web.work import tasks

        os.nice(POLITE)
        with suppress(OSError):  # where memory runs out, it goes first
            Path("/proc/self/oom_score_adj").write_text("900", encoding="ascii")
        before = {key for key, _ in self._memo.items()}
        desk = Desk(question, self._memo, lambda phrase, fraction: None)
        getattr(tasks, question.task)(desk, **question.arguments)
        lacking = [one for one in self._memo.items() if one[0] not in before]
        return _written(lacking, known)


def _following(question: Question, memo: Memo) -> Question | None:
    """Return the comparison that is asked for after the map of a visit; None where it is known."""
    assert question.keys is not None
    survey = Desk(question, memo, lambda phrase, fraction: None).survey
    latest = survey.scanned_visit(question.arguments["visit"]).id
    ids = [one.id for one in survey.visits]
    read = set(survey.readings["visit"])
    few = len(read.intersection(ids[: ids.index(latest) + 1])) < FEWEST_VISITS
    if few or memo.look((question.job, "drying", question.keys.everything, latest)) is not None:
        return None
    return replace(question, task="drying")


def _alike(asked: Question, question: Question) -> bool:
    """Whether the same is asked of the same data."""
    return (asked.task, asked.job, asked.keys, asked.arguments) == (
        question.task,
        question.job,
        question.keys,
        question.arguments,
    )


def _parts(values: Iterable[Any]) -> list[Any]:
    """Return results at hand and what they are made of: a copy need not send it back."""
    found = []
    for value in values:
        found.append(value)
        if is_dataclass(value) and not isinstance(value, type):
            found += [getattr(value, one.name) for one in fields(value)]
    return [one for one in found if is_dataclass(one) or isinstance(one, pd.DataFrame)]


class _Writer(pickle.Pickler):
    """Writes what the process has at hand as its place in a list."""

    def __init__(self, stream: io.BytesIO, known: list[Any]) -> None:
        super().__init__(stream, protocol=pickle.HIGHEST_PROTOCOL)
        self._places = {id(one): place for place, one in enumerate(known)}

    def persistent_id(self, obj: Any) -> int | None:
        return self._places.get(id(obj))


class _Reader(pickle.Unpickler):
    """Reads what ``_Writer`` wrote."""

    def __init__(self, stream: io.BytesIO, known: list[Any]) -> None:
        super().__init__(stream)
        self._known = known

    def persistent_load(self, pid: int) -> Any:
        return self._known[pid]


def _written(found: Any, known: list[Any]) -> bytes:
    stream = io.BytesIO()
    _Writer(stream, known).dump(found)
    return stream.getvalue()


def _read(content: bytes, known: list[Any]) -> Any:
    return _Reader(io.BytesIO(content), known).load()
