"""Walking: refused numbers, added places, pasted numbers, and one walk on two devices."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route

from .page import (
    Program,
    at_stored_visit,
    begin_job,
    begin_visit,
    floor_at,
    open_page,
    press,
    push,
    type_room,
)

pytestmark = pytest.mark.browser

HALL = [("4.5", "To the right"), ("3", "Up"), ("4.5", "To the left")]


def _rows(running: Program, page: Page) -> list[dict[str, Any]]:
    address = f"{running.address}api/projects/Shared%20walk/readings?visit=v1"
    rows: list[dict[str, Any]] = page.request.get(address).json()["readings"]
    return rows


def _walk(page: Page) -> None:
    press(page, "Walk the floor")
    page.get_by_text("places, a walk of").wait_for()
    press(page, "Start walking")
    page.locator("input.big").wait_for()


def _pad(page: Page, keys: str) -> None:
    pad = page.get_by_role("group", name="Number pad")
    for key in keys:
        push(page, pad.get_by_role("button", name=key, exact=True))


def _join(page: Page, running: Program, browser: Browser) -> Page:
    """Open the same walk on a second device that somebody else holds."""
    other = open_page(browser, f"{running.address}#/Shared%20walk/readings", tablet=True)
    other.evaluate("localStorage.setItem('moisturemap:who', '\"Ben\"')")
    other.get_by_role("button", name="Walk the floor").wait_for()
    _walk(other)
    return other


def test_a_walk_takes_what_is_meant_and_several_devices_share_it(
    running: Program, browser: Browser
) -> None:
    """By thumb on the pad: the next digit replaces a refused number; nothing is stored unseen."""
    page = open_page(browser, running.address, tablet=True)
    begin_job(page, "Shared walk")
    type_room(page, "hall", HALL)
    begin_visit(page)
    _walk(page)
    other = _join(page, running, browser)

    _pad(page, "150")
    press(page, "Store")
    page.get_by_text("0 to 100", exact=False).wait_for()
    _pad(page, "49")
    assert page.locator("input.big").input_value() == "49"
    press(page, "Store")
    page.get_by_text("All stored").wait_for()
    assert [row["raw"] for row in _rows(running, page)] == ["49"]

    other.get_by_text("A1 was read on another device: 49", exact=False).wait_for()
    other.get_by_role("heading", name="A2 · hall").wait_for()
    other.locator("input.big").fill("41")
    other.locator("input.big").press("Enter")
    other.get_by_text("All stored").wait_for()
    page.get_by_text("A2 was read on another device: 41", exact=False).wait_for()
    page.get_by_role("heading", name="A3 · hall").wait_for()

    # Both read one place before either hears of the other: both values stay, and both are told.
    for device, value in ((page, "33"), (other, "35")):
        device.locator("input.big").fill(value)
    for device in (page, other):
        device.locator("input.big").press("Enter")
    page.get_by_text("All stored").wait_for()
    other.get_by_text("All stored").wait_for()
    said = "A3 has two values now"
    assert sum(one.get_by_text(said, exact=False).count() for one in (page, other)) == 1
    assert sorted(row["raw"] for row in _rows(running, page) if row["label"] == "A3") == [
        "33",
        "35",
    ]

    page.touchscreen.tap(*floor_at(page, 2.0, 2.2))
    page.get_by_text("A place was added here.").wait_for()
    _pad(page, "77")
    press(page, "Store")
    page.get_by_text("All stored").wait_for()
    added = next(row for row in _rows(running, page) if row["raw"] == "77")
    assert (added["x"], added["y"]) == pytest.approx((2.0, 2.2), abs=0.05)
    assert added["room"] == "hall"

    before = len(_rows(running, page))
    page.locator("input.big").evaluate(
        """(field) => {
          const held = new DataTransfer();
          held.setData("text", "21\\n22,5\\nFS");
          field.dispatchEvent(new ClipboardEvent("paste", { clipboardData: held, bubbles: true,
            cancelable: true }));
        }"""
    )
    page.get_by_role("heading", name="Store 3 numbers", exact=False).wait_for()
    push(page, page.locator("dialog").get_by_role("button", name="Store"))
    page.get_by_text("All stored").wait_for()
    rows = _rows(running, page)
    assert len(rows) == before + 3
    assert [row["raw"] for row in rows[-3:]] == ["21", "22,5", "FS"]

    # A device that was away is told what was read meanwhile, of its own places and of the others'.
    places = {(row["label"], row["repeat"]) for row in rows if not row["label"].startswith("X")}
    other.reload()
    other.get_by_text(f", {len(places)} taken ·", exact=False).wait_for()


@pytest.mark.parametrize("size", [(1180, 820), (390, 844), (844, 390)])
def test_the_pad_stays_under_the_thumb(
    running: Program, browser: Browser, size: tuple[int, int]
) -> None:
    """Hints, refusals and questions move no key; a typed number is not skipped in silence."""
    page = open_page(browser, running.address, size=size)
    job = f"Pad {size[0]}"
    at_stored_visit(page, running, job)
    _walk(page)
    store = page.get_by_role("group", name="Number pad").get_by_role("button", name="Store")
    where = [store.bounding_box()]

    def typed(keys: str) -> None:
        _pad(page, keys)
        push(page, store)
        where.append(store.bounding_box())

    typed("150")
    page.get_by_text("0 to 100", exact=False).wait_for()
    _pad(page, "21")
    press(page, "Skip")
    page.get_by_text("21 is typed and not stored.", exact=False).wait_for()
    where.append(store.bounding_box())
    typed("")
    second = page.get_by_text("A second reading at this place", exact=False)
    stops = int(page.get_by_text("Reading 2 of").inner_text().split(" of ")[1].split(",")[0])
    for _ in range(stops):
        if second.count():
            break
        typed("21")
    second.wait_for()
    label = page.locator(".walk h1").inner_text()
    typed("77")
    page.get_by_text("77 is far from the first reading here, 21.", exact=False).wait_for()
    assert page.locator(".walk h1").inner_text() == label
    push(page, store)
    page.get_by_text("All stored").wait_for()
    assert len({(box["x"], box["y"]) for box in where if box}) == 1, where
    panel = page.locator("#panel").bounding_box()
    assert panel
    assert where[0]
    assert where[0]["y"] + where[0]["height"] <= panel["y"] + panel["height"]
    rows = page.request.get(f"{running.address}api/projects/{job}/readings?visit=v1").json()
    assert [row["raw"] for row in rows["readings"]].count("77") == 1


FLAT = {
    "rooms": [
        {"name": "hall", "rings": [[[0, 0], [6, 0], [6, 2], [2, 2], [2, 7], [0, 7]]]},
        {"name": "bed", "rings": [[[2.1, 2.1], [6, 2.1], [6, 4.5], [2.1, 4.5]]]},
        {"name": "bath", "rings": [[[2.1, 4.6], [6, 4.6], [6, 7], [2.1, 7]]]},
    ],
    "lines": [
        {"kind": "door", "shape": "line", "places": [[3.0, 2.05], [3.9, 2.05]]},
    ],
}
BATH_DOOR = {"kind": "door", "shape": "line", "places": [[2.05, 5.0], [2.05, 5.8]]}


def _put_plan(running: Program, page: Page, job: str, plan: dict[str, Any]) -> None:
    address = f"{running.address}api/projects/{job}/plan"
    revision = page.request.get(address).json()["revision"]
    body = {"plan": plan, "revision": revision, "who": "Ada Marsh"}
    answer = page.request.put(address, data=body, headers={"Origin": running.address[:-1]})
    assert answer.ok, answer.text()


@pytest.mark.parametrize("size", [(1180, 820), (360, 740)])
def test_the_way_goes_through_the_doors_from_the_corner_asked_for(
    running: Program, browser: Browser, size: tuple[int, int]
) -> None:
    """A flat of three rooms, by touch: what is said is what is drawn; a door left out is named."""
    page = open_page(browser, running.address, size=size)
    job = f"Doors {size[0]}"
    at_stored_visit(page, running, job)
    where = page.url
    _put_plan(running, page, job.replace(" ", "%20"), FLAT)
    page.goto(running.address)
    page.goto(where)
    press(page, "Walk the floor")
    page.get_by_text("no door on the way from bed to bath", exact=False).wait_for()

    _put_plan(
        running, page, job.replace(" ", "%20"), {**FLAT, "lines": [*FLAT["lines"], BATH_DOOR]}
    )
    page.goto(running.address)
    with page.expect_response(lambda answer: "/walk?" in answer.url):
        page.goto(where)
        press(page, "Walk the floor")
    page.get_by_text("places, a walk of").wait_for()
    assert page.get_by_text("no door on the way", exact=False).count() == 0
    push(page, page.get_by_text("Start corner and direction"))
    with page.expect_response(lambda answer: "start=top-right" in answer.url) as heard:
        page.get_by_label("Start at").select_option("top-right")
    laid = heard.value.json()
    page.get_by_text(f"a walk of {laid['walk_m']:.2f} m").wait_for()
    legs = [pairwise(leg) for leg in laid["way"]]
    drawn = sum(math.dist(one, other) for leg in legs for one, other in leg)
    assert drawn == pytest.approx(laid["walk_m"])
    assert len(laid["way"]) >= len(laid["stops"]) - 3  # a place read again at once is no leg
    first = laid["stops"][0]
    assert (first["room"], first["x"] > 5, first["y"] > 6) == ("bath", True, True)
    with page.expect_response(lambda answer: "room=bed" in answer.url) as heard:
        page.get_by_label("Where", exact=True).select_option("bed")
    stops = heard.value.json()["stops"]
    assert {one["room"] for one in stops} == {"bed"}
    press(page, "Start walking")
    page.get_by_role("heading", name=f"{stops[0]['label']} · bed").wait_for()


def test_a_walk_begins_at_the_places_of_the_distance_typed(
    running: Program, browser: Browser
) -> None:
    """Started too early it waits until they are laid out; a refused distance starts none."""
    page = open_page(browser, running.address, size=(390, 844))
    job = at_stored_visit(page, running, "Distance typed")
    press(page, "Walk the floor")
    page.get_by_text("places, a walk of").wait_for()
    distance = page.get_by_label("Distance between places")
    distance.fill("40")
    press(page, "Start walking")
    page.get_by_text("“40” is not a distance", exact=False).wait_for()
    assert page.locator("input.big").count() == 0

    held: list[Route] = []
    page.route("**/walk?*", lambda route: held.append(route))
    distance.fill("1.5")
    with page.expect_request("**/walk?*"):
        press(page, "Start walking")
    assert page.locator("input.big").count() == 0
    held[0].continue_()
    page.locator("input.big").wait_for()
    stops = page.request.get(f"{job.api}/walk?spacing=1.5&visit=v1").json()["stops"]
    first = next(one for one in stops if one["label"] == "A1")
    page.get_by_text(f"x {first['x']:.2f} m, y {first['y']:.2f} m", exact=False).wait_for()
