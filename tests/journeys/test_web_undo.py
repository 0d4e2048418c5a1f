"""Undo names what it would take back, keeps to its own page, and outlives a reload."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from .page import Program, begin_job, begin_visit, open_page, press, push, to_task, type_room

pytestmark = pytest.mark.browser

HALL = [("4.5", "To the right"), ("3", "Up"), ("4.5", "To the left")]


def test_undo_of_the_plan_survives_a_reload_and_undo_of_readings_keeps_to_readings(
    running: Program, browser: Browser
) -> None:
    """By touch: a room undone after a reload; a machine is never moved from the readings."""
    page = open_page(browser, running.address, size=(1180, 820))
    job = f"{running.address}api/projects/Undo"
    begin_job(page, "Undo")
    type_room(page, "hall", HALL)

    page.reload()
    undo = page.get_by_role("button", name="Undo", exact=True)
    undo.wait_for()
    assert undo.is_enabled()
    push(page, undo)
    redo = page.get_by_role("button", name="Redo", exact=True)
    push(page, redo)
    page.get_by_text("All stored").wait_for()
    assert [room["name"] for room in page.request.get(f"{job}/plan").json()["plan"]["rooms"]] == [
        "hall"
    ]

    begin_visit(page)
    press(page, "Walk the floor")
    page.get_by_text("places, a walk of").wait_for()
    press(page, "Start walking")
    for value in ("21", "24"):
        page.locator("input.big").fill(value)
        page.locator("input.big").press("Enter")
    page.get_by_text("All stored").wait_for()
    press(page, "Stop walking")
    page.get_by_text("Undo takes back: reading typed", exact=False).wait_for()
    push(page, page.get_by_role("button", name="Undo", exact=True))
    page.get_by_text("taken back", exact=False).first.wait_for()
    page.get_by_text("Redo makes again: reading typed", exact=False).wait_for()

    def rows() -> list[str]:
        asked = page.request.get(f"{job}/readings?visit=v1").json()["readings"]
        return [row["raw"] for row in asked]

    assert rows() == ["21"]
    push(page, page.get_by_role("button", name="Undo", exact=True))
    page.get_by_role("heading", name="readings so far").wait_for(state="detached")
    page.reload()  # a visit without readings still offers what was taken back
    push(page, page.get_by_role("button", name="Redo", exact=True))
    page.get_by_role("heading", name="1 readings so far").wait_for()
    assert rows() == ["21"]
    machine = {"visit": "v1", "machine": "M1", "kind": "dehumidifier", "x": 2, "y": 1}
    head = {"Origin": running.address[:-1]}
    answer = page.request.post(f"{job}/machines", data={**machine, "who": "Ben"}, headers=head)
    assert answer.ok, answer.text()
    to_task(page, "Drying")
    to_task(page, "Readings")
    page.get_by_text("not of readings, and is not undone here: machine placed").wait_for()
    assert page.get_by_role("button", name="Undo", exact=True).is_disabled()
    assert len(page.request.get(f"{job}/machines").json()["machines"]) == 1
    assert rows() == ["21"]
