"""A line that drops while a page loads takes nothing away, and the page comes whole by itself."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from .page import Job, begin_job, open_page, program, push, to_task

pytestmark = pytest.mark.browser

TASKS = ("plan", "readings", "map", "drill", "tests", "drying", "source", "report")


def _headings(page: Page) -> list[str]:
    """What the page of a task consists of, once nothing is computed any more."""
    return page.locator(".panel h1, .panel h2, .panel summary").all_inner_texts()


def test_the_line_drops_while_the_report_page_loads(flat_job: Job, browser: Browser) -> None:
    """What was there to press stays, and what was still to come is read when the line is back."""
    page = open_page(browser, f"{flat_job.page}/readings", size=(820, 1180))
    page.get_by_role("heading", name="readings so far").wait_for()
    held: list[Route] = []
    changes = f"**/api/projects/{flat_job.name}/changes*"
    page.route(changes, lambda route: held.append(route))
    with page.expect_request(changes):
        to_task(page, "Report")
    picture = page.get_by_label("Add a picture or PDF")
    picture.wait_for(state="attached")
    page.context.set_offline(True)
    held[0].abort("internetdisconnected")
    page.unroute(changes)
    page.get_by_text("Connection lost", exact=False).first.wait_for()
    expect(picture).to_have_count(1)
    assert page.get_by_role("button", name="Write the report").is_visible()
    page.context.set_offline(False)
    page.get_by_role("group").filter(has_text="Record of changes").wait_for()
    page.get_by_text("Connection lost", exact=False).wait_for(state="detached")


@pytest.mark.slow
@pytest.mark.parametrize("task", TASKS)
def test_every_load_of_a_page_is_made_up_for(flat_job: Job, browser: Browser, task: str) -> None:
    """Each address a page reads fails once; in the end the page is as if none had."""
    address = f"{flat_job.page}/{task}"
    page = open_page(browser, address, size=(820, 1180))
    page.locator(".panel h1").wait_for()
    page.locator(".panel progress").wait_for(state="detached")
    page.wait_for_load_state("networkidle")
    whole = _headings(page)
    assert len(whole) >= 2

    dropped: set[str] = set()

    def drop_once(route: Route) -> None:
        path = urlsplit(route.request.url).path
        if route.request.method != "GET" or path in dropped:
            return route.continue_()
        dropped.add(path)
        return route.abort("connectionreset")

    page.route("**/api/**", drop_once)
    page.reload()
    page.wait_for_function(
        """whole => {
          const now = [...document.querySelectorAll('.panel h1, .panel h2, .panel summary')];
          return now.map((one) => one.innerText).join('|') === whole.join('|');
        }""",
        arg=whole,
    )
    assert len(dropped) >= 2
    assert page.locator(".panel .refusal").count() == 0
    page.get_by_text("Connection lost", exact=False).wait_for(state="detached")


def test_a_second_program_over_the_folder_is_told_before_anything_is_typed(
    browser: Browser, tmp_path: Path
) -> None:
    """It can look; what it cannot store is said at once, and when the first is gone it can."""
    with program(tmp_path, eager=False) as first:
        page = open_page(browser, first.address, size=(820, 1180))
        begin_job(page, "Shared")
        with program(tmp_path, eager=False) as second:
            other = open_page(browser, f"{second.address}#/Shared/plan", size=(820, 1180))
            dialog = other.locator("dialog")
            dialog.get_by_text("Another program", exact=False).wait_for()
            push(page, dialog.get_by_role("button", name="Cancel"))
            other.locator(".head").get_by_text("can only be looked at", exact=False).wait_for()
            push(other, other.locator(".head .connection"))
            dialog.wait_for()
            push(page, dialog.get_by_role("button").last)
            first.kill()  # noticed without a reload
            other.locator(".head").get_by_text("All stored").wait_for()
