"""Confirming sweeps: laid out on the map, walked place by place, and the contested settled."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from .page import Job, Program, demo_job, open_page, press, push, to_task

pytestmark = pytest.mark.browser

SHARP = {5: 60.0, 6: 60.0}
"""What the middle of a sweep of twelve shows over something embedded; the floor reads 30."""

KEYED = 4
"""Places keyed one by one; the others come from the clipboard."""


def _things(page: Page, job: Job) -> dict[str, Any]:
    found = page.request.get(f"{job.api}/map").json()["layers"]["anomalies"]["features"]
    return {one["properties"]["anomaly"]: one["properties"] for one in found}


def _values(count: int) -> list[str]:
    return [f"{SHARP.get(i, 40.0 if i in (4, 7) else 30.0) + i % 3:.0f}" for i in range(count)]


def _paste(page: Page, values: list[str]) -> None:
    page.locator("input.big").evaluate(
        """(field, text) => {
          const held = new DataTransfer();
          held.setData("text", text);
          field.dispatchEvent(new ClipboardEvent("paste", { clipboardData: held, bubbles: true,
            cancelable: true }));
        }""",
        "\n".join(values),
    )
    page.get_by_role("heading", name=f"Store {len(values)} numbers", exact=False).wait_for()
    push(page, page.locator("dialog").get_by_role("button", name="Store"))


def test_the_sweeps_are_walked_and_settle_what_is_contested(
    running: Program, browser: Browser
) -> None:
    """By touch on a phone: places keyed one by one, the rest pasted."""
    job = demo_job(running, "bakery", "Sweeps of a bakery")
    page = open_page(browser, f"{job.page}/map", size=(390, 844))
    page.evaluate("localStorage.setItem('moisturemap:who', '\"Ada Marsh\"')")
    page.get_by_role("heading", name="Confirming sweeps").wait_for()
    listed = page.locator(".panel li").filter(has=page.get_by_role("button"))
    contested = listed.filter(has_text="contested")
    expect(contested).to_have_count(1)
    before = page.request.get(f"{job.api}/map").json()["layers"]["sweeps"]["features"]
    assert _things(page, job)["S1"]["standing"] == "contested"

    press(page, "Walk the sweeps")
    for number, sweep in enumerate(before, 1):
        count = int(sweep["properties"]["readings"])
        page.get_by_role("heading", name=f"W{number}.1 ·", exact=False).wait_for()
        values = _values(count)
        for place in range(1, KEYED + 1) if number == 1 else ():
            page.get_by_role("heading", name=f"W1.{place} ·", exact=False).wait_for()
            page.locator("input.big").fill(values.pop(0))
            page.locator("input.big").press("Enter")
        _paste(page, values)
    page.get_by_text("All stored").wait_for()
    rows = page.request.get(f"{job.api}/readings?visit=v1").json()["readings"]
    swept = [row for row in rows if row["label"].startswith("W")]
    assert len(swept) == sum(int(one["properties"]["readings"]) for one in before)
    first, last = before[0]["properties"], swept[int(before[0]["properties"]["readings"]) - 1]
    assert (last["x"], last["y"]) == (first["to_x"], first["to_y"])

    to_task(page, "Map")
    page.get_by_role("heading", name="How far to trust this map").wait_for()
    expect(contested).to_have_count(0)
    assert _things(page, job)["S1"]["standing"] == "thing"
