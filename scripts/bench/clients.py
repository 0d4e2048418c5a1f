"""How the app answers many clients at once: errors, and times of answers.

    python scripts/bench/clients.py [--clients 50] [--seconds 30]

Starts the app as a program of its own over a job of 480 readings, and has the clients ask without
a pause: the list of readings, the plan, the health, one in ten a write that is acknowledged and
looked for afterwards. Maps are left out: each change asks for a new one, which is computed.
Prints requests, errors, median and 95th percentile by kind [s], how long a write takes alone and
how many times as long among the clients, and how many acknowledged writes were found. Asked are no
error and a 95th percentile of at most 1 s.
"""

from __future__ import annotations

import argparse
import json
import random
import statistics
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from http.cookiejar import CookieJar
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from shapely.geometry import box

from moisturemap import store
from moisturemap.floorplan import Room, Slab
from moisturemap.survey import Instrument, Visit
from tests.journeys.page import ENTRIES, Program, program

JOB = "api/projects/hall"


def make_job(path: Path) -> None:
    """Make a hall of 480 readings, wetter at one end."""
    choose = random.Random(1)
    with store.create_project(path, "Invented hall", "bench") as project:
        project.add_room(Room("Hall", box(0, 0, 12, 10), Slab(thickness_mm=150)), "bench")
        project.add_visit(Visit("v1"), "bench")
        project.add_instrument(Instrument("m1", scale=(0.0, 100.0)), "bench")
        rows = [
            {"x": 0.25 + 0.5 * i, "y": 0.25 + 0.5 * j, "value": 30 + 2 * i + choose.gauss(0, 1)}
            for i in range(24)
            for j in range(20)
        ]
        project.add_readings([{**r, "visit": "v1", "instrument": "m1"} for r in rows], "bench")


@dataclass
class Client:
    """One client that keeps asking."""

    running: Program
    number: int
    spent: list[tuple[str, float]] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    stored: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        jar = urllib.request.HTTPCookieProcessor(CookieJar())
        self.opener = urllib.request.build_opener(jar)
        self.opener.open(ENTRIES[self.running.port], timeout=60).close()

    def ask(self, path: str, body: object = None) -> bool:
        """Ask once; tell whether it was answered."""
        data = None if body is None else json.dumps(body).encode()
        head = {"Content-Type": "application/json"}
        request = urllib.request.Request(f"{self.running.address}{path}", data, head)
        begun = time.perf_counter()
        try:
            with self.opener.open(request, timeout=60) as answer:
                answer.read()
        except (OSError, urllib.error.HTTPError) as error:
            self.errors.append(f"{path}: {error}")
            return False
        finally:
            kind = "write" if body else path.rpartition("/")[2].partition("?")[0]
            self.spent.append((kind, time.perf_counter() - begun))
        return True

    def write(self, choose: random.Random) -> None:
        """Store a reading."""
        label = f"c{self.number}-{len(self.stored)}"
        row = {"x": choose.uniform(1, 11), "y": 5.0, "raw": "40", "label": label}
        body = {"visit": "v1", "instrument": "m1", "readings": [row], "who": "bench"}
        if self.ask(f"{JOB}/readings", body):
            self.stored.append(label)

    def work(self, end: float) -> None:
        """Ask until the time is over."""
        choose = random.Random(self.number)
        while time.monotonic() < end:
            what = choose.random()
            if what < 0.1:
                self.write(choose)
            elif what < 0.2:
                self.ask("api/health")
            else:
                self.ask(f"{JOB}/readings?visit=v1" if what < 0.6 else f"{JOB}/plan")


def main() -> None:
    """Measure."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clients", type=int, default=50)
    parser.add_argument("--seconds", type=float, default=30.0)
    wishes = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        make_job(folder / "hall.gpkg")
        with program(folder) as running:
            first = Client(running, 0)
            first.ask(f"{JOB}/readings?visit=v1")
            for _ in range(20):
                first.write(random.Random(0))
            clients = [Client(running, number) for number in range(1, wishes.clients + 1)]
            end = time.monotonic() + wishes.seconds
            threads = [threading.Thread(target=one.work, args=(end,)) for one in clients]
            for thread in threads:
                thread.start()
            for thread in threads:
                thread.join()
        with store.open_project(folder / "hall.gpkg") as project:
            found = {row["label"] for row in project.rows("readings")}
    every = [pair for one in clients for pair in one.spent]
    errors = [error for one in clients for error in one.errors]
    stored = [label for one in clients for label in one.stored]
    print(f"{len(every)} requests, {len(errors)} errors, first {errors[:2]}")
    for kind in ("", *sorted({kind for kind, _ in every})):
        spent = sorted(second for name, second in every if kind in ("", name))
        middle, late = spent[len(spent) // 2], spent[int(0.95 * len(spent))]
        print(f"{kind or 'all':10s} {len(spent):6d}  median {middle:.2f} s, 95% {late:.2f} s")
    alone = statistics.median(second for kind, second in first.spent if kind == "write")
    among = statistics.median(second for kind, second in every if kind == "write")
    print(f"a write alone: {alone * 1000:.0f} ms; among the clients {among / alone:.0f} times that")
    print(f"{len(stored)} writes acknowledged, {len(set(stored) & found)} found")


if __name__ == "__main__":
    main()
