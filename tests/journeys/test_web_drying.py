"""The technician's job in the browser: slide through visits, move machines, see the gain."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect
from shapely.geometry import shape

from .drawn import RECORD
from .page import Program, begin_job, drag_floor, floor_at, open_page, press, push, type_room

pytestmark = pytest.mark.browser


FAN = {"kind": "air-mover", "visit": "v2", "who": "Ada Marsh"}


def _send(page: Page, running: Program, rest: str, body: dict[str, Any]) -> None:
    answer = page.request.post(f"{running.address}api/projects/Boat%20store/{rest}", data=body)
    assert answer.ok, answer.text()


def _readings(share: float) -> list[dict[str, Any]]:
    """A wet corner that dries to a share of what it was; the dry floor stays."""
    places = [(0.4 + 0.8 * i, 0.4 + 0.8 * j) for i in range(9) for j in range(6)]
    return [
        {
            "x": round(x, 2),
            "y": round(y, 2),
            "raw": f"{24 + share * 45 / (1 + (x - 5.6) ** 2 + (y - 3.6) ** 2) + (i * 7) % 3:.1f}",
        }
        for i, (x, y) in enumerate(places)
    ]


PIPE = {"kind": "line", "places": [[1.0, 0.6], [1.0, 4.2]], "why": "pipe seen at the wall"}
_MARKED_ON_BOTH = """() => new Set(window.drawn_.marks
  .filter((one) => one.text === 'U1' && one.canvas.isConnected)
  .map((one) => one.canvas.closest('.canvas'))).size === 2"""


def _visits_stand_side_by_side(page: Page) -> None:
    """Two plans of two visits; what is dragged on the one moves the other along."""
    press(page, "Two visits side by side")
    page.get_by_label("Left", exact=True).select_option("v1")
    page.get_by_role("slider", name="Visit shown on the plan").press("End")
    assert page.locator(".side-name").all_inner_texts() == ["v1", "v2"]
    first, second = page.locator(".canvas:not(.second)"), page.locator(".canvas.second")
    page.wait_for_timeout(400)
    boxes = [first.bounding_box(), second.bounding_box()]
    assert boxes[0] is not None
    assert boxes[1] is not None
    assert boxes[0]["x"] + boxes[0]["width"] <= boxes[1]["x"] + 1
    page.wait_for_function(_MARKED_ON_BOTH)
    before = first.get_attribute("data-view")
    x, y = boxes[1]["x"] + boxes[1]["width"] / 2, boxes[1]["y"] + boxes[1]["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 60, y - 30, steps=4)
    page.mouse.up()
    expect(first).not_to_have_attribute("data-view", before or "")
    press(page, "Two visits side by side")
    second.wait_for(state="detached")


DARK = 270
"""Sum of red, green and blue that only ink is below: the wet line, the darker stripe of a hatch."""


def _ink(page: Page, shot: Image.Image, place: tuple[float, float], reach: int) -> bool:
    """Whether something dark is drawn within so many pixels of a place of the floor [m]."""
    x, y = floor_at(page, *place)
    around = shot.crop((int(x) - reach, int(y) - reach, int(x) + reach + 1, int(y) + reach + 1))
    return bool((np.asarray(around, dtype=int).sum(axis=2) < DARK).any())


def _line_and_hatch_are_drawn(page: Page, job: str) -> None:
    """The wet line of each visit along its way, and lines where wet or dry cannot be told."""
    slider = page.get_by_role("slider", name="Visit shown on the plan")
    maps = page.request.get(f"{job}/drying").json()["maps"]
    assert [one["visit"] for one in maps] == ["v1", "v2"]
    for key, one in zip(("Home", "End"), maps, strict=True):
        slider.press(key)
        page.get_by_text(f"Relative reading on {one['visit']}").wait_for()
        floor_at(page, 0, 0)  # at rest
        shot = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
        line = [shape(f["geometry"]) for f in one["wet_line"]["features"]]
        unsure = [shape(f["geometry"]) for f in one["unsure"]["features"]]
        assert line
        assert unsure
        along = [curve.interpolate(i / 12, normalized=True) for curve in line for i in range(1, 12)]
        assert sum(_ink(page, shot, (p.x, p.y), 3) for p in along) > 0.9 * len(along)
        within = max(unsure, key=lambda patch: float(patch.area)).representative_point()
        assert _ink(page, shot, (within.x, within.y), 6)


def test_visits_slide_and_a_moved_machine_shows_its_gain(
    running: Program, browser: Browser
) -> None:
    """Two visits on one scale; a machine is placed by numbers, then dragged to the wet corner."""
    page = open_page(browser, running.address)
    begin_job(page, "Boat store")
    type_room(page, "store", [("7.2", "To the right"), ("4.8", "Up"), ("7.2", "To the left")])
    _send(page, running, "instruments", {"id": "meter 1", "scale": [0, 100], "who": "Ada Marsh"})
    for visit, day, share in (("v1", "02", 1.0), ("v2", "09", 0.7)):
        body = {
            "id": visit,
            "started": f"2026-03-{day}T08:00:00Z",
            "who": "Ada Marsh",
            "dry_reference": [23, 24, 25, 24],
            "air_temperature_c": 20,
            "air_rh_pct": 45,
        }
        _send(page, running, "visits", body)
        typed = {
            "visit": visit,
            "instrument": "meter 1",
            "who": "Ada Marsh",
            "readings": _readings(share),
        }
        _send(page, running, "readings", typed)
    _send(page, running, "anomalies", {**PIPE, "verdict": "marked", "who": "Ada Marsh"})
    page.add_init_script(f"({RECORD})()")
    page.reload()
    push(page, page.get_by_role("link", name="Drying"))
    page.get_by_role("heading", name="What the visits show").wait_for()
    page.get_by_text("read above the wet level").first.wait_for()
    page.get_by_role("slider", name="Visit shown on the plan").press("Home")
    page.get_by_text("Relative reading on v1").wait_for()
    _line_and_hatch_are_drawn(page, f"{running.address}api/projects/Boat%20store")
    press(page, "Show what changed")
    page.get_by_text("Change since the first visit").wait_for()

    _visits_stand_side_by_side(page)

    press(page, "Add a machine")
    page.get_by_label("Name", exact=True).fill("D1")
    page.get_by_label("x", exact=True).fill("0.6")
    page.get_by_label("y", exact=True).fill("0.6")
    press(page, "Store")
    page.get_by_role("table", name="How well the wet floor is served").wait_for()
    gain = page.get_by_role("table", name="How well the wet floor is served").locator("td").nth(2)
    said = gain.inner_text()
    before = float(said.split()[0])
    _send(page, running, "machines", {**FAN, "machine": "A1", "x": 4.0, "y": 1.0})
    page.reload()
    page.get_by_role("table", name="How well the wet floor is served").wait_for()
    drag_floor(page, (0.6, 0.6), (5.4, 3.4))
    page.get_by_text("D1 now stands at", exact=False).wait_for()
    drag_floor(page, (4.0, 1.0), (4.0, 3.0))
    page.get_by_text("A1 now stands at", exact=False).wait_for()
    stored = page.request.get(f"{running.address}api/projects/Boat%20store/machines").json()
    places = {one["machine"]: (one["x"], one["y"]) for one in stored["machines"]}
    assert places["D1"] == pytest.approx((5.4, 3.4), abs=0.05)
    assert places["A1"] == pytest.approx((4.0, 3.0), abs=0.05)
    expect(gain).not_to_have_text(said)
    assert float(gain.inner_text().split()[0]) < before
    assert page.get_by_text("Electricity and water", exact=False).first.is_visible()

    page.get_by_label("Units").first.select_option("ft")
    air = page.get_by_role("table", name="Room air")
    push(page, page.locator("summary", has_text="Room air"))
    heads = air.locator("th").all_inner_texts()
    assert {"Air °F", "Dew point °F"} < set(heads)
    assert air.locator("tbody tr").first.locator("td").first.inner_text() == "68"  # 20 °C
