"""The whole way by keys alone: no mouse, no tap; the focus is seen and goes where one reads."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from .page import ENTRIES, LAPTOP, PATIENCE, Job, Program, open_page

pytestmark = pytest.mark.browser

FOCUS = """() => {
  const one = document.activeElement;
  const name = one.getAttribute('aria-label') || one.labels?.[0]?.innerText || one.innerText || '';
  const style = getComputedStyle(one);
  const shown = one.type === 'checkbox' || one.type === 'file' ? one.parentElement : one;
  const box = shown.getBoundingClientRect();
  const dialog = document.querySelector('dialog');
  return {
    name: name.trim(),
    tag: one.tagName,
    seen: style.outlineStyle !== 'none' || style.boxShadow !== 'none' || one.type === 'file',
    inside: box.bottom > 0 && box.top < innerHeight && box.width > 0,
    trapped: !dialog || dialog.contains(one) || one === document.body,
  };
}"""
MOST_TABS = 80


class Keys:
    """Somebody who has only keys; each stop of the focus must be seen, and inside an open form."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.unseen: list[Any] = []

    def to(self, name: str, back: bool = False) -> None:
        """Go on to a control by its name."""
        passed = []
        for _ in range(MOST_TABS):
            self.page.keyboard.press("Shift+Tab" if back else "Tab")
            now = self.page.evaluate(FOCUS)
            passed.append(now["name"])
            if now["tag"] != "BODY" and not (now["seen"] and now["inside"] and now["trapped"]):
                self.unseen.append(now)
            if now["name"].split("\n")[0] == name:
                return
        raise AssertionError(f"no key leads to {name!r}, only to {passed}")

    def fill(self, name: str, text: str) -> None:
        """Type into a field."""
        self.to(name)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)

    def press(self, name: str) -> None:
        """Press a button or follow a link."""
        self.to(name)
        self.page.keyboard.press("Enter")

    def says(self, words: str) -> None:
        """Wait until the page says something."""
        self.page.get_by_text(words, exact=False).first.wait_for()


def test_from_an_empty_folder_to_a_verdict_by_keys(running: Program, browser: Browser) -> None:
    """Let in by the address with the token, a room is drawn, a reading walked, a test typed."""
    page = browser.new_context(viewport=LAPTOP, locale="en-GB", timezone_id="UTC").new_page()
    page.set_default_timeout(PATIENCE)
    page.goto(ENTRIES[running.port])
    keys = Keys(page)
    keys.fill("Name of the job", "Keys")
    keys.fill("Your name", "Ada Marsh")
    keys.press("Start the job")
    keys.says("Draw a room")

    keys.press("Draw a room")
    for length, way in (("4.5", "To the right"), ("3", "Up"), ("4.5", "To the left")):
        keys.fill("Length", length)
        keys.press(way)
    keys.press("Close the outline")
    page.get_by_label("Name of the room").wait_for()
    keys.fill("Name of the room", "hall")
    keys.press("Done")
    keys.says("Stored.")

    keys.press("On to the readings")
    keys.says("Start a visit")
    keys.press("Start a visit")
    keys.press("Store")
    keys.says("Add a meter")
    keys.press("Add a meter")
    keys.fill("Name of the meter", "meter 1")
    keys.fill("Scale to", "100")
    keys.press("Store")
    page.get_by_role("button", name="Walk the floor").wait_for()
    keys.press("Walk the floor")
    keys.says("a walk of")
    keys.press("Start walking")
    for text in ("31", "32,5"):
        page.keyboard.type(text)
        page.keyboard.press("Enter")
    page.get_by_role("link", name="2 readings").wait_for()

    keys.press("Tests")
    keys.says("Enter a test")
    keys.press("Enter a test")
    keys.fill("Name of the hole or sample", "H1")
    keys.fill("Result", "81,5")
    keys.press("Store")
    keys.says("Test stored.")
    keys.says("Not proven")
    job = f"{running.address}api/projects/Keys"
    assert [one["value"] for one in page.request.get(f"{job}/tests").json()["tests"]] == [81.5]
    assert keys.unseen == []


def test_a_form_gives_the_focus_back_to_where_it_was_opened(
    flat_job: Job, browser: Browser
) -> None:
    """Tab stays in an open form, Escape closes it, and the next key goes on from its button."""
    page = open_page(browser, f"{flat_job.page}/readings")
    page.get_by_role("heading", name="readings so far").wait_for()
    keys = Keys(page)
    for name in ("Change the visit", "Add a meter"):
        keys.press(name)
        page.locator("dialog").wait_for()
        for _ in range(25):
            keys.page.keyboard.press("Tab")
            assert page.evaluate(FOCUS)["trapped"]
        page.keyboard.press("Escape")
        page.locator("dialog").wait_for(state="detached")
        assert page.evaluate(FOCUS)["name"] == name
    assert keys.unseen == []


def test_enter_goes_through_a_form_and_the_focus_stays_on_the_page(
    running: Program, browser: Browser
) -> None:
    """Enter goes to the next empty field and stores after the last; the keys never fall to BODY."""
    page = open_page(browser, running.address)
    keys = Keys(page)
    keys.fill("Name of the job", "Enter")
    keys.fill("Your name", "Ada Marsh")
    page.keyboard.press("Enter")
    keys.says("Draw a room")
    keys.press("Draw a room")
    for length, way in (("4.5", "To the right"), ("3", "Up"), ("4.5", "To the left")):
        keys.fill("Length", length)
        keys.press(way)
    keys.press("Close the outline")
    page.get_by_label("Name of the room").wait_for()
    assert page.evaluate(FOCUS)["tag"] == "H1"
    keys.fill("Name of the room", "hall")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="hall").wait_for()
    assert page.evaluate(FOCUS)["name"] == "Name of the room"
    keys.press("Done")
    keys.says("Stored.")
    assert page.evaluate(FOCUS)["tag"] != "BODY"

    keys.press("On to the readings")
    keys.says("Start a visit")
    keys.press("Start a visit")
    keys.to("Room air")
    page.keyboard.type("19")
    for name in ("Room air humidity", "Surface of the slab"):
        page.keyboard.press("Enter")
        assert page.evaluate(FOCUS)["name"] == name
    assert page.request.get(f"{running.address}api/projects/Enter").json()["visits"] == []
    for _ in range(4):  # past the fields that stay empty, and stored
        page.keyboard.press("Enter")
    page.locator("dialog").wait_for(state="detached")
    keys.says("Add a meter")
    assert page.evaluate(FOCUS)["tag"] != "BODY"
    visits = page.request.get(f"{running.address}api/projects/Enter").json()["visits"]
    assert [one["air_temperature_c"] for one in visits] == [19]

    keys.press("Add a meter")
    page.keyboard.press("Enter")
    keys.fill("Name of the meter", "meter 1")
    page.keyboard.press("Enter")
    page.keyboard.type("100")
    page.keyboard.press("Enter")
    page.keyboard.type("1")  # the step of its display
    for _ in range(3):
        page.keyboard.press("Enter")
    page.get_by_role("button", name="Walk the floor").wait_for()
    assert page.evaluate(FOCUS)["tag"] != "BODY"
    meters = page.request.get(f"{running.address}api/projects/Enter").json()["instruments"]
    assert [one["step"] for one in meters] == [1]
    assert keys.unseen == []
