"""Tests and documents: stored once, and left where they are."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Route, expect

from .page import Job, Program, demo_job, floor_at, open_page, press, push

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def bakery_job(running: Program) -> Job:
    """The invented bakery as a job of the app."""
    return demo_job(running, "bakery", "bakery_tested")


def test_a_stored_test_stays_where_it_is(bakery_job: Job, browser: Browser) -> None:
    """A stray tap on the plan changes no place; a press to move it comes first."""
    page = open_page(browser, f"{bakery_job.page}/tests", size=(1180, 820))
    page.evaluate("localStorage.setItem('moisturemap:who', '\"Ada Marsh\"')")
    push(page, page.get_by_role("table", name="Tests", exact=True).get_by_role("button").first)
    x = page.get_by_label("x", exact=True)
    before = x.input_value()
    page.touchscreen.tap(*floor_at(page, 4.0, 3.0))
    page.get_by_text("The place of a stored test stays.", exact=False).wait_for()
    assert x.input_value() == before
    press(page, "Move this test")
    page.touchscreen.tap(*floor_at(page, 4.0, 3.0))
    page.wait_for_function("(was) => document.querySelector('.panel input').value !== was", arg="")
    page.wait_for_timeout(500)
    assert float(x.input_value()) == pytest.approx(4.0, abs=0.1)
    press(page, "Cancel")


def test_a_late_answer_takes_no_open_form_away(bakery_job: Job, browser: Browser) -> None:
    """The list is read again while somebody already types: the form stays."""
    page = open_page(browser, f"{bakery_job.page}/tests", size=(1180, 820))
    page.evaluate("localStorage.setItem('moisturemap:who', '\"Ada Marsh\"')")
    page.get_by_role("table", name="Tests", exact=True).wait_for()
    held: list[Route] = []
    page.route("**/api/projects/*/tests", lambda route: held.append(route))
    with page.expect_request("**/issued-holes"):
        page.evaluate("dispatchEvent(new Event('focus'))")
    press(page, "Enter a test")
    page.get_by_label("Name of the hole or sample", exact=True).fill("N7")
    assert held
    with page.expect_response("**/api/projects/*/tests"):
        for one in held:
            one.continue_()
    page.wait_for_timeout(300)
    expect(page.get_by_label("Name of the hole or sample", exact=True)).to_have_value("N7")
    page.unroute_all()
    press(page, "Cancel")
    page.get_by_role("table", name="Tests", exact=True).wait_for()


def test_a_report_issued_with_two_taps_is_issued_once(flat_job: Job, browser: Browser) -> None:
    """Gloves press twice."""
    page = open_page(browser, f"{flat_job.page}/report", size=(1180, 820))
    page.evaluate("localStorage.setItem('moisturemap:who', '\"Ada Marsh\"')")
    page.get_by_label("Format").select_option("html")
    page.get_by_label("Issue it", exact=False).check()
    with page.expect_download():
        page.get_by_role("button", name="Write the report").dispatch_event("click")
        page.get_by_role("button", name="Write the report").dispatch_event("click")
    page.get_by_role("table", name="Issued", exact=False).wait_for()
    expect(page.get_by_label("Issue it", exact=False)).not_to_be_checked()
    path = f"{flat_job.api}/documents"
    assert len(page.request.get(path).json()["documents"]) == 1


def test_a_test_typed_while_the_program_is_away_is_stored_once(
    bakery_job: Job, browser: Browser
) -> None:
    """It waits on the device, the head says so, and it is sent when the program is back."""
    page = open_page(browser, f"{bakery_job.page}/tests", size=(1180, 820))
    page.evaluate("localStorage.setItem('moisturemap:who', '\"Ada Marsh\"')")
    press(page, "Enter a test")
    page.get_by_label("Name of the hole or sample", exact=True).fill("N1")
    page.get_by_label("Name of the hole or sample", exact=True).press("Tab")
    page.context.set_offline(True)
    press(page, "Store")
    # the note that it is kept goes by after five seconds, the head says it as long as it waits
    page.locator(".connection").get_by_text("1 waiting", exact=False).wait_for()
    page.context.set_offline(False)
    page.locator(".connection").get_by_text("All stored", exact=True).wait_for()
    tests = page.request.get(f"{bakery_job.api}/tests").json()["tests"]
    assert [one["hole"] for one in tests].count("N1") == 1
