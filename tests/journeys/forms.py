"""Every form of the front end, opened as somebody gets there."""

from __future__ import annotations

import io
import json
import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import Page, Route

from .page import drag_floor, floor_at, press, push, type_room

SOURCE = Path(__file__).parents[2] / "moisturemap/web/frontend/src"
HALL = [("4", "To the right"), ("3", "Up"), ("4", "To the left")]
LOGGER = "time,RH %\n2026-05-18 08:00,88\n2026-05-18 10:00,87\n"
_WHO = {"who": "Ada Marsh"}

Opener = Callable[[Page, str], None]
"""Opens one form of a job, given the address of the program."""
OPENERS: list[tuple[str, Opener]] = []
"""Module of the front end that shows a form, and what opens it; one for each form."""


def forms_in_source() -> Counter[str]:
    """How many forms each module of the front end shows."""
    found = {
        one.stem: len(re.findall(r"(?<![\w.\"])dialog\(", one.read_text("utf-8")))
        for one in SOURCE.glob("*.ts")
        if one.stem != "dialog"
    }
    return Counter({name: count for name, count in found.items() if count})


def _opens(module: str) -> Callable[[Opener], Opener]:
    def keep(opener: Opener) -> Opener:
        OPENERS.append((module, opener))
        return opener

    return keep


def open_task(page: Page, address: str, task: str, *buttons: str, job: str = "flat") -> None:
    """Open a task as on a device that knows its user and nothing begun, and press on."""
    page.evaluate("""() => {
      for (const key of Object.keys(localStorage)) localStorage.removeItem(key);
      localStorage.setItem("moisturemap:who", '"Ada Marsh"');
    }""")
    page.goto(f"{address}#/{job}/{task}")
    page.reload()
    page.locator(".panel h1").first.wait_for()
    page.locator(".panel progress").wait_for(state="detached")
    for name in buttons:
        press(page, name)


def _pressed(module: str, task: str, *buttons: str) -> None:
    def opener(page: Page, address: str) -> None:
        open_task(page, address, task, *buttons)

    opener.__name__ = f"_{task}_{buttons[-1]}"
    OPENERS.append((module, opener))


_pressed("visit_form", "readings", "Change the visit")
_pressed("meter_form", "readings", "Add a meter")
_pressed("things", "map", "Mark one yourself")
_pressed("main", "map", "As tables")
_pressed("hole_forms", "drill", "Want a hole at …")
_pressed("drill_issue", "drill", "Confirm")
_pressed("machine_form", "drying", "Add a machine")
_pressed("logs_panel", "drying", "Take H1 out")
_pressed("limits", "tests", "Set a limit")
_pressed("instruments", "tests", "Add an instrument")
_pressed("instruments", "tests", "Record a check")
_pressed("outbox_list", "map", "All stored")
_pressed("room_removal", "plan", "kitchen", "Remove this room")


def _first_row(page: Page) -> None:
    push(page, page.locator(".panel tbody button").first)


@_opens("who")
def _who_works(page: Page, address: str) -> None:
    open_task(page, address, "readings")
    page.evaluate("localStorage.removeItem('moisturemap:who')")
    _first_row(page)


@_opens("reading_form")
def _a_reading(page: Page, address: str) -> None:
    open_task(page, address, "readings")
    _first_row(page)


@_opens("hole_forms")
def _a_proposed_hole(page: Page, address: str) -> None:
    open_task(page, address, "drill")
    _first_row(page)


@_opens("hole_forms")
def _an_issued_hole(page: Page, address: str) -> None:
    open_task(page, address, "drill", job="Issued")
    _first_row(page)


@_opens("hole_forms")
def _a_hole_let_go_elsewhere(page: Page, address: str) -> None:
    open_task(page, address, "drill")
    hole = page.request.get(f"{address}api/projects/flat/drill").json()["holes"][0]
    place = (hole["x"], hole["y"])
    drag_floor(page, place, (place[0] + 0.3, place[1] + 0.3))


@_opens("things")
def _a_thing_found(page: Page, address: str) -> None:
    open_task(page, address, "map", job="bakery")
    push(page, page.locator(".panel .list.tall button.link").first)


@_opens("things")
def _a_thing_marked(page: Page, address: str) -> None:
    open_task(page, address, "map", "Mark one yourself", "Spot (metal, fixing)")
    page.touchscreen.tap(*floor_at(page, 2.0, 2.0))


@_opens("doubts")
def _another_unit(page: Page, address: str) -> None:
    open_task(page, address, "readings", "Change the visit")
    page.get_by_label("Surface of the slab", exact=True).fill("64")
    press(page, "Store")
    page.get_by_role("button", name="as typed", exact=False).wait_for()


