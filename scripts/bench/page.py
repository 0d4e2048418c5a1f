"""How fast the page starts, shows its first map, and pans over many readings.

    python scripts/bench/page.py [--readings 2000 50000]

Starts the app as a program of its own over invented floors, opens it in Chromium (playwright) at
laptop size and prints: seconds until the app answers; seconds from opening a studied job until its
map is drawn; median and 95th percentile of the time between frames [ms] while the plan is dragged
for two seconds with the processor slowed four times.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import sys
import tempfile
import time
import urllib.request
from functools import cache
from http.cookiejar import CookieJar
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.journeys.page import ENTRIES, Program, chromium, open_page

FRAMES = """() => {
  const times = []; let last = performance.now(); window.stopFrames = false;
  window.frames_ = new Promise((done) => {
    const next = (now) => {
      times.push(now - last); last = now;
      if (!window.stopFrames) return requestAnimationFrame(next);
      times.sort((a, b) => a - b);
      const at = (share) => times[Math.floor(times.length * share)];
      done([times.length, at(0.5), at(0.95)]);
    };
    requestAnimationFrame(next);
  });
}"""
PATIENCE = 600


def ask(running: Program, path: str, body: object = None, method: str | None = None) -> dict:
    """Ask the app for JSON."""
    data = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(
        f"{running.address}api/{path}",
        data,
        method=method,
        headers={"Content-Type": "application/json"},
    )
    return json.load(opener(running.port).open(request, timeout=PATIENCE))


@cache
def opener(port: int) -> urllib.request.OpenerDirector:
    """Let this program in by the address with the token, once for each port."""
    made = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(CookieJar()))
    made.open(ENTRIES[port], timeout=PATIENCE).close()
    return made


def make_job(running: Program, count: int) -> str:
    """Make a job with a square hall and readings every half metre; return its name."""
    name, rows = f"Hall {count}", round(math.sqrt(count))
    side = rows * 0.5
    ask(running, "projects", {"name": name, "who": "bench"})
    job = f"projects/Hall%20{count}"
    hall = {"name": "hall", "rings": [[[0, 0], [side, 0], [side, side], [0, side]]]}
    plan = {
        "plan": {"rooms": [hall], "lines": []},
        "who": "bench",
        "revision": ask(running, f"{job}/plan")["revision"],
    }
    ask(running, f"{job}/plan", plan, "PUT")
    ask(running, f"{job}/visits", {"id": "v1", "who": "bench"})
    ask(running, f"{job}/instruments", {"id": "m", "scale": [0, 100], "who": "bench"})
    noise = random.Random(1)
    typed = []
    for x, y in ((0.25 + i * 0.5, 0.25 + j * 0.5) for i in range(rows) for j in range(rows)):
        value = 40 + 20 * math.sin(x / 9) * math.cos(y / 12) + noise.gauss(0, 2)
        typed.append({"x": x, "y": y, "raw": f"{value:.1f}"})
    for first in range(0, len(typed), 5000):
        body = {
            "visit": "v1",
            "instrument": "m",
            "who": "bench",
            "readings": typed[first : first + 5000],
        }
        ask(running, f"{job}/readings", body)
    return name


def frames(page, count: int) -> None:
    """Print the time between frames while the plan of a job with that many readings is dragged."""
    box = page.locator(".canvas").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": 4})
    page.mouse.move(x, y)
    page.mouse.wheel(0, -300)
    page.wait_for_timeout(1500)
    page.evaluate(FRAMES)
    page.mouse.down()
    for step in range(120):
        page.mouse.move(x + 80 * math.sin(step / 12), y + 50 * math.cos(step / 9))
        page.wait_for_timeout(16)
    page.mouse.up()
    page.evaluate("() => { window.stopFrames = true; }")
    drawn, median, slow = page.evaluate("() => window.frames_")
    print(f"{count:>7} readings: {drawn} frames, median {median:.0f} ms, 95% {slow:.0f} ms")


def main() -> None:
    """Run the bench."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--readings", type=int, nargs="+", default=[2000, 50_000])
    wanted = parser.parse_args().readings
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        running = Program(Path(folder))
        begun = time.perf_counter()
        running.start()
        print(f"the app answers after {time.perf_counter() - begun:.2f} s")
        try:
            name = make_job(running, 400)
            ask(running, f"projects/{name.replace(' ', '%20')}/map")
            begun = time.perf_counter()
            page = open_page(browser, f"{running.address}#/{name.replace(' ', '%20')}/map")
            page.locator(".legend strong").wait_for()
            print(f"a studied map is on the screen after {time.perf_counter() - begun:.2f} s")
            for count in wanted:
                name = make_job(running, count)
                address = f"{running.address}#/{name.replace(' ', '%20')}/readings"
                page = open_page(browser, address)
                page.get_by_role("heading", name="readings so far").wait_for()
                page.wait_for_timeout(1500)
                frames(page, round(math.sqrt(count)) ** 2)
        finally:
            running.kill()


if __name__ == "__main__":
    main()
