"""The main job in the browser: a plan and readings from files to map, drill plan and report."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page

from .page import Program, begin_job, open_page, press, push, tap_floor, to_task

pytestmark = pytest.mark.browser

PLAN = {
    "type": "FeatureCollection",
    "features": [
        {
            "type": "Feature",
            "properties": {"name": "tasting room"},
            "geometry": {
                "type": "Polygon",
                "coordinates": [[[0, 0], [7, 0], [7, 5], [0, 5], [0, 0]]],
            },
        },
    ],
}


def _scan() -> str:
    rows = ["x;y;reading"]
    for i in range(10):
        for j in range(7):
            x, y = 0.35 + 0.7 * i, 0.35 + 0.7 * j
            wet = 38 * max(0.0, 1 - ((x - 5.4) ** 2 + (y - 1.4) ** 2) / 5)
            rows.append(f"{x:.2f};{y:.2f};{24 + wet + (i * 3 + j * 5) % 4:.1f}".replace(".", ","))
    return "\n".join(rows)


def _photograph() -> bytes:
    buffer = io.BytesIO()
    Image.new("RGB", (80, 60), "grey").save(buffer, "PNG")
    return buffer.getvalue()


def _corrected_is_mapped_at_once(page: Page) -> None:
    """A corrected reading: the quick map says what it is, and the whole map takes its place."""
    to_task(page, "Readings")
    page.get_by_role("heading", name="70 readings so far").wait_for()
    page.evaluate(
        """() => fetch("/api/projects/Quay%209%20ground%20floor/readings/1", {
          method: "PATCH", headers: { "Content-Type": "application/json" },
          body: JSON.stringify({ raw: "44", why: "read again", who: "Ada Marsh" }),
        }).then((answer) => { if (!answer.ok) throw new Error(answer.statusText); })"""
    )
    maps: list[dict[str, Any]] = []
    page.on("response", lambda one: maps.append(one.json()) if "/map?" in one.url else None)
    to_task(page, "Map")
    page.get_by_text("The whole map has taken the place of the quick one.").wait_for()
    assert [one["quick"] for one in maps] == [True, False]
    assert maps[0]["record"] == maps[1]["record"]
    assert page.get_by_text("Quick map up to entry", exact=False).count() == 0
    page.get_by_role("heading", name="How far to trust this map").wait_for()


def test_import_map_drill_plan_and_report(running: Program, browser: Browser) -> None:
    """Each step leads to the next by its own button; the drill plan waits for the cautions."""
    page = open_page(browser, running.address)
    failures: list[str] = []
    page.on("pageerror", lambda error: failures.append(str(error)))
    begin_job(page, "Quay 9, ground floor")
    files = {
        "name": "quay.geojson",
        "mimeType": "application/geo+json",
        "buffer": json.dumps(PLAN).encode(),
    }
    page.get_by_label("Import a file").set_input_files(files)
    page.get_by_text("1 room; other lines: 0.").wait_for()
    press(page, "Use this plan")
    page.get_by_text("Stored.", exact=True).wait_for()

    press(page, "On to the readings")
    press(page, "Start a visit")
    press(page, "Store")
    press(page, "Add a meter")
    page.get_by_label("Name of the meter").fill("meter 1")
    page.get_by_label("Scale to").fill("100")
    press(page, "Store")
    files = {
        "name": "<img onerror=alert(1)>.csv",
        "mimeType": "text/csv",
        "buffer": _scan().encode(),
    }
    page.get_by_label("Import a file").set_input_files(files)
    page.get_by_text("70 readings understood.").wait_for()
    press(page, "Store these readings")
    page.get_by_role("heading", name="70 readings so far").wait_for()

    press(page, "On to the map")
    page.get_by_role("heading", name="Wet zones").wait_for()
    assert page.get_by_text("Relative reading, meter 1").is_visible()
    assert page.locator(".ol-scale-line").is_visible()
    assert "000 mm" not in page.locator(".ol-scale-line").inner_text()
    tap_floor(page, 0.2, 0.62)
    page.get_by_text("90% interval of the map here").wait_for()
    _corrected_is_mapped_at_once(page)

    press(page, "On to the drill plan")
    page.get_by_role("heading", name="Before any drilling").wait_for()
    assert page.get_by_role("button", name="Set-out sheet (CSV)").count() == 0
    holes = page.get_by_role("region", name="Proposed holes")
    assert holes.evaluate("(box) => box.scrollWidth <= box.clientWidth")  # its last column, too
    push(page, page.get_by_role("button", name="H1", exact=True))
    files = {"name": "h1.png", "mimeType": "image/png", "buffer": _photograph()}
    page.get_by_label("Choose a picture").set_input_files(files)
    page.get_by_role("img", name="Hole H1", exact=False).wait_for()
    press(page, "Cancel")
    while page.locator(".cautions").get_by_role("button", name="Confirm").count():
        left = page.locator(".cautions").get_by_role("button", name="Confirm").count()
        push(page, page.locator(".cautions").get_by_role("button", name="Confirm").first)
        page.get_by_label("Document", exact=True).fill("permit 12")
        page.get_by_label("This person has cleared").check()
        push(page, page.locator("dialog").get_by_role("button", name="Confirm"))
        page.wait_for_function(
            "n => document.querySelectorAll('.cautions button').length < n", arg=left
        )
    press(page, "Issue this drill plan")
    page.get_by_text("Plan 1, issued", exact=False).wait_for()
    push(page, page.get_by_role("button", name="H1", exact=True))
    page.get_by_text("H1 is issued: its name and place are settled.", exact=False).wait_for()
    press(page, "Cancel")
    with page.expect_download() as sheet:
        press(page, "Set-out sheet (CSV)")
    assert "Ada Marsh" in Path(sheet.value.path()).read_text(encoding="utf-8-sig")

    push(page, page.get_by_role("link", name="Report"))
    page.get_by_label("Client").fill("Quay 9 Ltd")
    page.get_by_label("Client").press("Tab")
    with page.expect_download() as report:
        press(page, "Write the report")
    assert Path(report.value.path()).read_bytes().startswith(b"%PDF")
    page.wait_for_timeout(300)
    assert failures == []
