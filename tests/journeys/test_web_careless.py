"""Numbers typed in a hurry: another unit, a share for a percentage, a comma between readings."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from .page import Job, open_page, press, push

pytestmark = pytest.mark.browser


def visit_of(page: Page, job: str) -> dict[str, Any]:
    """The last visit of a job as it is stored."""
    found: dict[str, Any] = page.request.get(job).json()["visits"][-1]
    return found


def at_readings(flat_job: Job, browser: Browser) -> tuple[Page, str]:
    """The readings of the flat, and where the job is asked for."""
    page = open_page(browser, f"{flat_job.page}/readings")
    page.evaluate("localStorage.setItem('moisturemap:who', '\"Ada Marsh\"')")
    page.get_by_role("button", name="Change the visit").wait_for()
    return page, flat_job.api


def test_fahrenheit_in_a_celsius_job_is_asked_about(flat_job: Job, browser: Browser) -> None:
    """64 on a slab is somebody's Fahrenheit; a share is no percentage."""
    page, job = at_readings(flat_job, browser)
    press(page, "Change the visit")
    page.get_by_label("Surface of the slab", exact=True).fill("64")
    page.get_by_label("Room air humidity", exact=True).first.fill("0,45")
    press(page, "Store")
    push(page, page.get_by_role("button", name="64 °F = 17.8 °C"))
    push(page, page.get_by_role("button", name="0.45 as a share of 1 = 45 %RH"))
    page.locator("dialog").wait_for(state="detached")
    stored = visit_of(page, job)
    assert (stored["slab_temperature_c"], stored["air_rh_pct"]) == (17.8, 45)


def test_who_means_what_was_typed_says_so(flat_job: Job, browser: Browser) -> None:
    """And who wants to look again finds the form as it was, with nothing stored."""
    page, job = at_readings(flat_job, browser)
    before = visit_of(page, job)
    press(page, "Change the visit")
    air = page.get_by_label("Room air", exact=True)
    air.fill("51")
    press(page, "Store")
    push(page, page.locator("dialog").nth(1).get_by_role("button", name="Cancel"))
    assert air.input_value() == "51"
    assert visit_of(page, job) == before
    press(page, "Store")
    push(page, page.get_by_role("button", name="51 °C, as typed"))
    page.locator("dialog").wait_for(state="detached")
    assert visit_of(page, job)["air_temperature_c"] == 51
    press(page, "Change the visit")
    page.get_by_label("Operator").fill("B. Reed")
    press(page, "Store")
    page.locator("dialog").wait_for(state="detached")  # what was answered is not asked again
    assert visit_of(page, job)["operator"] == "B. Reed"


def test_a_comma_between_dry_readings_is_asked_about(flat_job: Job, browser: Browser) -> None:
    """One reading of 30.31 or two: the form shows how a list is understood before it is stored."""
    page, job = at_readings(flat_job, browser)
    press(page, "Change the visit")
    dry = page.get_by_label("Readings on floor known to be dry")
    dry.fill("30, 31; 29")
    page.get_by_text("3 readings: 30 · 31 · 29").wait_for()
    dry.fill("30,31")
    page.get_by_text("1 reading: 30.31 or 2 readings: 30 · 31").wait_for()
    press(page, "Store")
    push(page, page.get_by_role("button", name="2 readings: 30 · 31"))
    page.locator("dialog").wait_for(state="detached")
    assert visit_of(page, job)["dry_reference"] == [30, 31]


def test_a_thickness_in_inches_is_no_millimetre(flat_job: Job, browser: Browser) -> None:
    """4 is no slab of 4 mm; a unit that is written is understood."""
    page, job = at_readings(flat_job, browser)
    press_task(page, "Plan")
    push(page, page.get_by_role("button", name="hall", exact=True))
    thickness = page.get_by_label("Thickness", exact=False).first
    thickness.fill("4")
    thickness.press("Enter")
    push(page, page.get_by_role("button", name="4 in = 101.6 mm"))
    page.wait_for_function("() => !document.querySelector('dialog')")
    thickness = page.get_by_label("Thickness", exact=False).first
    assert thickness.input_value() == "101.6"
    thickness.fill("9 cm")
    thickness.press("Enter")
    page.wait_for_function("() => document.activeElement.value === '90'")
    push(page, page.get_by_role("button", name="Done"))
    page.get_by_text("Stored.", exact=False).first.wait_for()
    rooms = page.request.get(f"{job}/plan").json()["plan"]["rooms"]
    assert next(one for one in rooms if one["name"] == "hall")["slab"]["thickness_mm"] == 90


def press_task(page: Page, name: str) -> None:
    """Open a task of the job."""
    push(page, page.locator(".tasks").get_by_role("link", name=name).first)


def test_a_test_in_another_unit_or_off_the_plan_is_asked_about(
    flat_job: Job, browser: Browser
) -> None:
    """A humidity of 0.82, 64 degrees and a place outside every room."""
    page, job = at_readings(flat_job, browser)
    press_task(page, "Tests")
    press(page, "Enter a test")
    page.get_by_label("Name of the hole or sample", exact=True).fill("C1")
    page.get_by_label("Result", exact=True).fill("0,82")
    page.get_by_label("x", exact=True).fill("250")
    page.get_by_label("y", exact=True).fill("2")
    page.get_by_label("Depth", exact=False).first.fill("4")
    press(page, "Store")
    for answer in ("4 cm = 40 mm", "0.82 as a share of 1 = 82 %RH"):
        push(page, page.get_by_role("button", name=answer))
    page.get_by_text("lies in no room of the plan", exact=False).wait_for()
    push(page, page.locator("dialog").get_by_role("button", name="Cancel"))
    page.locator("dialog").wait_for(state="detached")
    assert page.get_by_label("Result", exact=True).input_value() == "82"
    tests = page.request.get(f"{job}/tests").json()["tests"]
    assert all(one["hole"] != "C1" for one in tests)
    page.get_by_label("x", exact=True).fill("2.5")
    page.get_by_label("x", exact=True).press("Tab")
    press(page, "Store")
    page.get_by_text("Test stored.").wait_for()
    tests = page.request.get(f"{job}/tests").json()["tests"]
    stored = next(one for one in tests if one["hole"] == "C1")
    assert (stored["value"], stored["depth_mm"]) == (82, 40)
