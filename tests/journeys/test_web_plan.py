"""The plan page: a picture traced over is kept and true to scale, and walls obey what is typed."""

from __future__ import annotations

import io
import itertools
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageDraw
from playwright.sync_api import Browser, Page

from .page import (
    Program,
    begin_job,
    demo_job,
    drag_floor,
    floor_at,
    open_page,
    press,
    push,
    type_room,
)

pytestmark = pytest.mark.browser

_NUMBER = itertools.count(1)
WALL_PX = 1000.0
"""Length of the lower wall in the picture [pixels]."""


def _sheet(turn: float = 0.0) -> bytes:
    """A sheet with one room of 1000 x 600 pixels, its lower left corner at (100, 700)."""
    picture = Image.new("RGB", (1200, 800), "white")
    ImageDraw.Draw(picture).rectangle([100, 100, 1100, 700], outline="black", width=6)
    buffer = io.BytesIO()
    picture.rotate(turn, fillcolor="white").save(buffer, "JPEG", quality=90)
    return buffer.getvalue()


def _bring(page: Page, content: bytes, name: str = "sheet.jpg") -> None:
    files = {"name": name, "mimeType": "image/jpeg", "buffer": content}
    page.get_by_label("Trace a photo or PDF").set_input_files(files)
    page.get_by_role("heading", name="Picture to trace over").wait_for()
    page.get_by_text("Stored.", exact=True).wait_for()


def _backdrop(running: Program, page: Page, job: str) -> dict[str, Any] | None:
    answer = page.request.get(f"{running.address}api/projects/{job}/backdrop").json()
    found: dict[str, Any] | None = answer["backdrop"]
    return found


def _on_floor(backdrop: dict[str, Any], u: float, v: float) -> tuple[float, float]:
    x0, y0, a, b = backdrop["placed"]
    return x0 + a * u + b * v, y0 + b * u - a * v


def _mark(page: Page, *places: tuple[float, float], touch: bool) -> None:
    for place in places:
        x, y = floor_at(page, *place)
        if touch:
            page.touchscreen.tap(x, y)
        else:
            page.mouse.click(x, y)
        page.wait_for_timeout(350)  # two taps closer than this are a double tap


def _new_job(browser: Browser, running: Program, touch: bool) -> tuple[Page, str]:
    page = open_page(browser, running.address, tablet=touch)
    job = f"Mill {next(_NUMBER)}"
    begin_job(page, job)
    return page, job


def _job_name(job: str) -> str:
    return job.replace(" ", "%20")


@pytest.mark.parametrize("touch", [True, False], ids=["finger", "mouse"])
def test_a_picture_is_scaled_kept_and_taken_away(
    running: Program, browser: Browser, touch: bool
) -> None:
    """Two points and a length; another browser shows the same; undo brings it back."""
    page, job = _new_job(browser, running, touch)
    _bring(page, _sheet())
    before = _backdrop(running, page, job)
    assert before is not None
    press(page, "Set scale")
    _mark(page, _on_floor(before, 100, 700), _on_floor(before, 1100, 700), touch=touch)
    page.get_by_label("True length between the points").fill("8,40")
    page.get_by_label("True length between the points").press("Enter")
    page.get_by_text("Scale set: the picture is").wait_for()
    page.get_by_text("Stored.", exact=True).wait_for()
    scaled = _backdrop(running, page, job)
    assert scaled is not None
    corners = [_on_floor(scaled, u, 700) for u in (100, 1100)]
    assert corners[1][0] - corners[0][0] == pytest.approx(8.4, rel=0.006)
    other = open_page(browser, f"{running.address}#/{_job_name(job)}/plan")
    other.get_by_text("Scale set: the picture is").wait_for()
    assert _backdrop(running, other, job) == scaled
    other.context.close()
    press(page, "Remove the picture")
    page.get_by_text("Stored.", exact=True).wait_for()
    assert _backdrop(running, page, job) is None
    press(page, "Undo")
    page.get_by_text("Scale set: the picture is").wait_for()
    page.get_by_text("Stored.", exact=True).wait_for()
    assert _backdrop(running, page, job) == scaled


