"""The comparison of visits, computed while somebody still looks at the map."""

from __future__ import annotations

import gzip
import json
import pickle
import sys
import threading
import time
from dataclasses import replace
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from moisturemap.geostat import allow_copies
from moisturemap.geostat.kriging import workers
from moisturemap.survey import Survey
from moisturemap.web.work import DataKeys, Question, ahead, tasks
from moisturemap.web.work.ahead import Ahead
from moisturemap.web.work.desk import Desk, Memo
from moisturemap.workflow.read import read_survey

pytestmark = [
    pytest.mark.thorough,
    pytest.mark.skipif(sys.platform != "linux", reason="copies on Linux alone"),
]

DEMO = Path(__file__).resolve().parents[2] / "demo_plans" / "warehouse"
KEYS = DataKeys(7, "h7", ("frame",), ("scan",), ("everything",))


@pytest.fixture(scope="module")
def floor() -> Survey:
    """A part of the warehouse, every other row, of the first visit and the last two."""
    survey = read_survey(DEMO)
    visits = tuple(one for one in survey.visits if one.id in ("v1", "v4", "v5"))
    rows = survey.readings
    kept = ((rows["y"] / 0.5).astype(int) % 2 == 0) & (rows["x"] > 20.0)
    kept &= rows["visit"].isin([one.id for one in visits])
    return replace(survey, visits=visits, readings=rows[kept])


@pytest.fixture(scope="module")
def asked(floor: Survey) -> Question:
    """The map of its last visit."""
    wanted = {"visit": None, "own": False}
    return Question("floor_map", "job", KEYS, pickle.dumps(floor), {}, wanted)


@pytest.fixture
def shown(asked: Question, mapped: Memo, monkeypatch: pytest.MonkeyPatch) -> Ahead:
    """A process of two cores that has shown it."""
    module = sys.modules["moisturemap.geostat.beside"]
    monkeypatch.setattr(module, "_may_be_copied", threading.Event())
    monkeypatch.setattr(workers.os, "sched_getaffinity", lambda who: {0, 1})
    monkeypatch.setattr(ahead, "IDLE_S", 0.05)
    allow_copies()
    made = Ahead(mapped)
    made.answered(asked)
    return made


@pytest.fixture
def mapped(asked: Question, once: Memo) -> Memo:
    """What is at hand after the map."""
    memo = Memo()
    for key, value in once.items():
        memo.put(key, value)
    return memo


@pytest.fixture(scope="module")
def once(asked: Question) -> Memo:
    """The same, made once."""
    memo = Memo()
    tasks.floor_map(desk(asked, memo), **asked.arguments)
    return memo


def desk(question: Question, memo: Memo) -> Desk:
    """A desk that tells nobody how far it is."""
    return Desk(question, memo, lambda phrase, fraction: None)


@pytest.fixture
def line() -> tuple[Connection, Connection]:
    """Both ends of a connection."""
    return Pipe()


def test_drying_is_at_hand_when_it_is_asked_for(shown, mapped, asked, line) -> None:
    """The same answer as computed then; the map at hand is shared, not doubled."""
    _, process = line
    assert shown.fill(process, threading.Event()) is None
    question = replace(asked, task="drying")
    begun = time.process_time()
    told = tasks.drying(desk(question, mapped), **question.arguments)
    assert time.process_time() - begun < 0.5
    alone = Memo()
    fresh = tasks.drying(desk(question, alone), **question.arguments)
    assert json.loads(gzip.decompress(told.content)) == json.loads(gzip.decompress(fresh.content))
    newer = replace(KEYS, everything=("newer",))
    assert mapped.look(("job", "drying", newer.everything, "v5")) is None
    compared = mapped.look(("job", "drying", KEYS.everything, "v5"))
    assert compared.latest.moisture is desk(asked, mapped).mapped(None).moisture
    before = time.monotonic()
    assert shown.fill(process, threading.Event()) is None  # nothing is left to compute
    assert time.monotonic() - before < 0.5


def test_another_question_ends_it_at_once(shown, mapped, asked, line) -> None:
    """Whoever asks for a place waits for nothing."""
    app, process = line
    place = replace(asked, task="place", arguments={"visit": None, "x": 20.0, "y": 5.0})
    before = dict(mapped.items())
    threading.Timer(0.4, app.send, (place,)).start()
    begun = time.monotonic()
    taken = shown.fill(process, threading.Event())
    assert taken == place
    assert time.monotonic() - begun < 3.0  # 0.4 s, and a busy machine
    assert dict(mapped.items()).keys() == before.keys()


def test_what_is_computed_just_now_is_waited_for(shown, mapped, asked, line) -> None:
    """Asked for before it was done, Drying is not begun anew; the page hears how far it is."""
    app, process = line
    question = replace(asked, task="drying")
    threading.Timer(0.3, app.send, (question,)).start()
    assert shown.fill(process, threading.Event()) == question
    assert mapped.look(("job", "drying", KEYS.everything, "v5")) is not None
    assert app.recv() == ("say", ("differencing visits", 0.5))


def test_nothing_is_computed_for_one_visit(shown, asked, line) -> None:
    """There is nothing to compare."""
    _, process = line
    one = replace(asked, arguments={"visit": "v1", "own": False})
    shown.answered(one)
    before = time.monotonic()
    assert shown.fill(process, threading.Event()) is None
    assert time.monotonic() - before < 0.5
