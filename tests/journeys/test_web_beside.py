"""What is asked beside the plan leaves it in sight, and reads lengths in the unit of the page."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page

from .page import Program, at_stored_visit, floor_at, open_page, press, push, send, stored_job

pytestmark = pytest.mark.browser

WIDE, TALL = 4.5, 3.0
METRES = "x,y,reading\n" + "\n".join(
    f"{0.25 + 0.5 * i},{0.25 + 0.5 * j},{30 + i}" for i in range(9) for j in range(6)
)


def _choose(page: Page, content: str) -> None:
    file = {"name": "scan.csv", "mimeType": "text/csv", "buffer": content.encode()}
    page.get_by_label("Import a file").set_input_files(file)
    page.get_by_text("54 readings understood.").wait_for()


def test_readings_from_a_file_are_seen_beside_the_form(running: Program, browser: Browser) -> None:
    """With the mouse on a laptop: the east wall was behind the form."""
    page = open_page(browser, running.address)
    at_stored_visit(page, running, "Beside")
    _choose(page, METRES)
    east, _ = floor_at(page, WIDE, TALL)
    form = page.locator("dialog.side").bounding_box()
    assert form is not None
    assert east < form["x"]
    push(page, page.get_by_role("button", name="Cancel"))
    page.locator("dialog").wait_for(state="detached")
    again, _ = floor_at(page, WIDE, TALL)
    assert again > east + 50


def test_a_file_in_metres_is_not_stored_in_feet_unasked(running: Program, browser: Browser) -> None:
    """A page in feet reads it in feet, says so, and asks about metres that fill a corner."""
    page = open_page(browser, running.address, size=(390, 844))
    page.evaluate("localStorage.setItem('moisturemap:unit', '\"ft\"')")
    at_stored_visit(page, running, "Corner")
    page.reload()
    page.get_by_role("button", name="Walk the floor").wait_for()
    _choose(page, METRES)
    unit = page.get_by_label("Units of x and y")
    assert unit.input_value() == "ft"
    page.get_by_text("as metres instead of feet", exact=False).wait_for()
    press(page, "Store these readings")
    page.get_by_text("Choose another unit or frame", exact=False).wait_for()
    unit.select_option("m")
    page.get_by_text("as metres instead of feet", exact=False).wait_for(state="detached")
    press(page, "Store these readings")
    page.get_by_role("heading", name="54 readings so far").wait_for()
    rows = page.request.get(f"{running.address}api/projects/Corner/readings?visit=v1").json()
    assert max(one["x"] for one in rows["readings"]) == pytest.approx(4.25)


def test_a_place_is_looked_up_in_feet_in_a_page_in_feet(running: Program, browser: Browser) -> None:
    """Ten is ten feet there, not ten metres: the map explained another place."""
    page = open_page(browser, running.address)
    job = stored_job(page, running, "Look up", (6.0, 4.0))
    send(page, job, f"/{job.name}/visits", {"id": "v1", "started": "2026-03-02T08:00:00Z"})
    send(page, job, f"/{job.name}/instruments", {"id": "meter 1", "scale": [0, 100]})
    places = [(0.5 + i, 0.5 + j) for i in range(6) for j in range(4)]
    readings = [{"x": x, "y": y, "raw": f"{30 + 2 * x:.1f}"} for x, y in places]
    body = {"visit": "v1", "instrument": "meter 1", "readings": readings}
    send(page, job, f"/{job.name}/readings", body)
    page.evaluate("localStorage.setItem('moisturemap:unit', '\"ft\"')")
    page.goto(f"{job.page}/map")
    page.reload()
    page.get_by_role("heading", name="Wet zones").wait_for()
    push(page, page.get_by_text("Place by coordinates"))
    page.get_by_label("x", exact=True).fill("wide")
    push(page, page.get_by_role("button", name="Show", exact=True))
    page.get_by_text("“wide” is not a length", exact=False).wait_for()
    page.get_by_label("x", exact=True).fill("10")
    page.get_by_label("y", exact=True).fill("5' 6\"")
    with page.expect_request(lambda one: "/place?" in one.url) as asked:
        push(page, page.get_by_role("button", name="Show", exact=True))
    assert "x=3.048" in asked.value.url
