"""The place of a tap is the place stored: on a turned plan, closer up, and moved along."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from playwright.sync_api import Browser, Page

from .page import Program, begin_job, begin_visit, drag_by_finger, floor_at, open_page, press, push

pytestmark = pytest.mark.browser

BESIDE = ((0.5, 0.5), (0.3, 0.25), (-0.05, 0.25))
"""Places tapped, from the middle [m]: in sight, and by no stop of the walk."""


_RESOLVES = """([at, most]) => {
  const view = document.querySelector('.canvas').dataset.view.split(' ').map(Number);
  return at[2] === view[2]
    ? Math.hypot(view[0] - at[0], view[1] - at[1]) > most
    : Math.abs(view[2] * 2 - at[2]) < 1e-9;
}"""
"""Whether the plan is twice as close, or has moved by so much [m]."""


@contextmanager
def _moved(page: Page, by: float = math.inf) -> Iterator[None]:
    """Bring the plan twice as close, or move it by at least so much [m], and wait until it is."""
    floor_at(page, 0, 0)  # at rest
    view = page.locator(".canvas").get_attribute("data-view") or ""
    yield
    page.wait_for_function(_RESOLVES, arg=[[float(one) for one in view.split()], min(by, 1e9)])


def _outline(page: Page, job: str) -> list[tuple[float, float]]:
    """Corners of the only room as they are stored [m]."""
    rooms = page.request.get(f"{job}/plan").json()["plan"]["rooms"]
    return [(float(x), float(y)) for x, y in rooms[0]["rings"][0]]


def _beside_the_middle(page: Page, right: float, up: float) -> tuple[float, float]:
    """The place so far [m] from the middle of the plan on the screen."""
    floor_at(page, 0, 0)  # at rest
    view = page.locator(".canvas").get_attribute("data-view") or ""
    x, y = (float(one) for one in view.split()[:2])
    return x + right, y + up


def test_a_tap_is_stored_where_it_was_after_the_plan_was_turned_and_moved(
    running: Program, browser: Browser
) -> None:
    """A plan imported a quarter turned is kept so; taps on it closer and further along agree.

    The outline is 7 x 5 m with its window bay at the east; turned to the left it is 5 x 7 m with
    the bay at the north.
    """
    page = open_page(browser, running.address, size=(390, 844))
    begin_job(page, "Turned bay")
    job = f"{running.address}api/projects/Turned%20bay"
    ring = [[0, 0], [7, 0], [7, 1], [8, 1], [8, 3], [7, 3], [7, 5], [0, 5], [0, 0]]
    bay = {
        "type": "Feature",
        "properties": {"name": "bay room"},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }
    content = json.dumps({"type": "FeatureCollection", "features": [bay]}).encode()
    file = {"name": "bay.geojson", "mimeType": "application/geo+json", "buffer": content}
    page.get_by_label("Import a file").set_input_files(file)
    page.get_by_label("Turn").select_option("90")
    page.get_by_text("The floor is 5.00 m × 8.00 m").wait_for()
    press(page, "Use this plan")
    page.get_by_text("Stored.", exact=True).wait_for()
    turned = _outline(page, job)
    page.reload()
    page.get_by_role("button", name="bay room", exact=True).wait_for()
    assert _outline(page, job) == turned
    xs, ys = zip(*turned, strict=True)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((5, 8))
    top = sorted(x - min(xs) for x, y in turned if y == pytest.approx(max(ys)))
    assert top == pytest.approx([2, 4])  # the bay, 1 to 3 m from the south, now from the east

    begin_visit(page)
    press(page, "Walk the floor")
    page.get_by_text("places, a walk of").wait_for()
    press(page, "Start walking")
    page.locator("input.big").wait_for()
    wanted: list[tuple[float, float]] = []
    for step, beside in enumerate(BESIDE):
        if step:
            with _moved(page):
                push(page, page.locator(".ol-zoom-in"))
        if step == 2:
            x, y = floor_at(page, *_beside_the_middle(page, 0.1, 0.1))
            with _moved(page, 0.1):
                drag_by_finger(page, (x, y), (x - 60, y + 40))
        wanted.append(_beside_the_middle(page, *beside))
        page.touchscreen.tap(*floor_at(page, *wanted[-1]))
        page.get_by_role("heading", name=f"X{step + 1} ", exact=False).wait_for()
        page.locator("input.big").fill(f"{41 + step}")
        page.locator("input.big").press("Enter")
        page.get_by_role("heading", name=re.compile("^A")).wait_for()
        page.get_by_text("All stored").wait_for()
    rows = page.request.get(f"{job}/readings?visit=v1").json()["readings"]
    stored = {row["raw"]: (row["x"], row["y"]) for row in rows}
    for step, place in enumerate(wanted):
        assert stored[f"{41 + step}"] == pytest.approx(place, abs=0.06)
