"""Machines that stand where they stood are listed on the next visit by one press."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from .page import Job, Program, open_page, push, send, stored_job, to_task

pytestmark = pytest.mark.browser

STOOD = {"D1": ("dehumidifier", 0.8, 0.9), "F1": ("air-mover", 3.2, 2.1), "F2": ("air-mover", 4, 1)}


def _job_of_two_visits(page: Page, running: Program) -> Job:
    job = stored_job(page, running, "Machines")
    send(page, job, f"/{job.name}/instruments", {"id": "meter 1", "scale": [0, 100]})
    wet = [(0.4 + 0.5 * i, 0.4 + 0.5 * j) for i in range(8) for j in range(5)]
    for visit, day, fall in (("v1", "02", 0), ("v2", "09", 8)):
        send(page, job, f"/{job.name}/visits", {"id": visit, "started": f"2026-03-{day}T08:00:00Z"})
        readings = [
            {"x": x, "y": y, "raw": f"{70 - 9 * ((x - 3) ** 2 + (y - 2) ** 2) ** 0.5 - fall:.0f}"}
            for x, y in wet
        ]
        typed = {"visit": visit, "instrument": "meter 1", "readings": readings}
        send(page, job, f"/{job.name}/readings", typed)
    for name, (kind, x, y) in STOOD.items():
        one = {"machine": name, "visit": "v1", "kind": kind, "x": x, "y": y, "direction_deg": 90}
        send(page, job, f"/{job.name}/machines", one)
    return job


def _listed(page: Page, job: Job, visit: str) -> dict[str, Any]:
    machines = page.request.get(f"{job.api}/machines").json()["machines"]
    of = [one for one in machines if one["visit"] == visit]
    return {one["machine"]: (one["kind"], one["x"], one["y"]) for one in of}


def test_machines_of_the_visit_before_are_taken_over(running: Program, browser: Browser) -> None:
    """All at once, and those that are left when some are listed: they were offered no more."""
    page = open_page(browser, running.address, size=(390, 844))
    job = _job_of_two_visits(page, running)
    page.goto(f"{job.page}/readings")
    page.get_by_role("button", name="Walk the floor").wait_for()
    to_task(page, "Drying")
    push(page, page.get_by_role("button", name="All 3 stand as on v1"))
    table = page.get_by_role("region", name="Machines", exact=True)
    expect(table.locator("tbody tr")).to_have_count(3)
    assert _listed(page, job, "v2") == STOOD == _listed(page, job, "v1")
    expect(page.get_by_role("button", name="stand as on v1")).to_have_count(0)

    for name in ("F1", "F2"):
        push(page, table.get_by_role("button", name=name, exact=True))
        push(page, page.get_by_role("button", name="Take away"))
        expect(table.get_by_role("button", name=name, exact=True)).to_have_count(0)
    push(page, page.get_by_role("button", name="Stand as on v1 too: F1, F2"))
    expect(table.locator("tbody tr")).to_have_count(3)
    assert _listed(page, job, "v2") == STOOD
