"""Every page of jobs of every kind, in English and in German: nothing overlaps or is cut off."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from .overlaps import faults_of, words_cut_off
from .page import Program, open_page, program

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SIZES = [
    *((1920, 1080), (1366, 768), (1180, 820), (820, 1180)),
    *((390, 844), (360, 740), (844, 390), (683, 384)),
]
"""From a desk to a phone, upright and on its side; the last is a laptop at 200%."""
TASKS = ("plan", "readings", "map", "drill", "tests", "drying", "source", "report")
DEMOS = Path(__file__).resolve().parents[2] / "demo_plans"
JOBS = ("Nothing", "One reading", "bakery", "clinic")
"""An empty job, one with a single reading, a full one, and one of three visits with answers."""
_TASK_IN_SIGHT = """() => {
  const open = document.querySelector('.tasks [aria-current]');
  if (!open) return true;
  const [r, bar] = [open, open.closest('.tasks')].map((e) => e.getBoundingClientRect());
  return r.left >= bar.left - 1 && r.right <= Math.min(bar.right, innerWidth) + 1;
}"""


@pytest.fixture(scope="module")
def jobs(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Program]:
    """The app over the four jobs."""
    from moisturemap.store import pack
    from moisturemap.workflow.read import read_survey

    folder = tmp_path_factory.mktemp("jobs")
    for name in ("bakery", "clinic"):
        pack(read_survey(DEMOS / name), folder / f"{name}.gpkg", "Ada Marsh")
    with program(folder) as running:
        page = open_page(browser, running.address)
        _small_jobs(page, f"{running.address}api/projects", running.address[:-1])
        page.context.close()
        yield running


def _small_jobs(page: Page, address: str, origin: str) -> None:
    def send(rest: str, body: dict[str, Any], method: str = "post") -> None:
        answer = page.request.fetch(
            address + rest,
            method=method,
            data={**body, "who": "Ada Marsh"},
            headers={"Origin": origin},
        )
        assert answer.ok, answer.text()

    for name in ("Nothing", "One reading"):
        send("", {"name": name})
    job = "/One%20reading"
    revision = page.request.get(f"{address}{job}/plan").json()["revision"]
    hall = {"name": "hall", "rings": [[[0, 0], [6, 0], [6, 4], [0, 4]]]}
    send(f"{job}/plan", {"plan": {"rooms": [hall], "lines": []}, "revision": revision}, "put")
    send(f"{job}/visits", {"id": "v1", "started": "2026-03-02T08:00:00Z"})
    send(f"{job}/instruments", {"id": "meter 1", "scale": [0, 100]})
    reading = {"x": 2, "y": 2, "raw": "34"}
    send(f"{job}/readings", {"visit": "v1", "instrument": "meter 1", "readings": [reading]})


@pytest.mark.parametrize("tongue", ["en-GB", "de-DE"])
@pytest.mark.parametrize("job", JOBS)
def test_every_page_is_whole_at_every_size(
    jobs: Program, browser: Browser, job: str, tongue: str
) -> None:
    """Also with letters at 200% (WCAG 2.2, 1.4.4); the open task stands in the bar of tasks."""
    page = open_page(browser, jobs.address, size=SIZES[0])
    page.add_init_script(
        f"Object.defineProperty(navigator, 'languages', {{get: () => ['{tongue}']}})"
    )
    page.evaluate("localStorage.setItem('moisturemap:who', '\"Ada Marsh\"')")
    fonts = page.context.new_cdp_session(page)
    found: dict[str, Any] = {}
    for task in TASKS:
        page.set_viewport_size({"width": 1180, "height": 820})
        page.goto(f"{jobs.address}?{task}#/{job}/{task}")
        page.locator("h1").first.wait_for()
        page.locator(".panel progress").first.wait_for(state="detached")
        page.wait_for_load_state("networkidle")
        for letters, (wide, tall) in product((16, 32), SIZES):
            fonts.send("Page.setFontSizes", {"fontSizes": {"standard": letters, "fixed": 13}})
            page.set_viewport_size({"width": wide, "height": tall})
            page.wait_for_timeout(150)
            faults = (faults_of(page), words_cut_off(page), page.evaluate(_TASK_IN_SIGHT))
            if faults != ({}, [], True):
                found[f"{task}, {wide} x {tall}, letters of {letters} px"] = faults
    assert page.evaluate("document.documentElement.lang") == tongue[:2]
    assert found == {}
