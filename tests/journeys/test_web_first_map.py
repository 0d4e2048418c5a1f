"""Before the first map of a visit its readings are drawn as they are, and said to be that."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Route, expect

from .page import Job, open_page, to_task

pytestmark = pytest.mark.browser


def test_readings_are_drawn_while_the_first_map_is_computed(
    flat_job: Job, browser: Browser
) -> None:
    """The map takes their place; when the map is opened again it comes without them."""
    page = open_page(browser, flat_job.address)
    page.locator(".cards").wait_for()
    held: list[Route] = []
    page.route("**/map?**", lambda route: held.append(route))
    page.goto(f"{flat_job.page}/map")
    alone = page.get_by_text("A quick map of the readings as they are", exact=False)
    alone.wait_for()
    expect(page.locator(".legend strong")).to_have_text("Quick map, relative readings")
    held.pop().continue_()
    page.get_by_role("heading", name="How far to trust this map").wait_for()
    expect(alone).to_have_count(0)
    expect(page.locator(".legend strong")).to_contain_text("Relative reading")

    asked: list[str] = []
    page.on("request", lambda one: asked.append(one.url))
    page.unroute("**/map?**")
    to_task(page, "Readings")
    to_task(page, "Map")
    page.get_by_role("heading", name="How far to trust this map").wait_for()
    assert not [url for url in asked if "/live?" in url]