def test_a_turned_picture_is_made_level_by_a_wall(running: Program, browser: Browser) -> None:
    """Two points of a wall that should run level; quarter turns and a typed turn besides."""
    page, job = _new_job(browser, running, touch=True)
    _bring(page, _sheet(turn=4.0))
    before = _backdrop(running, page, job)
    assert before is not None
    turn = np.radians(-4.0)
    cos, sin = np.cos(turn), np.sin(turn)
    ends = [
        (600 + cos * (u - 600) - sin * (v - 400), 400 + sin * (u - 600) + cos * (v - 400))
        for u, v in ((100, 700), (1100, 700))
    ]
    push(page, page.get_by_text("Turn and straighten"))
    press(page, "Level by a wall")
    _mark(page, *(_on_floor(before, *end) for end in ends), touch=True)
    press(page, "Turn the picture")
    page.get_by_text("Stored.", exact=True).wait_for()
    level = _backdrop(running, page, job)
    assert level is not None
    (_, low), (_, high) = (_on_floor(level, *end) for end in ends)
    assert high - low == pytest.approx(0.0, abs=0.1)
    push(page, page.get_by_text("Turn and straighten"))
    press(page, "↺ 90°")
    page.get_by_text("Stored.", exact=True).wait_for()
    push(page, page.get_by_text("Turn and straighten"))
    turned = float(page.get_by_label("Turned by").input_value())
    assert turned == pytest.approx(90 - 4, abs=0.7)


def test_a_slanted_picture_is_seen_from_above(running: Program, browser: Browser) -> None:
    """Four corners of a rectangle and two sides set straight and to scale at once."""
    page, job = _new_job(browser, running, touch=False)
    camera = np.array([[0.8, 0.15, 60.0], [0.0, 0.7, 60.0], [0.0, 0.0004, 1.0]])
    back = np.linalg.inv(camera)
    back /= back[2, 2]
    flat = Image.open(io.BytesIO(_sheet()))
    slanted = flat.transform(
        (900, 520), Image.Transform.PERSPECTIVE, tuple(back.ravel()[:8]), fillcolor="white"
    )
    buffer = io.BytesIO()
    slanted.save(buffer, "PNG")
    _bring(page, buffer.getvalue(), "sheet.png")
    before = _backdrop(running, page, job)
    assert before is not None
    shot = []
    for corner in ((100, 700), (1100, 700), (1100, 100), (100, 100)):
        u, v, w = camera @ np.array([*corner, 1.0])
        shot.append((u / w, v / w))
    push(page, page.get_by_text("Turn and straighten"))
    press(page, "Taken at a slant")
    _mark(page, *(_on_floor(before, *one) for one in shot), touch=False)
    page.get_by_label("Length from corner 1 to corner 2").fill("10")
    page.get_by_label("Length from corner 2 to corner 3").fill("6 m")
    press(page, "See it from above")
    page.get_by_text("Scale set: the picture is").wait_for()
    page.get_by_text("Stored.", exact=True).wait_for()
    kept = _backdrop(running, page, job)
    assert kept is not None
    assert kept["rectangle"]["sides"] == [10, 6]
    assert np.array(kept["rectangle"]["corners"]) == pytest.approx(np.array(shot), abs=2.5)


def _rings(running: Program, page: Page, job: str) -> dict[str, Any]:
    plan = page.request.get(f"{running.address}api/projects/{job}/plan").json()["plan"]
    return {room["name"]: room["rings"][0] for room in plan["rooms"]}


HALL = [("4", "To the right"), ("3", "Up"), ("4", "To the left")]


