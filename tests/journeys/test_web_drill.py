"""The drill plan by touch: holes dragged, a refused issue, and one issued plan in every paper."""

from __future__ import annotations

import csv
import html
import io
import math
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from .page import (
    Job,
    Program,
    drag_by_finger,
    floor_at,
    open_page,
    press,
    push,
    send,
)
from .read_floor import WHO, read_floor

pytestmark = pytest.mark.browser

SLAB = {"base": "concrete slab", "thickness_mm": 150, "on": "suspended"}
Place = tuple[float, float]


@pytest.fixture(scope="module")
def hall(running: Program, browser: Browser) -> Job:
    """A read floor with a slab, its drill plan not issued."""
    page = open_page(browser, running.address)
    job = read_floor(page, running, "Loom hall", slab=SLAB)
    page.context.close()
    return job


def _at_drill(browser: Browser, job: Job, size: tuple[int, int] = (820, 1180)) -> Page:
    page = open_page(browser, f"{job.page}/drill", size=size)
    page.evaluate("localStorage.setItem('moisturemap:who', '\"Ada Marsh\"')")
    page.get_by_role("heading", name="Before any drilling").wait_for()
    return page


def _holes(page: Page, job: Job) -> dict[str, dict[str, Any]]:
    return {one["hole"]: one for one in page.request.get(f"{job.api}/drill").json()["holes"]}


def _places(holes: dict[str, dict[str, Any]]) -> list[Place]:
    return sorted((one["x"], one["y"]) for one in holes.values())


def _drag(page: Page, start: Place, end: Place) -> None:
    """Drag a hole by finger, and say that it is meant."""
    drag_by_finger(page, floor_at(page, *start), floor_at(page, *end))
    page.get_by_role("heading", name="Move H", exact=False).wait_for()
    with page.expect_response(lambda one: "/drill?" in one.url and one.ok):
        push(page, page.locator("dialog").get_by_role("button", name="Move", exact=True))
    page.locator(".panel progress").wait_for(state="detached")


def test_two_holes_dragged_stay_where_they_were_put(hall: Job, browser: Browser) -> None:
    """Only the one that is dragged moves, and both places are stored."""
    page = _at_drill(browser, hall)
    before = _places(_holes(page, hall))
    assert len(before) >= 3
    put: list[Place] = []
    for start, step in ((before[0], (0.3, -0.25)), (before[-1], (-0.3, -0.3))):
        end = (start[0] + step[0], start[1] + step[1])
        _drag(page, start, end)
        put.append(end)
        after = _places(_holes(page, hall))
        assert len(after) == len(before)
        kept = [one for one in before if one not in (before[0], before[-1])]
        assert [one for one in kept if one in after] == kept
        for place in put:
            assert min(math.dist(place, one) for one in after) < 0.04
    page.reload()
    page.get_by_role("heading", name="Wishes").wait_for()
    expect(page.locator("section", has_text="Wishes").locator(".list.tall li")).to_have_count(2)


def _clear(page: Page, job: Job) -> None:
    """Clear every caution of the holes as they are proposed now."""
    for one in page.request.get(f"{job.api}/drill").json()["cautions"]:
        body = {"caution": one["key"], "by": "B. Stone", "on": "2026-03-03"}
        send(page, job, f"/{job.name}/cautions", body)


def _rows_of(sheet: str) -> dict[str, str]:
    """What a set-out sheet says of each hole, in one line."""
    rows = csv.reader(io.StringIO(sheet))
    return {row[0]: " ".join(row) for row in rows if row and row[0].startswith("H")}


def test_a_refused_issue_says_so_and_an_issued_plan_is_the_same_everywhere(
    hall: Job, browser: Browser
) -> None:
    """Refused: nothing issued, no wish or clearance lost. Issued: sheet, page and report agree."""
    page = _at_drill(browser, hall)
    _clear(page, hall)
    page.reload()
    issue = page.get_by_role("button", name="Issue this drill plan")
    issue.wait_for()
    kept = page.request.get(f"{hall.api}/drill").json()
    wish = {"verdict": "pinned", "x": 3.6, "y": 2.4, "why": "asked for"}
    send(page, hall, f"/{hall.name}/holes", wish)  # on another device, meanwhile
    push(page, issue)
    page.get_by_text("Not stored: the drill plan is not issued while", exact=False).wait_for()
    page.get_by_text("points above are still open", exact=False).wait_for()
    now = page.request.get(f"{hall.api}/drill").json()
    assert now["plans"] == []
    assert now["decisions"][: len(kept["decisions"])] == kept["decisions"]

    send(page, hall, f"/{hall.name}/holes/withdraw", {"index": len(now["decisions"]) - 1})
    again = page.request.get(f"{hall.api}/drill").json()
    assert [again[one] for one in ("holes", "cautions", "open")] == [
        kept[one] for one in ("holes", "cautions", "open")
    ]
    page.reload()
    push(page, issue)
    page.get_by_text("Plan 1, issued", exact=False).wait_for()

    holes = _holes(page, hall)
    settled = page.request.get(f"{hall.api}/issued-holes").json()["holes"]
    assert {one["hole"] for one in settled} == set(holes)
    with page.expect_download() as saved:
        press(page, "Set-out sheet (CSV)")
    sheet = _rows_of(Path(saved.value.path()).read_text(encoding="utf-8-sig"))
    wanted = {"format": "html", "who": WHO}
    report = page.request.post(f"{hall.api}/report", data=wanted).text()
    press(page, "As tables")
    shown = page.locator("dialog").get_by_role("table", name="Proposed holes")
    table = {row[0]: " ".join(row) for row in _cells(shown)}
    assert set(sheet) == set(holes) == set(table)
    for name, hole in holes.items():
        assert hole["set_out"] in table[name]
        assert hole["set_out"] in sheet[name]
        assert hole["set_out"] in html.unescape(report)


def _cells(table: Locator) -> list[list[str]]:
    rows = table.locator("tbody tr")
    return [rows.nth(i).locator("th,td").all_inner_texts() for i in range(rows.count())]
