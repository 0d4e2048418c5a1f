"""Long work of a job: done once for the data as they are, dropped when they change."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from functools import partial
from http.client import HTTPConnection
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
import uvicorn
from fastapi import FastAPI
from starlette.testclient import TestClient

from moisturemap.errors import Cancelled, NotEnoughData, OptionError, StoreError
from moisturemap.web import Settings, create_app
from moisturemap.web.jobs import Job, Shelf
from moisturemap.web.work import OwnProcess, Question, SameThread, WorkEnded
from moisturemap.web.work.desk import Desk

from .conftest import WHO, make_job

pytestmark = pytest.mark.thorough

WET = {"raw": "95", "why": "read again", "who": WHO}


class Slow(SameThread):
    """A lane that lets a test do something while the map is being made."""

    def __init__(self, meanwhile: Callable[[], None]) -> None:
        super().__init__()
        self.meanwhile = meanwhile
        self.runs: list[int] = []

    def run(self, question: Question, say: Any, unwanted: Any) -> Any:
        """Do it as the study is under way, past the last look at the data."""
        self.runs.append(question.keys.number if question.keys else 0)
        answer = super().run(question, say, unwanted)
        self.meanwhile()
        return answer


def _job(client: TestClient) -> Job:
    shelf: Shelf = client.app.state.shelf  # type: ignore[attr-defined]
    return shelf.job("Harbour shop")


def _highest(client: TestClient, base: str) -> tuple[float, int]:
    answer = client.get(f"{base}/map").json()
    values = [f["properties"]["value"] for f in answer["layers"]["readings"]["features"]]
    return max(values), answer["record"]


def test_a_correction_while_the_map_is_made_is_in_the_map(client: TestClient) -> None:
    """Nothing of the work is stubbed: the survey, the study and the layers are those of the app."""
    base = make_job(client)
    job = _job(client)
    once = iter([True])

    def correct() -> None:
        if next(once, False):
            reading = client.get(f"{base}/readings", params={"visit": "v1"}).json()["readings"][0]
            client.patch(f"{base}/readings/{reading['reading']}", json=WET)

    lane = Slow(correct)
    job.lanes = type(job.lanes)(lane, job.lanes.quick)
    highest, record = _highest(client, base)
    assert highest == 95
    assert record == job.project.head().number
    assert len(lane.runs) == 2
    assert _highest(client, base) == (95, record)
    assert len(lane.runs) == 2


def test_holes_of_older_readings_do_not_hold_the_corrected_map_up(client: TestClient) -> None:
    """A correction while holes are planned: they are given up, and the quick map comes at once."""
    base = make_job(client)
    job = _job(client)
    client.get(f"{base}/map")
    reading = client.get(f"{base}/readings", params={"visit": "v1"}).json()["readings"][0]

    def correct() -> None:
        client.patch(f"{base}/readings/{reading['reading']}", json=WET)

    slow = Slow(correct)
    slow._memo = job.lanes.study._memo  # type: ignore[attr-defined]
    job.lanes, before = type(job.lanes)(slow, job.lanes.quick), job.lanes
    assert client.get(f"{base}/map/holes").status_code == 409
    assert len(slow.runs) == 1
    job.lanes = before
    assert client.get(f"{base}/map", params={"quick": True}).json()["quick"]


def test_while_others_read_on_the_map_comes_and_says_what_it_is_of(client: TestClient) -> None:
    """Readings that keep coming in do not keep the map away for ever."""
    base = make_job(client)
    job = _job(client)

    def read_on() -> None:
        typed = {"x": 1.0, "y": 1.0, "raw": "30", "label": f"T{len(lane.runs)}"}
        body = {"visit": "v1", "instrument": "meter 1", "readings": [typed], "who": WHO}
        assert client.post(f"{base}/readings", json=body).status_code == 201

    lane = Slow(read_on)
    job.lanes = type(job.lanes)(lane, job.lanes.quick)
    _, record = _highest(client, base)
    assert 0 < record < job.project.head().number
    assert len(lane.runs) == 3


def test_another_program_that_changes_the_file_is_noticed(client: TestClient) -> None:
    """Rows and map are those of the file, whoever wrote it."""
    import sqlite3

    base = make_job(client)
    job = _job(client)
    before, record = _highest(client, base)
    job.project.close()
    from moisturemap.store import open_project

    with open_project(job.project.path, writable=True) as other:
        row = other.rows("readings")[0]
        other.correct("readings", row["fid"], {"value": 97.0, "raw": "97"}, "Ben", "read again")
    with pytest.raises(sqlite3.ProgrammingError):
        job.project._connection.execute("SELECT 1")
    client.app.state.shelf._open.clear()  # type: ignore[attr-defined]
    assert before < 97
    assert _highest(client, base) == (97, record + 1)


def test_a_file_put_in_the_place_of_the_old_one_is_read(client: TestClient, tmp_path: Path) -> None:
    """A copy or a sync program replaces the file; the app looks at what lies there now."""
    base = make_job(client, with_readings=False)
    path = tmp_path / "Harbour shop.gpkg"
    other = tmp_path / "elsewhere"
    other.mkdir()
    from moisturemap.store import create_project

    create_project(other / path.name, "Another job", WHO).close()
    (other / path.name).replace(path)
    assert client.get(base).json()["name"] == "Another job"


@pytest.fixture(scope="module")
def lane() -> Iterator[OwnProcess]:
    """A process that computes."""
    lane = OwnProcess("tests")
    yield lane
    lane.close()


def _ask(lane: OwnProcess, task: str, **arguments: Any) -> Any:
    return lane.run(Question(task, arguments=arguments), lambda phrase, part: None, lambda: False)


def test_a_process_that_is_killed_takes_nothing_along(lane: OwnProcess, tmp_path: Path) -> None:
    """Whoever waits is told in words, and the next question is answered by a new process."""
    plan = tmp_path / "plan.wkt"
    plan.write_text("POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))", encoding="utf-8")
    wanted = {"path": str(plan), "units": ("m", "m"), "layer": None, "turn": (0.0, False)}
    looks = iter([lambda: None])

    def killed_at_work() -> bool:
        if lane._process is not None:
            next(looks, lane._process.kill)()
        return False

    with pytest.raises(WorkEnded, match="Nothing stored is lost"):
        lane.run(Question("plan_file", arguments=wanted), lambda phrase, part: None, killed_at_work)
    assert _ask(lane, "plan_file", **wanted)["width_m"] == 4.0


@pytest.mark.skipif(not hasattr(os, "getpriority"), reason="needs a system that ranks processes")
def test_studies_give_way_to_the_app_and_quick_work_does_not(tmp_path: Path) -> None:
    """On cores full of studies the app would answer late."""
    plan = tmp_path / "plan.wkt"
    plan.write_text("POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))", encoding="utf-8")
    wanted = {"path": str(plan), "units": ("m", "m"), "layer": None, "turn": (0.0, False)}
    mine, ranks = os.getpriority(os.PRIO_PROCESS, 0), []
    with closing(Shelf(Settings(folder=tmp_path))) as shelf:
        for lane in (shelf.lanes.study, shelf.lanes.quick):
            assert isinstance(lane, OwnProcess)
            _ask(lane, "plan_file", **wanted)
            assert lane._process is not None
            assert lane._process.pid is not None
            ranks.append(os.getpriority(os.PRIO_PROCESS, lane._process.pid))
    assert ranks[0] > mine
    assert ranks[1] == mine


def test_a_refusal_comes_back_with_all_it_says(lane: OwnProcess, tmp_path: Path) -> None:
    """Kind, value and what is allowed survive the way between processes."""
    plan = tmp_path / "plan.wkt"
    plan.write_text("POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))", encoding="utf-8")
    wanted = {"path": str(plan), "units": ("rods", "m"), "layer": None, "turn": (0.0, False)}
    with pytest.raises(OptionError) as refused:
        _ask(lane, "plan_file", **wanted)
    assert refused.value.value == "rods"
    assert "ft" in str(refused.value.allowed)


def test_the_app_answers_at_once_while_a_map_is_made(tmp_path: Path) -> None:
    """Health is answered again and again between the beginning and the end of a study."""
    app = create_app(Settings(folder=tmp_path))
    with TestClient(app, base_url="http://127.0.0.1:8650") as client:
        base = make_job(client)
        answers: list[int] = []
        asking = threading.Thread(
            target=lambda: answers.append(client.get(f"{base}/map").status_code)
        )
        asking.start()
        heard = 0
        while asking.is_alive():
            assert client.get("/api/health").json()["status"] == "running"
            heard += not answers
            time.sleep(0.02)
        assert answers == [200]
        assert heard >= 5


class Endless(SameThread):
    """A lane whose work ends only when it is no longer wanted, but for what is asked at last."""

    def __init__(self) -> None:
        super().__init__()
        self.begun: list[str] = []
        self.ended: list[str] = []

    def run(self, question: Question, say: Any, unwanted: Any) -> Any:
        """Work until nobody waits."""
        if question.task == "remarks":
            return []
        self.begun.append(question.task)
        until = time.monotonic() + 20
        while not unwanted():
            assert time.monotonic() < until, "still worked on"
            time.sleep(0.02)
        self.ended.append(question.task)
        raise Cancelled


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[FastAPI, str, int]]:
    """The app behind real sockets with one job; its address there."""
    app = create_app(Settings(folder=tmp_path, own_process=False))
    base = quote(make_job(TestClient(app, base_url="http://127.0.0.1:8650")))
    server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="warning"))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield app, base, server.servers[0].sockets[0].getsockname()[1]
    server.should_exit = True
    thread.join()


def _asks(port: int, address: str) -> HTTPConnection:
    line = HTTPConnection("127.0.0.1", port, timeout=20)
    line.request("GET", address)
    return line


def _until(seen: Callable[[], bool]) -> None:
    end = time.monotonic() + 10
    while not seen():
        assert time.monotonic() < end
        time.sleep(0.02)


def test_what_nobody_waits_for_is_dropped(served: tuple[FastAPI, str, int]) -> None:
    """A task left, with its map under way and its verdict queued: the next question comes."""
    app, base, port = served
    job = app.state.shelf.job("Harbour shop")
    lane = Endless()
    job.lanes = type(job.lanes)(lane, job.lanes.quick)
    first = _asks(port, f"{base}/map")
    _until(lambda: lane.begun == ["floor_map"])
    second = _asks(port, f"{base}/verdict")
    with closing(_asks(port, f"{base}/remarks")) as third:
        second.close()
        first.close()
        assert third.getresponse().status == 200
    assert (lane.begun, lane.ended) == (["floor_map"], ["floor_map"])
    assert job.doing == ("", 1.0)


def test_a_question_that_is_given_up_stops_no_other(served: tuple[FastAPI, str, int]) -> None:
    """One that waits in the queue leaves it; what runs for somebody else goes on."""
    app, base, port = served
    job = app.state.shelf.job("Harbour shop")
    lane = Endless()
    job.lanes = type(job.lanes)(lane, job.lanes.quick)
    first = _asks(port, f"{base}/map")
    _until(lambda: lane.begun == ["floor_map"])
    _asks(port, f"{base}/verdict").close()
    time.sleep(0.6)
    assert lane.ended == []
    first.close()
    _until(lambda: lane.ended == ["floor_map"])


def test_an_answer_left_behind_is_not_taken_for_the_next(lane: OwnProcess, tmp_path: Path) -> None:
    """Who watched the work failed in between: the next question gets its own answer."""
    plans = []
    for wide in (4, 7):
        plan = tmp_path / f"{wide}.wkt"
        plan.write_text(f"POLYGON ((0 0, {wide} 0, {wide} 3, 0 3, 0 0))", encoding="utf-8")
        wanted = {"path": str(plan), "units": ("m", "m"), "layer": None, "turn": (0.0, False)}
        plans.append(wanted)

    lane._end()  # a process that starts first is slow enough to be looked after
    asked = iter([False])

    def unwanted() -> bool:
        if next(asked, True):
            message = "another copy was put in its place"
            raise StoreError(message)
        return False

    with pytest.raises(StoreError):
        lane.run(Question("plan_file", arguments=plans[0]), lambda *_: None, unwanted)
    assert _ask(lane, "plan_file", **plans[1])["width_m"] == 7.0


def test_work_that_was_left_is_not_ended_for_the_time_others_compute(
    lane: OwnProcess, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a busy machine its clock runs on; ended each time, a verdict would never come."""
    monkeypatch.setattr("moisturemap.web.work.lane.PATIENCE_S", 0.0)
    plan = tmp_path / "plan.wkt"
    plan.write_text("POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))", encoding="utf-8")
    wanted = {"path": str(plan), "units": ("m", "m"), "layer": None, "turn": (0.0, False)}
    assert _ask(lane, "plan_file", **wanted)["width_m"] == 4.0
    before, worked = lane._process, lane._worked_s()
    assert worked > 0.5  # it has loaded its libraries
    monkeypatch.setattr(lane, "_worked_s", lambda: worked)
    sent = iter([False, False])
    left = partial(next, sent, True)
    answer = lane.run(Question("plan_file", arguments=wanted), lambda *_: None, left)
    assert answer["width_m"] == 4.0
    assert lane._process is before


