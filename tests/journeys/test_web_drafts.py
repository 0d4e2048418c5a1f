"""What is typed or drawn and not stored yet outlives a reload and a look at another task."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from .page import Program, begin_job, floor_at, open_page, press, push, to_task

pytestmark = pytest.mark.browser

WALLS = (("8", "To the right"), ("4", "Up"), ("2,5", "To the left"), ("2.5", "Up"))


def _stored(running: Program, page: Page, path: str) -> Any:
    return page.request.get(f"{running.address}api/projects/{path}").json()


def _wall(page: Page, length: str, direction: str) -> None:
    page.get_by_label("Length", exact=True).fill(length)
    press(page, direction)


def _head(page: Page, words: str) -> None:
    page.locator(".connection").get_by_text(words, exact=True).wait_for()


def test_a_drawing_that_was_begun_is_gone_on_with(running: Program, browser: Browser) -> None:
    """Typed walls come back after a reload and after another task, and end as one room."""
    page = open_page(browser, running.address, size=(1180, 820))
    begin_job(page, "Drafts drawn")
    press(page, "Draw a room")
    for length, direction in WALLS:
        _wall(page, length, direction)
    _head(page, "Draft kept: Draw a room")
    page.reload()
    page.get_by_text("5 corners; last wall 2.50 m", exact=False).wait_for()
    to_task(page, "Readings")
    page.get_by_role("heading", name="Readings", exact=True).wait_for()
    _head(page, "Draft kept: Draw a room")
    to_task(page, "Plan 0 rooms")
    page.get_by_text("5 corners; last wall 2.50 m", exact=False).wait_for()
    _wall(page, "18 ft 1/2 in", "To the left")
    page.get_by_text("6 corners; last wall 5.50 m", exact=False).wait_for()
    press(page, "Close the outline")
    press(page, "Done")
    page.get_by_text("Stored.", exact=True).wait_for()
    _head(page, "All stored")
    ring = _stored(running, page, "Drafts%20drawn/plan")["plan"]["rooms"][0]["rings"][0]
    assert ring[:5] == [[0, 0], [8, 0], [8, 4], [5.5, 4], [5.5, 6.5]]
    assert ring[5] == pytest.approx([5.5 - 18 * 0.3048 - 0.0127, 6.5], abs=1e-4)


def test_a_typed_wall_starts_at_the_corner_that_is_left(running: Program, browser: Browser) -> None:
    """Two corners undone leave the first where it was tapped, and the typed wall begins there."""
    page = open_page(browser, running.address, size=(1180, 820))
    begin_job(page, "Corner left")
    press(page, "Draw a room")
    first = (2.0, 3.0)
    for place in (first, (6.0, 3.0), (6.0, 5.0)):
        page.touchscreen.tap(*floor_at(page, *place))
        page.wait_for_timeout(350)
    for _ in range(2):
        press(page, "Undo corner")
    page.get_by_text("First corner set.", exact=True).wait_for()
    _wall(page, "3", "To the right")
    _wall(page, "2", "Up")
    page.get_by_text("3 corners; last wall 2.00 m", exact=False).wait_for()
    press(page, "Close the outline")
    press(page, "Done")
    page.get_by_text("Stored.", exact=True).wait_for()
    ring = _stored(running, page, "Corner%20left/plan")["plan"]["rooms"][0]["rings"][0]
    assert ring[0] == pytest.approx(first, abs=0.05)
    assert [ring[1][0] - ring[0][0], ring[2][1] - ring[1][1]] == pytest.approx([3, 2], abs=1e-3)


def test_a_form_that_was_filled_in_is_back(running: Program, browser: Browser) -> None:
    """After a reload; what is wrong is named and marked; a stored visit is opened and corrected."""
    page = open_page(browser, running.address, size=(1180, 820))
    begin_job(page, "Drafts typed")
    press(page, "Draw a room")
    for length, direction in (*WALLS[:2], ("8", "To the left")):
        _wall(page, length, direction)
    press(page, "Close the outline")
    press(page, "Done")
    page.get_by_text("Stored.", exact=True).wait_for()
    to_task(page, "Readings")
    press(page, "Start a visit")
    form = page.locator("dialog")
    form.get_by_label("Room air", exact=True).fill("19,5")
    form.get_by_label("Room air humidity", exact=True).fill("148")
    form.get_by_label("Readings on floor known to be dry", exact=True).fill("12 13 12.5")
    _head(page, "Draft kept: Start a visit")
    page.reload()
    _head(page, "Draft kept: Start a visit")
    press(page, "Start a visit")
    form.get_by_text("What you typed here before", exact=False).wait_for()
    assert form.get_by_label("Room air", exact=True).input_value() == "19,5"
    press_in = form.get_by_role("button", name="Store")
    push(page, press_in)
    form.get_by_text("Room air humidity: This cannot be right", exact=False).wait_for()
    expect(form.locator("[aria-invalid=true]")).to_have_count(1)
    form.get_by_label("Room air humidity", exact=True).fill("48")
    push(page, press_in)
    page.get_by_text("3 dry readings", exact=False).wait_for()
    _head(page, "All stored")
    press(page, "Change the visit")
    form.get_by_label("Room air humidity", exact=True).fill("50")
    push(page, press_in)
    page.get_by_text("50 %RH", exact=False).wait_for()
    visit = _stored(running, page, "Drafts%20typed")["visits"][0]
    assert (visit["air_temperature_c"], visit["air_rh_pct"]) == (19.5, 50)
    assert visit["dry_reference"] == [12, 13, 12.5]