@_opens("instruments")
def _a_check_taken_out(page: Page, address: str) -> None:
    open_task(page, address, "tests")
    push(page, page.get_by_role("table", name="Checks of probe 4").locator("tbody button").first)


@_opens("ask_why")
def _a_test_taken_out(page: Page, address: str) -> None:
    open_task(page, address, "tests", "T1", "Take out")


@_opens("walk")
def _several_numbers(page: Page, address: str) -> None:
    open_task(page, address, "readings", "Walk the floor")
    page.get_by_text("places, a walk of").wait_for()
    press(page, "Start walking")
    page.locator("input.big").evaluate("""(field) => {
      const held = new DataTransfer();
      held.setData("text", "21\\n22,5\\n23");
      field.dispatchEvent(new ClipboardEvent("paste", { clipboardData: held, bubbles: true,
        cancelable: true }));
    }""")


def _file(page: Page, label: str, name: str, content: bytes) -> None:
    files = {"name": name, "mimeType": "application/octet-stream", "buffer": content}
    page.get_by_label(label).set_input_files(files)


@_opens("plan_import")
def _a_plan_from_a_file(page: Page, address: str) -> None:
    open_task(page, address, "plan")
    ring = [[0, 0], [7, 0], [7, 5], [0, 5], [0, 0]]
    room = {
        "type": "Feature",
        "properties": {"name": "hall"},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }
    plan = {"type": "FeatureCollection", "features": [room]}
    _file(page, "Import a file", "plan.geojson", json.dumps(plan).encode())
    page.locator("dialog").get_by_text("other lines", exact=False).wait_for()


@_opens("readings_import")
def _readings_from_a_file(page: Page, address: str) -> None:
    open_task(page, address, "readings")
    _file(page, "Import a file", "scan.csv", b"x;y;reading\n1,0;1,0;22\n1,5;1,0;31\n")
    page.locator("dialog").get_by_text("2 readings understood.").wait_for()


@_opens("log_import")
def _a_logger(page: Page, address: str) -> None:
    open_task(page, address, "drying")
    _file(page, "Add a logger file", "slab.csv", LOGGER.encode())
    page.locator("dialog").get_by_text("2 entries from").wait_for()


@_opens("page_choice")
def _a_page_of_a_document(page: Page, address: str) -> None:
    open_task(page, address, "plan")
    buffer = io.BytesIO()
    sheets = [Image.new("RGB", (300, 200), "white") for _ in range(2)]
    sheets[0].save(buffer, "PDF", save_all=True, append_images=sheets[1:])
    _file(page, "Trace a photo or PDF", "sheet.pdf", buffer.getvalue())
    page.get_by_role("img", name="Page 1 of 2").wait_for()


@_opens("photos")
def _a_file_that_is_no_picture(page: Page, address: str) -> None:
    open_task(page, address, "report")
    _file(page, "Add a picture or PDF", "hall.png", b"no picture")


def refuse_pictures(page: Page) -> None:
    """Have the program refuse pictures for now, as it does while another one writes."""

    def answer(route: Route) -> None:
        if route.request.method != "POST":
            route.fallback()
            return
        route.fulfill(status=409, json={"message": "another program writes into the project"})

    page.route(re.compile(r"/photos$"), answer)


@_opens("insist")
def _a_picture_the_program_refuses(page: Page, address: str) -> None:
    open_task(page, address, "report")
    refuse_pictures(page)
    _file(page, "Add a picture or PDF", "hall.png", b"any")


@_opens("insist")
def _a_picture_thrown_away(page: Page, address: str) -> None:
    _a_picture_the_program_refuses(page, address)
    page.locator("dialog").wait_for()
    page.keyboard.press("Escape")


def _told(page: Page, pattern: str, change: Callable[[Any], Any]) -> None:
    """Let the program answer otherwise once, as it would after a change from outside."""

    def answer(route: Route) -> None:
        route.fulfill(json=change(route.fetch().json()))

    page.route(re.compile(pattern), answer)


@_opens("connection")
def _a_job_only_to_look_at(page: Page, address: str) -> None:
    _told(page, r"/api/projects/flat$", lambda job: {**job, "read_only": True})
    open_task(page, address, "map")


@_opens("agreement")
def _data_not_as_recorded(page: Page, address: str) -> None:
    said = [f"reading {n}: its value is not that of the record" for n in range(30)]
    _told(page, r"/flat/faults$", lambda _: {"faults": said})
    open_task(page, address, "map")


