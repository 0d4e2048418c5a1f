"""Every page in German: no sentence of the page's own word tables is left in English."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from .page import Program, open_page

pytestmark = pytest.mark.browser

SOURCE = Path(__file__).parents[2] / "moisturemap/web/frontend/src"
SENTENCE = re.compile(r"[A-Za-z]{2,}[,;:]? [a-z]{2,}[ ,;:.]+[a-z]{2,}")
TASKS = ("plan", "readings", "map", "drill", "tests", "drying", "source", "report")
HALL = {"name": "Halle", "rings": [[[0, 0], [6, 0], [6, 4], [0, 4]]]}


def _english() -> set[str]:
    """Sentences of three words or more of the English tables, up to their first slot."""
    found = set()
    for table in SOURCE.glob("en_*.ts"):
        for text in re.findall(r'"((?:[^"\\]|\\.)*)",?$', table.read_text("utf-8"), re.MULTILINE):
            start = text.split("{")[0].strip()
            if SENTENCE.search(start):
                found.add(start)
    return found


def _texts(page: Page) -> list[str]:
    script = """() => {
      const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
      const found = [];
      while (walk.nextNode()) found.push(walk.currentNode.data.trim());
      for (const one of document.querySelectorAll("[aria-label],[title]"))
        found.push(one.getAttribute("aria-label") ?? one.getAttribute("title"));
      return found.filter(Boolean);
    }"""
    texts: list[str] = page.evaluate(script)
    return texts


def _fill(running: Program, page: Page, job: str) -> None:
    def send(rest: str, body: dict[str, Any]) -> None:
        head = {"Origin": running.address[:-1]}
        answer = page.request.post(f"{job}{rest}", data={"who": "Ada", **body}, headers=head)
        assert answer.ok, answer.text()

    revision = page.request.get(f"{job}/plan").json()["revision"]
    plan = {"plan": {"rooms": [HALL], "lines": []}, "revision": revision, "who": "Ada"}
    head = {"Origin": running.address[:-1]}
    assert page.request.put(f"{job}/plan", data=plan, headers=head).ok
    dry = [20.0, 21.0, 20.5, 21.5, 20.0, 21.0, 20.0, 20.5, 21.0, 20.0]
    send("/visits", {"id": "v1", "started": "2026-03-02T08:00:00Z", "dry_reference": dry})
    send("/instruments", {"id": "meter 1", "scale": [0, 100]})
    readings = [
        {"x": 0.4 + 0.8 * i, "y": 0.4 + 0.8 * j, "raw": str(20 + (i * j) % 3 + 30 * (i > 4))}
        for i in range(7)
        for j in range(5)
    ]
    send("/readings", {"visit": "v1", "instrument": "meter 1", "readings": readings})


def test_no_page_in_german_shows_an_english_sentence_of_its_own(
    running: Program, browser: Browser
) -> None:
    """First page, all floors and every task, folds opened; on a tablet."""
    page = open_page(browser, running.address, size=(1180, 820))
    head = {"Origin": running.address[:-1]}
    made = page.request.post(
        f"{running.address}api/projects", data={"name": "Laden", "who": "Ada"}, headers=head
    )
    job = made.json()["id"]
    _fill(running, page, f"{running.address}api/projects/{job}")
    page.add_init_script("Object.defineProperty(navigator, 'languages', {get: () => ['de-DE']})")
    english, left = _english(), set()
    for path in ("", "#floors", *(f"#/{job}/{task}" for task in TASKS)):
        page.goto(f"{running.address}?{path[1:]}{path}")
        page.wait_for_load_state("networkidle")
        page.locator("h1").first.wait_for()
        page.locator(".panel progress").first.wait_for(state="detached")
        page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
        assert page.evaluate("document.documentElement.lang") == "de"
        texts = _texts(page)
        left |= {
            f"{path}: {text}" for text in texts if any(text.startswith(one) for one in english)
        }
    assert not left, "\n".join(sorted(left))
