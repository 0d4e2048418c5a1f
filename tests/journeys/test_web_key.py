"""The map has the screen; its key is at hand at every size and names the signs that are there."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from .overlaps import faults_of, words_cut_off
from .page import Job, open_page, press, push, to_task

pytestmark = pytest.mark.browser

SIZES = [(844, 390, 16), (683, 384, 16), (1366, 768, 32), (390, 844, 32), (1180, 820, 16)]
"""A phone on its side, a laptop at 200%, one with letters twice as large, a phone, a tablet."""
MAP_SIZES = [(1366, 768), (1180, 820), (820, 1180), (390, 844), (844, 390)]


def _open(page: Page, job: Job, task: str) -> None:
    page.goto(f"{job.page}/{task}")
    page.reload()
    page.locator(".panel h1").first.wait_for()
    page.locator(".panel progress").wait_for(state="detached")


@pytest.mark.parametrize(("wide", "tall", "letters"), SIZES)
def test_the_key_is_at_hand(
    flat_job: Job, browser: Browser, wide: int, tall: int, letters: int
) -> None:
    """Where the plan is low, its colours stay in sight and one tap shows all of it, and back."""
    page = open_page(browser, flat_job.address, size=(wide, tall))
    fonts = page.context.new_cdp_session(page)
    fonts.send("Page.setFontSizes", {"fontSizes": {"standard": letters, "fixed": 13}})
    _open(page, flat_job, "map")
    legend, key = page.locator(".legend"), page.locator(".key-of-map")
    if key.is_visible():
        expect(key.locator(".steps span").first).to_be_visible()
        box = key.bounding_box()
        assert box is not None
        assert box["height"] >= 44
        assert not legend.is_visible()
        push(page, key)
        expect(key).to_have_attribute("aria-expanded", "true")
    expect(legend.get_by_text("light: drier – dark: wetter")).to_be_visible()
    expect(legend.get_by_text("wet level", exact=False)).to_be_visible()
    assert (faults_of(page), words_cut_off(page)) == ({}, [])
    if key.is_visible():
        push(page, key)
        expect(legend).not_to_be_visible()
        expect(page.locator(".canvas")).to_be_visible()


def _share(page: Page, what: str) -> float:
    """How much of the screen something takes."""
    box, screen = page.locator(what).bounding_box(), page.viewport_size
    assert box is not None
    assert screen is not None
    return box["width"] * box["height"] / (screen["width"] * screen["height"])


def test_the_map_is_the_page(flat_job: Job, browser: Browser) -> None:
    """A third of the screen beside the panel, seven tenths without it; a bar gives it more or less.

    North is shown, and what the bar was set to outlives a reload.
    """
    page = open_page(browser, flat_job.address, size=(1180, 820))
    _open(page, flat_job, "map")
    fold = page.locator(".fold")
    for wide, tall in MAP_SIZES:
        page.set_viewport_size({"width": wide, "height": tall})
        beside = _share(page, ".canvas")
        push(page, fold)
        expect(fold).to_have_attribute("aria-expanded", "false")
        expect(page.locator("#panel")).not_to_be_visible()
        alone = _share(page, ".canvas")
        assert beside > 0.3, (wide, tall)
        assert alone > (0.7 if tall > 400 else 0.5), (wide, tall)
        assert faults_of(page) == {}, (wide, tall)
        expect(page.get_by_text("plan north")).to_be_visible()
        push(page, fold)
        expect(page.locator("#panel")).to_be_visible()
    page.set_viewport_size({"width": 1180, "height": 820})
    bar, usual = page.get_by_role("separator"), _share(page, ".canvas")
    bar.focus()
    bar.press("ArrowRight")
    bar.press("ArrowRight")
    more = _share(page, ".canvas")
    assert more > usual + 0.05
    _open(page, flat_job, "map")
    page.locator(".legend .steps").first.wait_for()
    assert _share(page, ".canvas") == pytest.approx(more, abs=0.01)
    box = bar.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 250, y, steps=4)
    page.mouse.up()
    assert _share(page, ".canvas") < usual


def _signs(page: Page) -> list[str]:
    said = page.locator(".legend li").all_inner_texts()
    return [one for one in said if one in ("proposed hole", "issued hole", "calibrated test")]


def test_the_key_names_the_signs_that_are_there(flat_job: Job, browser: Browser) -> None:
    """A wanted hole is no issued one; the first test of a job is in the key at once."""
    page = open_page(browser, flat_job.address, size=(1180, 820))
    page.evaluate("localStorage.setItem('moisturemap:who', '\"Ada Marsh\"')")

    def send(rest: str, body: dict[str, Any]) -> None:
        address = f"{flat_job.api}/{rest}"
        head = {"Origin": flat_job.address[:-1]}
        answer = page.request.post(address, data={**body, "who": "Ada Marsh"}, headers=head)
        assert answer.ok, answer.text()

    _open(page, flat_job, "tests")
    page.locator(".legend li").first.wait_for()
    assert _signs(page) == []
    fields = {"hole": "T1", "method": "in-situ-rh", "value": 81.0, "unit": "%RH", "x": 2, "y": 2}
    send("tests", {"visit": "v1", "fields": fields})
    to_task(page, "Drill plan")
    page.get_by_role("heading", name="Before any drilling").wait_for()
    press(page, "Want a hole at …")
    page.get_by_label("x", exact=True).fill("2.6")
    page.get_by_label("y", exact=True).fill("1.1")
    press(page, "Want it here")
    page.get_by_role("cell", name="wanted").first.wait_for()
    assert _signs(page) == ["proposed hole", "calibrated test"]
    to_task(page, "Tests")
    page.locator(".legend .steps").first.wait_for()
    assert _signs(page) == ["calibrated test"]