@_opens("plan_page")
def _a_corner_that_crosses_a_wall(page: Page, address: str) -> None:
    open_task(page, address, "plan", "hall", job="Drawn")
    drag_floor(page, (0.0, 3.0), (2.0, -1.5))


@_opens("wall_list")
def _a_shared_wall(page: Page, address: str) -> None:
    open_task(page, address, "plan", "hall", job="Drawn")
    page.get_by_label("Wall 1", exact=True).fill("4.35")
    page.get_by_label("Wall 1", exact=True).press("Enter")


@_opens("wall_list")
def _a_wall_of_a_room_with_issued_holes(page: Page, address: str) -> None:
    open_task(page, address, "plan", "living room", job="Issued")
    page.get_by_label("Wall 1", exact=True).fill("4.8")
    page.get_by_label("Wall 1", exact=True).press("Enter")


@_opens("set_out_changes")
def _a_corner_of_a_room_with_issued_holes(page: Page, address: str) -> None:
    open_task(page, address, "plan", "living room", job="Issued")
    page.get_by_text("Corners and cut-outs").click()
    corner = page.get_by_label("x of corner 2", exact=True).first
    corner.fill("0.2")
    corner.press("Enter")


@_opens("backdrop_scale")
def _rooms_drawn_before_the_scale(page: Page, address: str) -> None:
    open_task(page, address, "plan", job="Drawn")
    if page.get_by_label("Trace a photo or PDF").count():
        buffer = io.BytesIO()
        Image.new("RGB", (600, 400), "grey").save(buffer, "PNG")
        _file(page, "Trace a photo or PDF", "sheet.png", buffer.getvalue())
    press(page, "Set scale")
    for x in (1.0, 3.0):
        page.touchscreen.tap(*floor_at(page, x, 1.0))
        page.wait_for_timeout(350)  # two taps closer than this are a double tap
    page.get_by_label("True length between the points").fill("3")
    page.get_by_label("True length between the points").press("Enter")


def _send(page: Page, address: str, rest: str, body: dict[str, Any], method: str = "post") -> Any:
    answer = page.request.fetch(
        f"{address}api/projects/{rest}".rstrip("/"),
        method=method,
        data={**body, **_WHO},
        headers={"Origin": address[:-1]},
    )
    assert answer.ok, answer.text()
    return answer.json()


def fill_jobs(page: Page, address: str) -> None:
    """Give the flat what its forms are about, and make a drawn job; one more is issued."""
    probe = {"id": "probe 4", "kind": "rh-probe", "serial": "0417", "certificate": "C-2291"}
    check = {"when": "2026-05-18T08:00:00Z", "reference": "NaCl", "read": 75.4}
    fields = {"hole": "T1", "method": "in-situ-rh", "value": 81.0, "unit": "%RH", "x": 2, "y": 2}
    for job in ("flat", "Issued"):
        _send(page, address, f"{job}/instruments", probe)
    _send(page, address, "flat/instruments/probe%204/checks", {**check, "temperature_c": 20})
    _send(page, address, "flat/tests", {"visit": "v1", "fields": fields})
    kept = page.request.post(
        f"{address}api/projects/flat/logs/logger",
        multipart={
            "file": {"name": "h.csv", "mimeType": "text/csv", "buffer": LOGGER.encode()},
            "id": "H1",
            "place": "hole",
            **dict.fromkeys(("x", "y"), "2"),
            "depth_mm": "30",
            "zone": "UTC",
            **_WHO,
        },
        headers={"Origin": address[:-1]},
    )
    assert kept.ok, kept.text()
    # measured from the walls that the forms of a changed wall and corner move
    wish = {"verdict": "pinned", "x": 0.6, "y": 4.3, "why": "by the door"}
    _send(page, address, "Issued/holes", wish)
    cautions = page.request.get(f"{address}api/projects/Issued/drill").json()["cautions"]
    for one in cautions:
        body = {"caution": one["key"], "by": "B. Stone", "on": "2026-05-19"}
        _send(page, address, "Issued/cautions", {**body, "document": "permit 12"})
    _send(page, address, "Issued/drill/issue", {})
    _send(page, address, "", {"name": "Drawn"})
    page.goto(f"{address}#/Drawn/plan")
    page.get_by_role("heading", name="Plan", exact=True).wait_for()
    type_room(page, "hall", HALL)
    rings = [[[4, 0], [6, 0], [6, 3], [4, 3]]]
    now = page.request.get(f"{address}api/projects/Drawn/plan").json()
    rooms = [*now["plan"]["rooms"], {"name": "store", "rings": rings}]
    plan = {"plan": {"rooms": rooms, "lines": []}, "revision": now["revision"]}
    _send(page, address, "Drawn/plan", plan, "put")
