"""A whole job typed in feet, inches and degrees Fahrenheit, by touch; stored in metres and °C."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from .overlaps import faults_of
from .page import Job, Program, begin_job, floor_at, open_page, press, push, to_task, type_room

pytestmark = pytest.mark.browser

METRIC = re.compile(r"\d\s(m|mm|m²|m2|°C)\b")
FOOT_M, INCH_MM = 0.3048, 25.4
"""International foot and inch (NIST SP 811, appendix B.8)."""
STORE = [("21 ft", "To the right"), ("15' 9\"", "Up"), ("21", "To the left")]
SCAN_FT = "x,y,reading\n" + "\n".join(
    f"{1.5 + 3 * i},{1.25 + 2.5 * j},{24 + 40 / (1 + (i - 5) ** 2 + (j - 4) ** 2):.1f}"
    for i in range(7)
    for j in range(6)
)


def _asked(page: Page, job: Job, rest: str = "") -> Any:
    return page.request.get(f"{job.api}{rest}").json()


def _plan(page: Page, job: Job) -> None:
    type_room(page, "store", STORE)
    press(page, "store")
    page.get_by_label("Base", exact=True).select_option("concrete slab")
    page.get_by_label("Thickness", exact=False).first.fill("5 1/2")
    page.get_by_label("Thickness", exact=False).first.press("Tab")
    page.get_by_label("Lies on").select_option("ground")
    press(page, "Done")
    page.get_by_text("Stored.", exact=True).wait_for()
    room = _asked(page, job, "/plan")["plan"]["rooms"][0]
    xs, ys = zip(*room["rings"][0], strict=True)
    assert max(xs) - min(xs) == pytest.approx(21 * FOOT_M, abs=1e-3)
    assert max(ys) - min(ys) == pytest.approx(15.75 * FOOT_M, abs=1e-3)
    assert room["slab"]["thickness_mm"] == pytest.approx(5.5 * INCH_MM, abs=0.05)


def _readings(page: Page, job: Job) -> None:
    press(page, "On to the readings")
    press(page, "Start a visit")
    dialog = page.locator("dialog")
    for label, text in (
        ("Room air", "68"),
        ("Room air humidity", "50"),
        ("Surface of the slab", "66.2"),
    ):
        dialog.get_by_label(label, exact=True).first.fill(text)
    press(page, "Store")
    press(page, "Add a meter")
    page.get_by_label("Name of the meter").fill("meter 1")
    page.get_by_label("Scale to").fill("1OO")
    press(page, "Store")
    page.get_by_text("“1OO” is not a number", exact=False).first.wait_for()
    page.get_by_label("Scale to").fill("100")
    page.get_by_label("Footprint").fill("120")
    press(page, "Store")
    page.get_by_text("A footprint lies between 0.4 and 19.6 in.", exact=True).wait_for()
    page.get_by_label("Footprint").fill("4 1/2")
    press(page, "Store")
    scan = {"name": "scan.csv", "mimeType": "text/csv", "buffer": SCAN_FT.encode()}
    page.get_by_label("Import a file").set_input_files(scan)
    page.locator("dialog").get_by_label("Units", exact=False).select_option("ft")
    page.get_by_text("42 readings understood.").wait_for()
    press(page, "Store these readings")
    page.get_by_role("heading", name="42 readings so far").wait_for()
    press(page, "Walk the floor")
    page.get_by_text("places, a walk of").wait_for()
    press(page, "Start walking")
    page.touchscreen.tap(*floor_at(page, 9 * FOOT_M, 6.3 * FOOT_M))
    page.get_by_text("A place was added here.").wait_for()
    page.locator("input.big").fill("31")
    page.locator("input.big").press("Enter")
    page.get_by_text("All stored").wait_for()
    press(page, "Stop walking")
    meter = _asked(page, job)["instruments"][0]
    assert meter["footprint_m"] == pytest.approx(4.5 * INCH_MM / 1000, abs=1e-5)
    visit = _asked(page, job)["visits"][0]
    assert visit["air_temperature_c"] == 20
    assert visit["slab_temperature_c"] == 19
    rows = _asked(page, job, "/readings?visit=v1")["readings"]
    assert (rows[0]["x"], rows[0]["y"]) == pytest.approx((1.5 * FOOT_M, 1.25 * FOOT_M), abs=1e-3)
    tapped = next(one for one in rows if one["raw"] == "31")
    assert (tapped["x"], tapped["y"]) == pytest.approx((9 * FOOT_M, 6.3 * FOOT_M), abs=0.04)


def _test(page: Page, job: Job) -> None:
    to_task(page, "Tests")
    press(page, "Enter a test")
    page.get_by_label("Name of the hole or sample", exact=True).fill("T1")
    push(page, page.get_by_text("More about this test"))
    for label, text in (
        ("Result", "81"),
        ("x", "6' 6\""),
        ("y", "9.5"),
        ("Temperature in the hole or sample", "68"),
        ("Air temperature", "70.7"),
    ):
        page.get_by_label(label, exact=True).fill(text)
    page.get_by_label("Depth", exact=False).first.fill("2 3/16")
    page.get_by_label("Depth", exact=False).first.press("Tab")
    press(page, "Store")
    page.get_by_text("Test stored.").wait_for()
    row = _asked(page, job, "/tests")["tests"][0]
    assert (row["x"], row["y"]) == pytest.approx((6.5 * FOOT_M, 9.5 * FOOT_M), abs=1e-3)
    assert row["depth_mm"] == pytest.approx(2.1875 * INCH_MM, abs=0.05)
    assert row["temperature_c"] == pytest.approx(20)
    assert row["air_temperature_c"] == pytest.approx(21.5)


def test_a_job_is_entered_in_feet_inches_and_fahrenheit(running: Program, browser: Browser) -> None:
    """Outline, build-up, visit, readings by file and by tap, map, drill plan and test."""
    page = open_page(browser, running.address, size=(820, 1180))
    page.get_by_label("Units").select_option("ft")
    begin_job(page, "Net store")
    job = Job(running.address, "Net%20store")
    assert _asked(page, job)["units"] == "us"
    _plan(page, job)
    _readings(page, job)
    _test(page, job)
    to_task(page, "Map")
    page.get_by_role("heading", name="Wet zones").wait_for()
    metric = page.locator(".panel").get_by_text(METRIC)
    assert metric.all_inner_texts() == []
    to_task(page, "Drill plan")
    page.get_by_role("heading", name="Before any drilling").wait_for()
    assert metric.all_inner_texts() == []
    assert faults_of(page) == {}
