"""The app as a program of its own, and a browser that looks at it."""

from __future__ import annotations

import math
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit

from playwright.sync_api import Browser, Locator, Page, sync_playwright

DEMOS = Path(__file__).resolve().parents[2] / "demo_plans"
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
LAPTOP = {"width": 1366, "height": 768}
TABLET = {"width": 820, "height": 1180}
PATIENCE = 60_000
"""Most time an answer may take on a busy machine [ms]; nothing waits this long otherwise."""


HALL = (4.5, 3.0)
"""Sides of the room of a stored job [m]."""
ENTRIES: dict[int, str] = {}
"""Address with the token that lets a browser in, by port."""


class Program:
    """``moisturemap serve`` over a folder; can be killed and started again on the same port.

    One that is not ``eager`` starts the processes that compute when something is to be computed,
    not before: two imports of all libraries less where hardly anything is.
    """

    def __init__(self, folder: Path, *, eager: bool = True) -> None:
        self.folder, self.eager = folder, eager
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def address(self) -> str:
        """Where the page is."""
        return f"http://127.0.0.1:{self.port}/"

    def start(self) -> None:
        """Start and wait until it answers."""
        code = "from moisturemap.cli.serve import serve; serve()"
        if not self.eager:
            code = f"import moisturemap.web.app as app; app._warm_up = lambda shelf: None; {code}"
        command = [
            sys.executable,
            "-c",
            code,
            str(self.folder),
            "--port",
            str(self.port),
            "--no-open",
        ]
        environment = {
            **os.environ,
            "OMP_NUM_THREADS": "1",
            "MOISTUREMAP_HOME": str(self.folder / "own"),
        }
        said = self.folder / "said.txt"
        with said.open("w") as told:
            self.process = subprocess.Popen(command, env=environment, stderr=told)
        end = time.monotonic() + 60
        while True:
            try:
                urllib.request.urlopen(f"{self.address}api/health", timeout=5).close()
                ENTRIES[self.port] = re.findall(r"http://127\S+token=\S+", said.read_text())[0]
                return
            except OSError:
                if time.monotonic() > end:
                    self.kill()
                    raise
                time.sleep(0.1)

    def kill(self) -> None:
        """End it without warning."""
        if self.process is not None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
            self.process = None


@contextmanager
def program(folder: Path, *, eager: bool = True) -> Iterator[Program]:
    """Run the app over a folder."""
    running = Program(folder, eager=eager)
    running.start()
    try:
        yield running
    finally:
        running.kill()


@dataclass(frozen=True)
class Job:
    """A job in the folder of an app that runs."""

    address: str
    """Of the app."""
    name: str

    @property
    def page(self) -> str:
        """Where its pages are, before the name of a task."""
        return f"{self.address}#/{self.name}"

    @property
    def api(self) -> str:
        """Where the program is asked for it."""
        return f"{self.address}api/projects/{self.name}"


def demo_job(running: Program, demo: str, name: str) -> Job:
    """Put an invented floor as a job of this name into the folder of the app."""
    from moisturemap.store import pack
    from moisturemap.workflow.read import read_survey

    pack(read_survey(DEMOS / demo), running.folder / f"{name}.gpkg", "Ada Marsh")
    return Job(running.address, name)


@contextmanager
def chromium() -> Iterator[Browser]:
    """Run the browser."""
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        try:
            yield browser
        finally:
            browser.close()


def open_page(
    browser: Browser,
    address: str,
    *,
    tablet: bool = False,
    size: tuple[int, int] | None = None,
    **more: Any,
) -> Page:
    """Open the page as a laptop with a mouse, or by touch: as a tablet, or at a size [px]."""
    by_touch = {"width": size[0], "height": size[1]} if size else TABLET
    touch = tablet or size is not None
    context = browser.new_context(
        viewport=by_touch if touch else LAPTOP,
        has_touch=touch,
        locale="en-GB",
        timezone_id="UTC",
        reduced_motion="reduce",
        **more,
    )
    context.set_default_timeout(PATIENCE)
    page = context.new_page()
    context.request.get(ENTRIES[urlsplit(address).port or 0])  # the page is loaded only once
    page.goto(address)
    return page


def tap_floor(page: Page, across: float, down: float, *, touch: bool = False) -> None:
    """Tap the plan at a share of its width and height."""
    box = page.locator(".canvas").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] * across, box["y"] + box["height"] * down
    if touch:
        page.touchscreen.tap(x, y)
    else:
        page.mouse.click(x, y)


def floor_at(page: Page, x: float, y: float) -> tuple[float, float]:
    """Where a place of the floor [m] is on the screen [px]."""
    box, view = _at_rest(page)
    east, north, metres = (float(one) for one in view.split())
    return (
        box["x"] + box["width"] / 2 + (x - east) / metres,
        box["y"] + box["height"] / 2 - (y - north) / metres,
    )


def _at_rest(page: Page) -> tuple[dict[str, float], str]:
    """Box and view of the map once neither has moved for a quarter of a second."""
    canvas = page.locator(".canvas")
    seen: list[tuple[object, object]] = []
    while len(seen) < 4 or any(one != seen[-1] for one in seen[-3:]):
        assert len(seen) < 60, "the map does not come to rest"
        seen.append((canvas.bounding_box(), canvas.get_attribute("data-view")))
        page.wait_for_timeout(80)
    box, view = seen[-1]
    assert isinstance(box, dict)
    assert isinstance(view, str)
    return box, view


