"""The app killed while it stores: what it acknowledged is in the project file.

``KILLS`` in the environment sets how often (200 by default, in the slow tests), ``KILL_SEED`` where
the moments begin.
"""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import random
import signal
import socket
import threading
import warnings
from pathlib import Path
from typing import Any

import pytest
from shapely.geometry import box

from moisturemap import store
from moisturemap.floorplan import Room
from moisturemap.survey import Instrument, Visit
from moisturemap.web import Settings, create_app

KILLS = int(os.environ.get("KILLS", "200"))
SEED = int(os.environ.get("KILL_SEED", "7"))

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs signals of POSIX")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job with a room, a visit, a meter and ten readings."""
    path = tmp_path / "job.gpkg"
    with store.create_project(path, "Invented hall", "A. Tester") as project:
        project.add_room(Room("Hall", box(0, 0, 60, 40)), "A. Tester")
        project.add_visit(Visit("v1"), "A. Tester")
        project.add_instrument(Instrument("m1"), "A. Tester")
        rows = [
            {"x": 1 + i, "y": 2, "value": i, "visit": "v1", "instrument": "m1"} for i in range(10)
        ]
        project.add_readings(rows, "A. Tester")
    return path


class App:
    """The app in a process of its own, which has everything loaded."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as listener:
            listener.bind(("127.0.0.1", 0))
            listener.listen()
            self.port = listener.getsockname()[1]
            with warnings.catch_warnings():
                warnings.simplefilter("ignore", DeprecationWarning)  # fork beside idle threads
                self.process = os.fork()
            if self.process == 0:
                self._serve(folder, listener)

    def _serve(self, folder: Path, listener: socket.socket) -> None:
        import uvicorn

        try:
            settings = Settings(folder=folder, own_process=False, port=self.port)
            config = uvicorn.Config(create_app(settings), log_level="critical", lifespan="on")
            uvicorn.Server(config).run(sockets=[listener])
        finally:
            os._exit(1)

    def kill_after(self, seconds: float) -> threading.Timer:
        """Kill it without warning after a while."""
        timer = threading.Timer(seconds, os.kill, (self.process, signal.SIGKILL))
        timer.start()
        return timer

    def end(self) -> None:
        """Make sure it is gone."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.process, signal.SIGKILL)
        os.waitpid(self.process, 0)

    def ask(self, method: str, path: str, body: Any) -> int | None:
        """Return the status of an answer; None when none came."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            connection.request(method, path, json.dumps(body), {"Content-Type": "application/json"})
            answer = connection.getresponse()
            told = answer.read().decode()
        except (OSError, http.client.HTTPException):
            return None
        finally:
            connection.close()
        assert answer.status in (200, 201), told
        return answer.status


def write_until_killed(
    app: App, choose: random.Random, begun: int, values: dict[int, set[float]]
) -> set[str]:
    """Add and correct readings; return the labels acknowledged, and keep what values may be."""
    base, labels = "/api/projects/job", set()
    reaper = None
    for number in range(begun, begun + 10_000):
        reaper = reaper or (app.kill_after(choose.uniform(0.0, 0.15)) if labels else None)
        label = f"R{number}"
        if choose.random() < 0.5:
            row = {"x": choose.uniform(1, 50), "y": 3.0, "raw": str(number), "label": label}
            body = {"visit": "v1", "instrument": "m1", "readings": [row], "who": "A. Tester"}
            status = app.ask("POST", f"{base}/readings", body)
            labels |= {label} if status == 201 else set()
        else:
            reading = choose.randint(1, 10)
            body = {"raw": str(number), "who": "A. Tester", "why": "again"}
            status = app.ask("PATCH", f"{base}/readings/{reading}", body)
            # of a change that was asked for when the app died, old and new value are right
            old = values[reading] if status is None else set()
            values[reading] = {*old, float(number)}
        if status is None:
            break
    if reaper is not None:
        reaper.join()
    return labels


def kill_often(job: Path, times: int, seed: int) -> int:
    """Kill the app so often; return how many changes it acknowledged."""
    choose, labels = random.Random(seed), set()
    values = {reading: {reading - 1.0} for reading in range(1, 11)}
    for number in range(times):
        app = App(job.parent)
        try:
            labels |= write_until_killed(app, choose, 10_000 * number, values)
        finally:
            app.end()
        with store.open_project(job) as project:
            assert project.verify().intact
            rows = project.rows("readings")
        assert labels <= {row["label"] for row in rows}
        for reading, known in values.items():
            told = {row["value"] for row in rows if row["fid"] == reading}
            assert len(told) == 1
            assert told <= known, reading
            values[reading] = told
    return len(labels)


def test_a_killed_app_keeps_what_it_acknowledged(job: Path) -> None:
    """Twice, for every run of the tests."""
    assert kill_often(job, 2, 3) > 0


@pytest.mark.slow
def test_the_app_killed_two_hundred_times_keeps_what_it_acknowledged(job: Path) -> None:
    """At random moments among its writes."""
    assert kill_often(job, KILLS, SEED) > KILLS // 4