def test_a_typed_length_moves_the_shared_wall(running: Program, browser: Browser) -> None:
    """The room on the other side is named; it gives way or is pushed along; undo brings back."""
    page, job = _new_job(browser, running, touch=False)
    type_room(page, "hall", HALL)
    press(page, "Draw a room")
    push(page, page.get_by_text("Corner by coordinates"))
    page.get_by_label("x", exact=True).fill("4")
    page.get_by_label("y", exact=True).fill("0")
    press(page, "Add")
    for length, direction in (("2", "To the right"), ("3", "Up"), ("2", "To the left")):
        page.get_by_label("Length", exact=True).fill(length)
        press(page, direction)
    press(page, "Close the outline")
    press(page, "Done")
    page.get_by_text("Stored.", exact=True).wait_for()
    drawn = _rings(running, page, job)
    for choice, far in (("Move the shared wall", 6.0), ("Push the rest along", 6.35)):
        push(page, page.get_by_role("button", name="hall", exact=True))
        page.get_by_label("Wall 1", exact=True).fill("4.35")
        page.get_by_label("Wall 1", exact=True).press("Enter")
        press(page, choice)
        press(page, "Done")
        page.get_by_text("Stored.", exact=True).wait_for()
        rings = _rings(running, page, job)
        assert max(x for x, _ in rings["hall"]) == pytest.approx(4.35)
        assert min(x for x, _ in rings["Room 2"]) == pytest.approx(4.35)
        assert max(x for x, _ in rings["Room 2"]) == pytest.approx(far)
        press(page, "Undo")
        page.get_by_text("Stored.", exact=True).wait_for()
        assert _rings(running, page, job) == drawn


def _read_far_room(running: Program, page: Page, job: str) -> str:
    """Store a visit, a meter and two readings, one in each room; return the address of the job."""
    base = f"{running.address}api/projects/{job}"
    headers = {"Origin": running.address[:-1]}
    visit = {"id": "v1", "started": "2026-03-02T08:00:00Z", "who": "Ada Marsh"}
    meter = {"id": "m 1", "scale": [0, 100], "who": "Ada Marsh"}
    places = [{"x": 1.0, "y": 1.0, "raw": "30"}, {"x": 5.0, "y": 1.0, "raw": "60"}]
    read = {"visit": "v1", "instrument": "m 1", "readings": places, "who": "Ada Marsh"}
    for path, body in (("visits", visit), ("instruments", meter), ("readings", read)):
        assert page.request.post(f"{base}/{path}", data=body, headers=headers).ok
    return base


def test_a_push_takes_along_what_was_placed_beyond(running: Program, browser: Browser) -> None:
    """The dialog counts it first; readings move with their room and come back by undo."""
    page, job = _new_job(browser, running, touch=False)
    type_room(page, "hall", HALL)
    plan = page.request.get(f"{running.address}api/projects/{job}/plan").json()
    bath = {"name": "bath", "rings": [[[4, 0], [6, 0], [6, 3], [4, 3]]]}
    rooms = [*plan["plan"]["rooms"], bath]
    body = {"plan": {"rooms": rooms}, "revision": plan["revision"], "who": "Ada Marsh"}
    put = page.request.put(
        f"{running.address}api/projects/{job}/plan",
        data=body,
        headers={"Origin": running.address[:-1]},
    )
    assert put.ok, put.text()
    base = _read_far_room(running, page, job)
    page.reload()

    def places() -> list[float]:
        found = page.request.get(f"{base}/readings?visit=v1").json()["readings"]
        return [one["x"] for one in found]

    push(page, page.get_by_role("button", name="hall", exact=True))
    page.get_by_label("Wall 1", exact=True).fill("4.35")
    page.get_by_label("Wall 1", exact=True).press("Enter")
    page.get_by_text("Beyond the wall lie readings (1).", exact=False).wait_for()
    press(page, "Push the rest along, with all that was placed there")
    press(page, "Done")
    page.get_by_text("Stored.", exact=True).wait_for()
    assert places() == [1.0, 5.35]
    press(page, "Undo")
    page.get_by_text("Stored.", exact=True).wait_for()
    assert places() == [1.0, 5.0]
    assert max(x for x, _ in _rings(running, page, job)["bath"]) == pytest.approx(6.0)


