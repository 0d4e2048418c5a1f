"""Every screen for everybody: axe finds nothing, and the plan has tables to read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route

from .axe import axe_finds
from .forms import refuse_pictures
from .overlaps import faults_of, words_cut_off
from .page import LAPTOP, TABLET, Job, open_page, press, push

pytestmark = pytest.mark.browser

TASKS = ("plan", "readings", "map", "drill", "tests", "drying", "source", "report")
DIALOGS = (
    ("readings", "Start a visit"),
    ("readings", "Change the visit"),
    ("readings", "Add a meter"),
    ("map", "Mark one yourself"),
    ("drill", "Want a hole at …"),
    ("drill", "Confirm"),
    ("drying", "Add a machine"),
    ("tests", "Set a limit"),
    ("tests", "Add an instrument"),
    ("tests", "Record a check"),
    ("tests", "Add an entry"),
)
"""Tasks, and buttons that open a form over them."""
FORMS = (
    ("plan", ("kitchen",)),
    ("tests", ("Enter a test",)),
    ("readings", ("Walk the floor",)),
    ("plan", ("Draw a room",)),
)
"""Tasks, and buttons that lead to a form in the panel."""
SIZES = [(1366, 768), (1180, 820), (820, 1180), (390, 844), (360, 740)]


def _open(page: Page, job: Job, task: str, buttons: tuple[str, ...] = ()) -> None:
    """Open a task and press on to one of its forms; nothing begun before is left there."""
    page.evaluate("""() => {
      for (const key of Object.keys(localStorage))
        if (!/who|unit/.test(key)) localStorage.removeItem(key);
      localStorage.setItem("moisturemap:who", '"Ada Marsh"');
    }""")
    page.goto(f"{job.page}/{task}")
    page.reload()
    page.locator(".panel h1").first.wait_for()
    page.locator(".panel progress").wait_for(state="detached")
    for name in buttons:
        press(page, name)
        page.locator(".panel h1, .panel h2").first.wait_for()


def _questions(page: Page, job: Job) -> Iterator[str]:
    """Open, one after another, what is asked over a row, a form or a file that cannot be sent."""
    dialogs = page.locator("dialog")
    _open(page, job, "plan", ("kitchen", "Remove this room"))
    dialogs.wait_for()
    yield "a room removed"
    for task in ("readings", "drill"):
        _open(page, job, task)
        push(page, page.locator(".panel tbody button").first)
        dialogs.wait_for()
        yield f"the first row of {task}"
    _open(page, job, "readings", ("Change the visit",))
    page.get_by_label("Surface of the slab", exact=True).fill("64")
    press(page, "Store")
    page.get_by_role("button", name="64 °F = 17.8 °C").wait_for()
    yield "another unit meant"
    _open(page, job, "readings")
    page.evaluate("localStorage.removeItem('moisturemap:who')")
    push(page, page.locator(".panel tbody button").first)
    page.get_by_label("Your name").wait_for()
    yield "who works"
    _open(page, job, "report")
    page.get_by_label("Add a picture or PDF").set_input_files(
        {"name": "hall.png", "mimeType": "image/png", "buffer": b"no picture"}
    )
    dialogs.get_by_role("button", name="Choose another").wait_for()
    yield "a file that is no picture"
    page.keyboard.press("Escape")
    dialogs.wait_for(state="detached")
    refuse_pictures(page)
    page.get_by_label("Add a picture or PDF").set_input_files(
        {"name": "hall.png", "mimeType": "image/png", "buffer": b"any"}
    )
    dialogs.get_by_text("Not stored yet:", exact=False).wait_for()
    yield "a picture the program refuses"
    page.keyboard.press("Escape")
    dialogs.get_by_role("button", name="Keep trying").wait_for()
    yield "a picture thrown away"
    press(page, "Throw it away")
    dialogs.wait_for(state="detached")


def test_axe_finds_nothing(flat_job: Job, browser: Browser) -> None:
    """WCAG 2.2 A and AA on every task, in every form, by day at a desk and by night on a tablet."""
    found: dict[str, Any] = {}
    page = open_page(browser, flat_job.address, tablet=True, bypass_csp=True)

    def look(where: str) -> None:
        for scheme, size in (("light", LAPTOP), ("dark", TABLET)):
            page.emulate_media(color_scheme=scheme)
            page.set_viewport_size(size)
            if broken := axe_finds(page, looks_only=scheme == "dark"):
                found[f"{where}, {scheme}"] = broken

    page.locator(".cards").wait_for()
    look("start")
    for task in TASKS:
        page.goto(f"{flat_job.page}/{task}")
        page.locator(".panel h1").wait_for()
        page.locator(".panel progress").wait_for(state="detached")
        look(task)
        for name in (button for of, button in DIALOGS if of == task):
            press(page, name)
            page.locator("dialog").wait_for()
            look(name)
            push(page, page.locator("dialog").get_by_role("button", name="Cancel"))
    press(page, "As tables")
    look("tables")
    for task, buttons in FORMS:
        _open(page, flat_job, task, buttons)
        look(buttons[-1])
    for question in _questions(page, flat_job):
        look(question)
    assert found == {}


def test_what_the_map_shows_is_there_as_tables(flat_job: Job, browser: Browser) -> None:
    """Zones, bands, disturbed readings and readings, for those who cannot see the plan."""
    page = open_page(browser, f"{flat_job.page}/map")
    page.get_by_role("heading", name="How far to trust this map").wait_for()
    press(page, "As tables")
    dialog = page.locator("dialog")
    for caption in ("Floor by mapped reading", "Disturbed readings", "Readings"):
        assert dialog.get_by_role("table", name=caption, exact=True).count() == 1


def test_a_task_that_was_left_shows_nothing_more(flat_job: Job, browser: Browser) -> None:
    """An answer that comes after its task was left changes neither panel nor plan."""
    page = open_page(browser, f"{flat_job.page}/readings")
    page.get_by_role("heading", name="readings so far").wait_for()
    failures: list[str] = []
    page.on("pageerror", lambda error: failures.append(str(error)))
    held: list[Route] = []
    tests = f"**/api/projects/{flat_job.name}/tests"
    page.route(tests, lambda route: held.append(route))
    with page.expect_request(tests):
        push(page, page.get_by_role("link", name="Tests"))
    push(page, page.get_by_role("link", name="Report"))
    page.get_by_role("heading", name="Report", exact=True).wait_for()
    with page.expect_response(tests):
        held[0].continue_()
    page.locator(".legend strong").wait_for()
    assert page.get_by_role("heading", name="Report", exact=True).is_visible()
    assert failures == []


def _off_screen(page: Page) -> dict[str, Any]:
    """Whether a form stands out of the screen, {} when it does not."""
    box, screen = page.locator("dialog").last.bounding_box(), page.viewport_size
    assert box is not None
    assert screen is not None
    inside = box["x"] >= 0 and box["x"] + box["width"] <= screen["width"]
    inside &= box["y"] >= 0 and box["y"] + box["height"] <= screen["height"]
    return {} if inside else {"off the screen": box}


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
def test_nothing_stands_over_anything_else(
    flat_job: Job, browser: Browser, size: tuple[int, int]
) -> None:
    """Measured by boxes on every task, from phone to laptop; no page is wider than the screen."""
    page = open_page(browser, flat_job.address, tablet=size[0] < 1300)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.locator(".cards").wait_for()
    found = {"start": faults_of(page)}
    for task in TASKS:
        page.goto(f"{flat_job.page}/{task}")
        page.locator(".panel h1").wait_for()
        page.locator(".panel progress").wait_for(state="detached")
        found[task] = faults_of(page)
        for name in (button for of, button in DIALOGS if of == task):
            press(page, name)
            page.locator("dialog").wait_for()
            found[name] = {**faults_of(page), **_off_screen(page)}
            push(page, page.locator("dialog").get_by_role("button", name="Cancel"))
    for task, buttons in FORMS:
        _open(page, flat_job, task, buttons)
        found[buttons[-1]] = faults_of(page)
    for question in _questions(page, flat_job):
        found[question] = {**faults_of(page), **_off_screen(page)}
    assert {task: faults for task, faults in found.items() if faults} == {}


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
def test_letters_twice_as_large_are_all_there(
    flat_job: Job, browser: Browser, size: tuple[int, int]
) -> None:
    """At 200% text (WCAG 2.2, 1.4.4) nothing overlaps, is cut off or wider than the screen.

    The plan keeps at least a quarter of the height of the screen.
    """
    page = open_page(browser, flat_job.address, size=size)
    letters = page.context.new_cdp_session(page)
    letters.send("Page.setFontSizes", {"fontSizes": {"standard": 32, "fixed": 26}})
    page.locator(".cards").wait_for()
    assert page.evaluate("getComputedStyle(document.documentElement).fontSize") == "32px"
    found = {"start": (faults_of(page), words_cut_off(page))}
    for task in TASKS:
        page.goto(f"{flat_job.page}/{task}")
        page.locator("h1").first.wait_for()
        page.locator("progress").wait_for(state="detached")
        found[task] = (faults_of(page), words_cut_off(page))
        box = page.locator(".canvas").bounding_box()
        assert box is None or box["height"] >= size[1] / 4, task
    for task, buttons in FORMS:
        _open(page, flat_job, task, buttons)
        found[buttons[-1]] = (faults_of(page), words_cut_off(page))
    for question in _questions(page, flat_job):
        found[question] = (faults_of(page), words_cut_off(page))
    assert {task: faults for task, faults in found.items() if faults != ({}, [])} == {}