def drag_floor(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    """Drag by mouse from one place of the floor [m] to another."""
    (a, b), (c, d) = floor_at(page, *start), floor_at(page, *end)
    page.mouse.move(a, b)
    page.mouse.down()
    page.mouse.move((a + c) / 2, (b + d) / 2, steps=4)
    page.mouse.move(c, d, steps=4)
    page.mouse.up()


def drag_by_finger(page: Page, start: tuple[float, float], end: tuple[float, float]) -> None:
    """Drag by touch from one place of the screen [px] to another."""
    session = page.context.new_cdp_session(page)

    def touch(kind: str, *places: tuple[float, float]) -> None:
        points = [{"x": x, "y": y} for x, y in places]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", start)
    for step in range(1, 9):
        share = step / 8
        touch(
            "touchMove",
            (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share),
        )
        page.wait_for_timeout(16)
    touch("touchEnd")
    session.detach()


def touched(page: Page) -> bool:
    """Whether the page is used by touch."""
    return bool(page.evaluate("navigator.maxTouchPoints > 0"))


DOUBLE_TAP_S, DOUBLE_TAP_PX = 0.45, 30.0
"""Two taps sooner and nearer than this are one double tap to the page, with a margin."""

CENTRES = """found => found.map((one) => {
  one.scrollIntoViewIfNeeded();
  const box = one.getBoundingClientRect();
  return [box.x + box.width / 2, box.y + box.height / 2];
})"""

_pushed: dict[str, tuple[float, float, float]] = {}
"""When and where the last press was."""


def push(page: Page, control: Locator) -> None:
    """Tap a control where the page is used by touch, else click it.

    Before a place is pressed again the time of a double tap goes by, as with whoever reads.
    """
    when, before_x, before_y = _pushed.get("last", (0.0, 0.0, 0.0))
    x, y = next(iter(control.evaluate_all(CENTRES)), (0.0, 0.0))
    left = DOUBLE_TAP_S - (time.monotonic() - when)
    if left > 0 and math.hypot(x - before_x, y - before_y) < DOUBLE_TAP_PX:
        page.wait_for_timeout(1000 * left)
    if touched(page):
        control.tap()
    else:
        control.click()
    _pushed["last"] = (time.monotonic(), x, y)


def press(page: Page, name: str) -> None:
    """Press the first button of exactly this name."""
    push(page, page.get_by_role("button", name=name, exact=True).first)


def to_task(page: Page, name: str) -> None:
    """Open a task of the job."""
    push(page, page.locator(".tasks").get_by_role("link", name=name))


def begin_job(page: Page, name: str) -> None:
    """Make a job and arrive at its plan."""
    page.get_by_label("Name of the job").fill(name)
    page.get_by_label("Your name").fill("Ada Marsh")
    press(page, "Start the job")
    page.get_by_role("heading", name="Plan", exact=True).wait_for()


def type_room(page: Page, name: str, lengths: list[tuple[str, str]]) -> None:
    """Draw a room by typed lengths and directions only."""
    press(page, "Draw a room")
    for length, direction in lengths:
        page.get_by_label("Length", exact=True).fill(length)
        press(page, direction)
    press(page, "Close the outline")
    page.get_by_label("Name of the room").fill(name)
    page.get_by_label("Name of the room").press("Tab")
    press(page, "Done")
    page.get_by_text("Stored.", exact=True).wait_for()


def begin_visit(page: Page) -> None:
    """Start a visit and add a meter on the readings page."""
    press(page, "On to the readings")
    press(page, "Start a visit")
    press(page, "Store")
    press(page, "Add a meter")
    page.get_by_label("Name of the meter").fill("meter 1")
    page.get_by_label("Scale to").fill("100")
    press(page, "Store")
    page.get_by_role("button", name="Walk the floor").wait_for()


def stored_job(
    page: Page,
    running: Program,
    name: str,
    sides: tuple[float, float] = HALL,
    slab: dict[str, Any] | None = None,
) -> Job:
    """Store a job with one room of these sides [m], as the page would; keying it has its tests."""
    wide, tall = sides
    hall: dict[str, Any] = {
        "name": "hall",
        "rings": [[[0, 0], [wide, 0], [wide, tall], [0, tall]]],
        **({"slab": slab} if slab else {}),
    }
    job = Job(running.address, quote(name))
    send(page, job, "", {"name": name})
    revision = page.request.get(f"{job.api}/plan").json()["revision"]
    plan = {"plan": {"rooms": [hall], "lines": []}, "revision": revision}
    send(page, job, f"/{job.name}/plan", plan, "put")
    page.evaluate("localStorage.setItem('moisturemap:who', '\"Ada Marsh\"')")
    return job


def at_stored_visit(page: Page, running: Program, name: str) -> Job:
    """Store a job with a room, a visit and a meter, and open its readings."""
    job = stored_job(page, running, name)
    send(page, job, f"/{job.name}/visits", {"id": "v1", "started": "2026-03-02T08:00:00Z"})
    send(page, job, f"/{job.name}/instruments", {"id": "meter 1", "scale": [0, 100]})
    page.goto(f"{job.page}/readings")
    page.get_by_role("button", name="Walk the floor").wait_for()
    return job


def send(page: Page, job: Job, rest: str, body: dict[str, Any], method: str = "post") -> None:
    """Store something as the page would, ``rest`` after the list of jobs."""
    answer = page.request.fetch(
        f"{job.address}api/projects{rest}",
        method=method,
        data={**body, "who": "Ada Marsh"},
        headers={"Origin": job.address[:-1]},
    )
    assert answer.ok, answer.text()