def test_corners_are_dragged_added_and_removed(running: Program, browser: Browser) -> None:
    """A dragged corner snaps square; a wall dragged makes a corner; a tapped corner is removed."""
    page, job = _new_job(browser, running, touch=False)
    type_room(page, "hall", HALL)
    push(page, page.get_by_role("button", name="hall", exact=True))
    drag_floor(page, (2.0, 3.0), (2.0, 4.0))
    page.get_by_label("Wall 5", exact=True).wait_for()
    page.wait_for_timeout(400)
    x, y = floor_at(page, 2.0, 4.0)
    page.mouse.click(x, y)
    press(page, "Remove this corner")
    page.get_by_label("Wall 5", exact=True).wait_for(state="detached")
    page.wait_for_timeout(400)
    drag_floor(page, (0.0, 3.0), (-3.0, 0.9))
    press(page, "Undo")
    drag_floor(page, (0.0, 3.0), (2.0, -2.0))
    page.get_by_text("cross", exact=False).first.wait_for()
    press(page, "Close")
    press(page, "Done")
    page.get_by_text("Stored.", exact=True).wait_for()
    assert sorted(map(tuple, _rings(running, page, job)["hall"])) == [
        (0, 0),
        (0, 3),
        (4, 0),
        (4, 3),
    ]


def test_a_dragged_corner_tells_what_it_does_to_issued_holes(
    running: Program, browser: Browser
) -> None:
    """By name, with the distances on the sheet and those after; Cancel leaves the plan alone."""
    from moisturemap.store import edits, open_project
    from moisturemap.store.survey_rows import setting
    from moisturemap.survey import IssuedHole

    job = demo_job(running, "flat", "flat_with_a_hole")
    with open_project(running.folder / f"{job.name}.gpkg", writable=True) as project:
        room = project.survey().plan.rooms[0]
        west, south, _, _ = room.polygon.bounds
        x, y = west + 0.8, south + 0.9  # set out from the walls that meet there
        hole = IssuedHole(hole="H1", room=room.name, x=x, y=y, depth_mm=20.0)
        with project.change("Ada Marsh", "drill plan 1 issued") as made:
            edits.write_setting(made, setting("issued_holes", (hole,)))
    page = open_page(browser, f"{job.page}/plan")
    push(page, page.get_by_role("button", name=room.name, exact=True).first)
    page.wait_for_timeout(500)
    before = _rings(running, page, job.name)[room.name]
    drag_floor(page, (west, south), (west - 0.5, south - 0.5))
    dialog = page.locator("dialog")
    dialog.get_by_text("H1:", exact=False).wait_for()
    assert " on the sheet, then " in dialog.inner_text()
    press(page, "Cancel")
    page.wait_for_timeout(700)
    assert _rings(running, page, job.name)[room.name] == before
    drag_floor(page, (west, south), (west - 0.5, south - 0.5))
    dialog.get_by_text("H1:", exact=False).wait_for()
    press(page, "Change the wall")
    page.get_by_text("Stored.", exact=True).wait_for()
    assert _rings(running, page, job.name)[room.name] != before


@pytest.mark.parametrize("touch", [True, False], ids=["finger", "mouse"])
def test_a_press_right_after_typing_counts(running: Program, browser: Browser, touch: bool) -> None:
    """One press of Done after a typed name, and one of Undo, though the form is drawn anew."""
    page, job = _new_job(browser, running, touch)
    type_room(page, "hall", [("4.5", "To the right"), ("3", "Up"), ("4.5", "To the left")])
    press(page, "hall")
    page.get_by_label("Name of the room").fill("long hall")
    press(page, "Done")
    page.get_by_role("heading", name="Plan", exact=True).wait_for(timeout=5000)
    page.get_by_text("Stored.", exact=True).wait_for()
    assert list(_rings(running, page, job)) == ["long hall"]
    press(page, "long hall")
    page.get_by_label("Name of the room").fill("short hall")
    press(page, "Undo")
    page.get_by_role("heading", name="long hall", exact=True).wait_for(timeout=5000)
    press(page, "Redo")
    page.get_by_role("heading", name="short hall", exact=True).wait_for(timeout=5000)
