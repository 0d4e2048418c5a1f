"""What a finger or a mouse does on the plan is what is stored, and nothing else."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from .page import Job, Program, begin_job, floor_at, open_page, press, push, tap_floor

pytestmark = pytest.mark.browser

CORNERS = ((0.25, 0.3), (0.7, 0.31), (0.705, 0.7), (0.25, 0.7))

_FREE = "([x, y]) => document.elementFromPoint(x, y).closest('.canvas') !== null"


def _stored_plan(running: Program, page: Page, job: str) -> dict[str, Any]:
    answer = page.request.get(f"{running.address}api/projects/{job}/plan").json()
    plan: dict[str, Any] = answer["plan"]
    return plan


def _tap(page: Page, *places: tuple[float, float], touch: bool) -> None:
    for across, down in places:
        tap_floor(page, across, down, touch=touch)
        page.wait_for_timeout(350)  # two taps closer than this are a double tap


@pytest.mark.parametrize("touch", [True, False], ids=["finger", "mouse"])
def test_an_outline_ends_on_its_first_corner_and_a_line_on_its_last(
    running: Program, browser: Browser, touch: bool
) -> None:
    """The corners tapped are the corners stored, however the drawing is ended."""
    page = open_page(browser, running.address, tablet=touch)
    job = f"Outline {touch}"
    begin_job(page, job)
    press(page, "Draw a room")
    _tap(page, *CORNERS, CORNERS[0], touch=touch)
    page.get_by_label("Name of the room").fill("hall")
    page.get_by_label("Name of the room").press("Tab")
    press(page, "Done")
    page.get_by_text("Stored.", exact=True).wait_for()
    rings = _stored_plan(running, page, job)["rooms"][0]["rings"]
    assert [len(ring) for ring in rings] == [4]

    page.get_by_label("Line, door or area").select_option("known-service")
    press(page, "Draw it")
    _tap(page, (0.3, 0.5), (0.6, 0.5), (0.6, 0.5), touch=touch)
    press(page, "Done")
    page.get_by_text("Stored.", exact=True).wait_for()
    lines = _stored_plan(running, page, job)["lines"]
    assert [len(line["places"]) for line in lines] == [2]


def test_the_plan_is_fitted_again_after_a_phone_is_turned(flat_job: Job, browser: Browser) -> None:
    """Unless it was moved: then it stays where it was put."""
    page = open_page(browser, flat_job.address, size=(390, 844))
    page.goto(f"{flat_job.page}/plan")
    page.locator(".panel h1").first.wait_for()
    canvas = page.locator(".canvas").first
    push(page, page.get_by_role("button", name="Show the whole floor"))
    page.wait_for_timeout(400)
    rooms = page.request.get(f"{flat_job.api}/plan").json()["plan"]["rooms"]
    corners = [place for room in rooms for place in room["rings"][0]]
    covered = [one for one in corners if not page.evaluate(_FREE, floor_at(page, *one))]
    assert covered == []  # by no button that stands on the plan
    upright = canvas.get_attribute("data-view") or ""
    page.set_viewport_size({"width": 844, "height": 390})
    expect(canvas).not_to_have_attribute("data-view", upright)
    push(page, page.locator(".ol-zoom-in"))
    page.wait_for_timeout(600)
    moved = canvas.get_attribute("data-view") or ""
    page.set_viewport_size({"width": 390, "height": 844})
    page.wait_for_timeout(600)
    assert canvas.get_attribute("data-view") == moved
