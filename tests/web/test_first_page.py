"""Map or Drying of a job are begun when they are opened, and stand in nobody's way."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Any

import pytest
from starlette.testclient import TestClient

from moisturemap.errors import Cancelled
from moisturemap.web.jobs import Job
from moisturemap.web.work import Question, SameThread

from .conftest import WHO, make_job


class Beside(SameThread):
    """A lane that says it holds nobody up; what is worked out ahead takes until it is let go."""

    apart = True

    def __init__(self) -> None:
        super().__init__()
        self.begun: list[Question] = []
        self.ended: list[str] = []
        self.may_go = False

    def run(self, question: Question, say: Any, unwanted: Any) -> Any:
        """Work as long as it is wanted, one after the other as a lane does."""
        with self._its_turn(question, unwanted):
            self.begun.append(question)
            if not question.task.endswith("_ahead"):
                return super().run(question, say, unwanted)
            say("looking for disturbances", 0.3)
            while not self.may_go:
                if unwanted():
                    self.ended.append(question.task)
                    raise Cancelled
                time.sleep(0.01)
            super().run(question, say, unwanted)
            self.ended.append("done")
            return None


@pytest.fixture
def opened(client: TestClient) -> tuple[TestClient, str, Job, Beside]:
    """A job with readings whose page is opened, its map being worked out."""
    base = make_job(client)
    job: Job = client.app.state.shelf.job("Harbour shop")  # type: ignore[attr-defined]
    lane = Beside()
    job.lanes = type(job.lanes)(lane, job.lanes.quick)
    client.get(base)
    assert not job.foreseen
    assert client.get(base, params={"opens": "map"}).json()["readings"] == 35
    _until(lambda: bool(lane.begun))
    return client, base, job, lane


def _until(seen: Callable[[], bool]) -> None:
    end = time.monotonic() + 20
    while not seen():
        assert time.monotonic() < end
        time.sleep(0.01)


def test_the_map_of_a_job_is_begun_once_when_it_is_opened(opened: Any) -> None:
    """Then the map asked for is at hand: nothing is studied again."""
    client, base, job, lane = opened
    assert [one.task for one in lane.begun] == ["map_ahead"]
    assert job.doing == ("looking for disturbances", 0.3)
    lane.may_go = True
    _until(lambda: lane.ended == ["done"])
    _until(lambda: job.doing == ("", 1.0))
    kept = dict(lane._memo.items())
    shown = client.get(f"{base}/map", params={"visit": "v1", "quick": True}).json()
    assert not shown["quick"]
    assert len(shown["layers"]["readings"]["features"]) == 35
    studies = {key: one for key, one in lane._memo.items() if "study" in key}
    assert studies == {key: one for key, one in kept.items() if "study" in key}
    client.get(base, params={"opens": "map"})
    assert [one.task for one in lane.begun] == ["map_ahead", "quick_map"]


def test_drying_of_a_job_is_begun_when_it_is_opened(client: TestClient) -> None:
    """Then the visits asked for are compared already."""
    base = make_job(client)
    job: Job = client.app.state.shelf.job("Harbour shop")  # type: ignore[attr-defined]
    lane = Beside()
    job.lanes = type(job.lanes)(lane, job.lanes.quick)
    lane.may_go = True
    client.get(base, params={"opens": "drying"})
    _until(lambda: lane.ended == ["done"])
    compared = [one for key, one in lane._memo.items() if key[1] == "drying"]
    assert len(compared) == 1
    shown = client.get(f"{base}/drying", params={"visit": "v1"}).json()
    assert shown["maps"]
    assert [one for key, one in lane._memo.items() if key[1] == "drying"] == compared
    assert sum(key[1] == "drying answer" for key, _ in lane._memo.items()) == 1
    assert [one.task for one in lane.begun] == ["drying_ahead", "drying"]


def test_anything_else_that_is_asked_goes_before_it(opened: Any) -> None:
    """What is worked out ahead ends, and the answer comes."""
    client, base, _, lane = opened
    assert client.get(f"{base}/remarks").status_code == 200
    assert lane.ended == ["map_ahead"]


def test_the_file_is_held_against_its_record_after_it(
    opened: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody waits for that, and it would take the time in which the map is begun."""
    client, base, job, lane = opened
    worked_out: list[bool] = []
    monkeypatch.setattr(job, "record_faults", lambda: worked_out.append("done" in lane.ended) or ())
    going = threading.Timer(0.1, lambda: setattr(lane, "may_go", True))
    going.start()
    assert client.get(f"{base}/faults").json() == {"faults": []}
    going.join()
    assert worked_out == [True]


def test_it_ends_when_the_data_change(opened: Any) -> None:
    """Readings are typed on: nobody wants the map of those before."""
    client, base, _, lane = opened
    typed = {"x": 1.0, "y": 1.0, "raw": "30", "label": "T1"}
    body = {"visit": "v1", "instrument": "meter 1", "readings": [typed], "who": WHO}
    assert client.post(f"{base}/readings", json=body).status_code == 201
    _until(lambda: lane.ended == ["map_ahead"])


def test_nothing_is_begun_where_nothing_was_read(client: TestClient) -> None:
    """There is no map of it yet; once there are readings it is begun."""
    base = make_job(client, with_readings=False)
    job: Job = client.app.state.shelf.job("Harbour shop")  # type: ignore[attr-defined]
    job.lanes = type(job.lanes)(Beside(), job.lanes.quick)
    client.get(base, params={"opens": "map"})
    assert not job.foreseen


def test_the_end_of_the_record_is_told(client: TestClient) -> None:
    """By a number, for an answer to be held against."""
    base = make_job(client)
    head = client.get(f"{base}/head").json()["record"]
    assert head == client.get(f"{base}/changes").json()["record"]
    assert head == client.get(f"{base}/map").json()["record"]