def test_who_leaves_while_a_process_loads_does_not_make_it_begin_anew(
    lane: OwnProcess, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a slow machine it would never be ready for somebody who goes from task to task."""
    monkeypatch.setattr("moisturemap.web.work.lane.PATIENCE_S", 0.0)
    plan = tmp_path / "plan.wkt"
    plan.write_text("POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))", encoding="utf-8")
    wanted = {"path": str(plan), "units": ("m", "m"), "layer": None, "turn": (0.0, False)}
    lane._end()
    lane.warm_up()
    loading = lane._process
    question = Question("plan_file", arguments=wanted)
    for _ in range(3):
        left = partial(next, iter([False, False]), True)  # after two looks
        with pytest.raises(Cancelled):
            lane.run(question, lambda *_: None, left)
        assert lane._process is loading
    assert _ask(lane, "plan_file", **wanted)["width_m"] == 4.0
    assert lane._process is loading


def test_a_process_that_computes_loads_no_server() -> None:
    """What it loads is waited for at the first map."""
    code = "import sys, moisturemap.web.work.tasks as t; t.load(); print('fastapi' in sys.modules)"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "False"


def test_a_failure_is_not_kept() -> None:
    """The next question tries again."""
    from moisturemap.web.work.desk import Memo

    memo, tries = Memo(), []

    def few() -> int:
        tries.append(1)
        if len(tries) == 1:
            message = "too few"
            raise NotEnoughData(message)
        return 7

    desk = Desk(Question("map", "job"), memo, lambda phrase, part: None)
    with pytest.raises(NotEnoughData):
        desk.kept(("map",), few)
    assert desk.kept(("map",), few) == 7
    for number in range(100):
        desk.kept((number,), lambda: 0)
    assert len(memo._kept) < 50


def test_an_app_that_ends_while_its_process_starts_leaves_none_behind() -> None:
    """Closed at once after the first warm-up began, whichever comes first."""
    for wait_s in (0.0, 0.005, 0.02):
        lane = OwnProcess("short work")
        starting = threading.Thread(target=lane.warm_up)
        starting.start()
        time.sleep(wait_s)
        lane.close()
        starting.join()
        process = lane._process
        assert process is not None
        process.join(10)
        assert not process.is_alive()
