"""While a reading is typed, the number and Store are in sight together, whatever the letters."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from .axe import axe_finds
from .overlaps import faults_of, words_cut_off
from .page import Program, at_stored_visit, open_page, press, push

pytestmark = pytest.mark.browser

SIZES = [(1366, 768), (1180, 820), (820, 1180), (390, 844), (360, 740)]
OUT_OF_SIGHT = """(all) => all.filter((one) => {
  const e = document.querySelector(one);
  const r = e.getBoundingClientRect();
  const at = document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2);
  const out = r.top < 0 || r.left < 0 || r.bottom > innerHeight || r.right > innerWidth;
  return out || !e.contains(at);
})"""
"""Which controls are not wholly on the screen and free to be tapped."""


def _walking(page: Page) -> None:
    press(page, "Walk the floor")
    page.get_by_text("places, a walk of").wait_for()
    press(page, "Start walking")
    page.locator("input.big").wait_for()


def test_number_and_store_are_in_sight_together(running: Program, browser: Browser) -> None:
    """At five sizes with letters as they come and at 200% (WCAG 2.2, 1.4.4), place after place.

    Axe finds nothing there either.
    """
    page = open_page(browser, running.address, size=SIZES[1], bypass_csp=True)
    at_stored_visit(page, running, "Large letters")
    _walking(page)
    assert axe_finds(page) == []
    letters = page.context.new_cdp_session(page)
    found: dict[str, Any] = {}
    for standard in (16, 32):
        letters.send("Page.setFontSizes", {"fontSizes": {"standard": standard, "fixed": 13}})
        for wide, tall in SIZES:
            page.set_viewport_size({"width": wide, "height": tall})
            page.wait_for_timeout(300)  # the map takes its new size
            place = page.locator(".walk .place").inner_text()
            push(page, page.locator(".pad").get_by_role("button", name="Skip"))
            page.wait_for_function(
                "(was) => document.querySelector('.walk .place').innerText !== was", arg=place
            )
            hidden = page.evaluate(OUT_OF_SIGHT, ["input.big", ".pad .main"])
            faults = (faults_of(page), words_cut_off(page), hidden)
            if faults != ({}, [], []):
                found[f"{wide} x {tall}, letters of {standard} px"] = faults
    assert found == {}
