"""How long somebody at the page waits: maps, a corrected reading, five visits, a tap.

    python scripts/bench/waiting.py [--readings 500 10000] [--no-drying]

Starts the app over invented floors and prints, in seconds of the clock: from opening the map of a
job nobody has studied until its readings are drawn alone, and until the map is there; from a
corrected reading until the quick map with it is there, and until the whole map is; the slowest
`/api/health` while the first map is computed; Drying of five visits of an invented hall for the
first time; and the time from a tap on a task until its page is there.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import threading
import time
import urllib.request
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from page import ask, make_job

from tests.journeys.page import Program, chromium, open_page

WAREHOUSE = Path(__file__).resolve().parents[2] / "demo_plans" / "warehouse"


class Pulse(threading.Thread):
    """Asks the app for its health all the time; ``slowest`` is the longest answer [s]."""

    def __init__(self, address: str) -> None:
        super().__init__(daemon=True)
        self.address, self.slowest, self.ended = f"{address}api/health", 0.0, False

    def run(self) -> None:
        while not self.ended:
            begun = time.perf_counter()
            urllib.request.urlopen(self.address, timeout=60).close()
            self.slowest = max(self.slowest, time.perf_counter() - begun)
            time.sleep(0.02)


def maps(running: Program, browser, count: int) -> None:
    """Print how long the first map and the map after one correction take."""
    name = make_job(running, count).replace(" ", "%20")
    pulse = Pulse(running.address)
    page = open_page(browser, running.address)
    page.locator(".cards").wait_for()
    pulse.start()
    begun = time.perf_counter()
    page.goto(f"{running.address}#/{name}/map")
    page.locator(".legend strong").wait_for(timeout=120_000)
    sketch = time.perf_counter() - begun
    page.get_by_role("heading", name="Wet zones").wait_for(timeout=120_000)
    first = time.perf_counter() - begun
    pulse.ended = True
    page.context.close()
    row = ask(running, f"projects/{name}/readings?visit=v1")["readings"][count // 2]
    body = {"raw": "61.0", "who": "bench", "why": "read again"}
    begun = time.perf_counter()
    ask(running, f"projects/{name}/readings/{row['reading']}", body, "PATCH")
    assert ask(running, f"projects/{name}/map?quick=true")["quick"]
    again = time.perf_counter() - begun
    ask(running, f"projects/{name}/map")
    whole = time.perf_counter() - begun
    print(
        f"{count:>6} readings: first picture {sketch:.2f} s, first map {first:.2f} s, "
        f"after a correction {again:.2f} s, the whole map {whole:.2f} s, "
        f"slowest health meanwhile {1000 * pulse.slowest:.0f} ms",
        flush=True,
    )


def taps(running: Program, browser, count: int) -> None:
    """Print the time from a tap on a task until the page says it is at that task."""
    name = f"Hall%20{count}"
    page = open_page(browser, f"{running.address}#/{name}/readings", tablet=True)
    page.get_by_role("heading", name="readings so far").wait_for()
    waits = []
    for task in ("plan", "tests", "readings", "plan", "report", "readings"):
        waits.append(
            page.evaluate(
                """(task) => new Promise((done) => {
                  const link = document.querySelector(`.tasks a[href$="/${task}"]`);
                  const begun = performance.now();
                  link.click();
                  const look = () => {
                    const at = document.querySelector(`.tasks a[href$="/${task}"]`);
                    if (at?.getAttribute('aria-current') === 'page')
                      return done(performance.now() - begun);
                    requestAnimationFrame(look);
                  };
                  requestAnimationFrame(look);
                })""",
                task,
            )
        )
        page.wait_for_timeout(800)
    print(f"a tap on a task shows after {max(waits):.0f} ms at most", flush=True)


def drying(running: Program, browser) -> None:
    """Print how long Drying of five visits takes for the first time."""
    begun = time.perf_counter()
    page = open_page(browser, f"{running.address}#/warehouse/drying")
    page.get_by_role("heading", name="What the visits show").wait_for(timeout=120_000)
    print(f"Drying of five visits, cold: {time.perf_counter() - begun:.2f} s", flush=True)


def main() -> None:
    """Run the bench."""
    from moisturemap.store import pack
    from moisturemap.workflow.read import read_survey

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--readings", type=int, nargs="+", default=[500, 10_000])
    parser.add_argument("--no-drying", action="store_true")
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        if not wanted.no_drying:
            pack(read_survey(WAREHOUSE), Path(folder) / "warehouse.gpkg", "bench")
        running = Program(Path(folder))
        running.start()
        try:
            time.sleep(3)  # its processes load what a first map needs
            for count in wanted.readings:
                maps(running, browser, count)
            taps(running, browser, wanted.readings[0])
            if not wanted.no_drying:
                drying(running, browser)
        finally:
            running.kill()


if __name__ == "__main__":
    main()
