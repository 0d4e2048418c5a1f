"""On site: drawing by touch, a lost connection, a killed program, two tabs."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from .page import (
    Program,
    begin_job,
    begin_visit,
    open_page,
    press,
    program,
    push,
    tap_floor,
    type_room,
)

pytestmark = pytest.mark.browser

HALL = [("4.5", "To the right"), ("3", "Up"), ("4500 mm", "To the left")]


def test_a_room_is_drawn_by_touch_on_a_tablet(running: Program, browser: Browser) -> None:
    """Taps set square corners, a typed length is obeyed, undo takes it back."""
    page = open_page(browser, running.address, tablet=True)
    begin_job(page, "Harbour shop")
    press(page, "Draw a room")
    for across, down in ((0.25, 0.3), (0.7, 0.31), (0.705, 0.7), (0.25, 0.7)):
        tap_floor(page, across, down, touch=True)
        page.wait_for_timeout(350)
    page.get_by_text("4 corners").wait_for()
    press(page, "Close the outline")
    wall = page.get_by_label("Wall 1", exact=True)
    before = wall.input_value()
    wall.fill("6,40 m")
    wall.press("Enter")
    # the page first asks what stands beyond the wall
    expect(page.get_by_label("Wall 1", exact=True)).to_have_value("6.40 m")
    expect(page.get_by_label("Wall 3", exact=True)).to_have_value("6.40 m")
    press(page, "Undo")
    expect(page.get_by_label("Wall 1", exact=True)).to_have_value(before)
    press(page, "Done")
    page.get_by_text("Stored.", exact=True).wait_for()


def test_an_outline_that_crosses_itself_is_refused_in_words(
    running: Program, browser: Browser
) -> None:
    """By keyboard and typed lengths alone; the drawing stays to be mended."""
    page = open_page(browser, running.address)
    begin_job(page, "Harbour shop")
    press(page, "Draw a room")
    for length, direction in (
        ("4", "To the right"),
        ("3", "Up"),
        ("2", "To the left"),
        ("5", "Down"),
    ):
        page.get_by_label("Length", exact=True).fill(length)
        press(page, direction)
    press(page, "Close the outline")
    page.get_by_text("cross", exact=False).first.wait_for()
    assert page.locator(".draw").is_visible()


def _walk(page: Page) -> None:
    press(page, "Walk the floor")
    page.get_by_text("places, a walk of").wait_for()
    press(page, "Start walking")
    page.locator("input.big").wait_for()


def _stored(running: Program, page: Page) -> int:
    answer = page.request.get(f"{running.address}api/projects/Harbour%20shop")
    return int(answer.json()["readings"])


def test_nothing_typed_is_lost_when_the_program_dies(tmp_path: Path, browser: Browser) -> None:
    """Killed while walking: typing goes on, a reload keeps all, a restart stores each once."""
    with program(tmp_path, eager=False) as running:
        page = open_page(browser, running.address)
        begin_job(page, "Harbour shop")
        type_room(page, "hall", HALL)
        begin_visit(page)
        _walk(page)
        for value in ("31", "32,5"):
            page.locator("input.big").fill(value)
            page.locator("input.big").press("Enter")
        page.get_by_text("All stored").wait_for()
        running.kill()
        for value in ("41", "FS", "43"):
            page.locator("input.big").fill(value)
            page.locator("input.big").press("Enter") if value != "FS" else press(page, "Full scale")
        page.locator("input.big").fill("5")
        page.get_by_text("Connection lost", exact=False).wait_for()
        page.reload()
        page.locator("input.big").wait_for()
        assert page.locator("input.big").input_value() == "5"
        expect(page.get_by_text("5 taken", exact=False).first).to_be_visible()
        running.start()
        page.get_by_text("All stored").wait_for()
        assert _stored(running, page) == 5
        page.locator("input.big").fill("55")
        page.locator("input.big").press("Enter")
        page.get_by_text("All stored").wait_for()
        press(page, "Stop walking")
        page.get_by_role("heading", name="6 readings so far").wait_for()


def test_two_tabs_do_not_overwrite_each_other(running: Program, browser: Browser) -> None:
    """The second tab is told, shows the other plan, and can bring its own back."""
    one = open_page(browser, running.address)
    begin_job(one, "Two tabs")
    type_room(one, "hall", HALL)
    other = open_page(browser, f"{running.address}#/Two%20tabs/plan")
    other.evaluate("localStorage.setItem('moisturemap:who', '\"Ben\"')")
    for page, name in ((one, "front"), (other, "back")):
        push(page, page.get_by_role("button", name="hall"))
        page.get_by_label("Name of the room").fill(name)
        page.get_by_label("Name of the room").press("Tab")
        press(page, "Done")
        if page is one:
            page.get_by_text("Stored.", exact=True).wait_for()
    other.get_by_role("button", name="front").wait_for()
    press(other, "Undo")
    other.get_by_role("button", name="back").wait_for()
