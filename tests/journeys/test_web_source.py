"""Where the water comes from: questions answered, causes weighed, the next measurement named."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser

from .overlaps import faults_of
from .page import Job, open_page, press, push, to_task

pytestmark = pytest.mark.browser

SIZES = [(1366, 768), (1180, 820), (820, 1180), (390, 844)]


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_answers_are_kept_and_causes_weighed(
    flat_job: Job, browser: Browser, size: tuple[int, int]
) -> None:
    """An answer outlives leaving the page; weighed answers are of the job; causes are listed."""
    page = open_page(browser, f"{flat_job.page}/source", size=size)
    page.get_by_role("heading", name="Questions").wait_for()
    asked = page.locator(".panel select").first
    words = asked.locator("option").nth(1).inner_text()
    asked.select_option(index=1)
    to_task(page, "Tests")
    page.get_by_role("heading", name="Tests", exact=True).wait_for()
    to_task(page, "Source")
    kept = page.locator(".panel select").first
    kept.wait_for()
    assert kept.locator("option:checked").inner_text() == words
    press(page, "Weigh the causes")
    name = page.locator("dialog").get_by_label("Your name")
    name.fill("Ada Marsh")
    push(page, page.locator("dialog .actions button").first)
    causes = page.get_by_role("table", name="Causes and what speaks for and against them")
    causes.wait_for()
    assert causes.locator("tbody tr").count() > 2
    assert page.get_by_role("table", name="What to measure next").locator("tbody tr").count() > 0
    assert faults_of(page) == {}
    stored = page.request.get(f"{flat_job.api}/questions").json()["answers"]
    assert len(stored) == 1
    page.reload()
    again = page.locator(".panel select").first
    again.wait_for()
    assert again.locator("option:checked").inner_text() == words
