"""Work beside other work: in a copy of the process where that is allowed, else in a thread."""

from __future__ import annotations

import os
import sys
import threading
import time

import numpy as np
import pytest

from moisturemap.errors import Cancelled, NotEnoughData
from moisturemap.geostat import allow_copies, beside, standing_by
from moisturemap.geostat.kriging import workers

module = sys.modules["moisturemap.geostat.beside"]


def nothing() -> None:
    """Look at nothing meanwhile."""


@pytest.fixture(params=["copy", "thread"])
def way(request, monkeypatch):
    """Both ways."""
    allowed = threading.Event()
    monkeypatch.setattr(module, "_may_be_copied", allowed)
    monkeypatch.setattr(workers.os, "sched_getaffinity", lambda who: {0, 1}, raising=False)
    if request.param == "copy":
        if sys.platform != "linux":
            pytest.skip("processes are copied on Linux alone")
        allow_copies()
    return request.param


def test_result_comes_from_a_copy_or_a_thread(way):
    """Large arrays pass as they are, and what a copy changes is changed in the copy alone."""
    numbers, seen = np.arange(400_000.0), []

    def work():
        seen.append(1)
        return os.getpid(), numbers**2

    with beside(work) as told:
        process, squares = told(nothing)
    assert np.array_equal(squares, numbers**2)
    assert (process == os.getpid()) == (way == "thread")
    assert bool(seen) == (way == "thread")


def test_what_the_work_raises_is_raised(way):
    """With its words."""

    def work():
        message = "too few"
        raise NotEnoughData(message)

    with beside(work) as told, pytest.raises(NotEnoughData, match="too few"):
        told(nothing)


def test_it_is_looked_meanwhile_and_what_that_raises_ends_the_waiting(way):
    """Somebody who has left is not waited for."""

    def cancel():
        raise Cancelled

    begun = time.monotonic()
    with pytest.raises(Cancelled), beside(lambda: time.sleep(1.5)) as told:
        told(cancel)
    if way == "copy":
        assert time.monotonic() - begun < 1.0


def test_a_copy_that_ends_early_is_stood_in_for(way):
    """Ended for want of memory, say: the result comes all the same."""
    here = os.getpid()

    def work():
        if os.getpid() != here:
            os._exit(9)
        return 7

    with beside(work) as told:
        assert told(nothing) == 7


def test_no_copy_is_left(way, monkeypatch):
    """Neither of work that was asked for nor of work that was not."""
    if way == "thread":
        return
    copies, copied = [], os.fork

    def fork():
        copies.append(copied())
        return copies[-1]

    monkeypatch.setattr(module.os, "fork", fork)
    with beside(lambda: time.sleep(30)):
        pass
    with beside(os.getpid) as told:
        assert told(nothing) == copies[1]
    for process in copies:
        with pytest.raises(ProcessLookupError):
            os.kill(process, 0)


def test_cores_are_shared_meanwhile(way):
    """Two processes on two cores keep to one each; batches come in order all the same."""
    if way == "thread":
        return
    with beside(workers.cores) as told:
        assert (workers.cores(), told(nothing)) == (1, 1)
        found, done = [], []
        workers.work_through(range(4), lambda one: one**2, found.append, done.append)
    assert (found, done) == ([0, 1, 4, 9], [0.0, 0.25, 0.5, 0.75])
    assert workers.cores() == 2


@pytest.fixture
def alone(monkeypatch):
    """Two cores and no other thread, whoever runs the tests."""
    if sys.platform != "linux":
        pytest.skip("processes are copied on Linux alone")
    monkeypatch.setattr(workers.os, "sched_getaffinity", lambda who: {0, 1})
    monkeypatch.setattr(module.threading, "active_count", lambda: 1)


def test_a_copy_stands_by_until_it_is_given_its_data(alone):
    """It gets ready meanwhile, and what it changes is changed in the copy alone."""
    here, seen = os.getpid(), []

    def work(numbers):
        return os.getpid() != here, list(seen), numbers**2

    with standing_by(lambda: seen.append("ready"), work) as hand:
        numbers = np.arange(400_000.0)
        in_copy, loaded, squares = hand(numbers)(nothing)
    assert in_copy
    assert loaded == ["ready"]
    assert seen == []
    assert np.array_equal(squares, numbers**2)


def test_a_copy_standing_by_that_ends_early_is_stood_in_for(alone):
    """Before it is given anything, or while it works."""
    here = os.getpid()

    def end(given=None):
        if os.getpid() != here:
            os._exit(9)
        return given

    with standing_by(end, end) as hand:
        time.sleep(0.1)
        assert hand(np.arange(100_000))(nothing).size == 100_000
    with standing_by(nothing, end) as hand:
        assert hand(7)(nothing) == 7


def test_what_a_copy_standing_by_raises_is_raised_and_none_is_left(alone, monkeypatch):
    """Neither one that was given its data nor one that never was."""
    copies, copied = [], os.fork

    def fork():
        copies.append(copied())
        return copies[-1]

    def work(given):
        raise NotEnoughData(given)

    monkeypatch.setattr(module.os, "fork", fork)
    with standing_by(nothing, work) as hand, pytest.raises(NotEnoughData, match="too few"):
        hand("too few")(nothing)
    with standing_by(lambda: time.sleep(30), work):
        pass
    for process in copies:
        with pytest.raises(ProcessLookupError):
            os.kill(process, 0)


@pytest.mark.parametrize(("cores", "threads"), [(1, 1), (2, 2)])
def test_none_stands_by_on_one_core_or_beside_other_threads(alone, monkeypatch, cores, threads):
    """A copy would take the only core, or wait for locks of threads it does not have."""
    monkeypatch.setattr(workers.os, "sched_getaffinity", lambda who: set(range(cores)))
    monkeypatch.setattr(module.threading, "active_count", lambda: threads)
    with standing_by(nothing, nothing) as hand:
        assert hand is None
