"""What is chosen while the program is away is held until it is stored; a room is asked for."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser

from .page import Program, at_stored_visit, open_page, press, push, send, to_task

pytestmark = pytest.mark.browser

ROWS = ["x,y,value", *(f"{0.5 + i / 2},{0.5 + j / 2},{20 + i}" for i in range(8) for j in range(4))]


def test_a_file_that_was_not_stored_yet_is_gone_on_with(
    running: Program, browser: Browser, tmp_path: Path
) -> None:
    """After a reload with the file and what was chosen for it; not once it was given up."""
    page = open_page(browser, running.address, size=(1180, 820))
    at_stored_visit(page, running, "Half way")
    readings = tmp_path / "half.csv"
    readings.write_text("\n".join(ROWS))
    page.get_by_label("Import a file").set_input_files(readings)
    dialog = page.locator("dialog")
    dialog.get_by_text("32 readings understood").wait_for()
    dialog.get_by_label("Units of x and y").select_option("ft")
    dialog.get_by_text("32 readings understood").wait_for()
    readings.unlink()
    page.reload()
    press(page, "Go on with half.csv")
    dialog.get_by_text("32 readings understood").wait_for()
    assert dialog.get_by_label("Units of x and y").input_value() == "ft"
    push(page, dialog.get_by_role("button", name="Cancel"))
    page.get_by_role("button", name="Go on with half.csv").wait_for(state="detached")
    page.reload()
    page.get_by_label("Import a file").wait_for(state="attached")
    assert page.get_by_role("button", name="Go on with half.csv").count() == 0


@pytest.mark.parametrize("refusal", ["throw new Error()", "setTimeout(() => this.onerror())"])
def test_a_browser_that_keeps_no_files_takes_them_all_the_same(
    running: Program, browser: Browser, tmp_path: Path, refusal: str
) -> None:
    """Its store is full or switched off: that is said, and the readings are stored."""
    page = open_page(browser, running.address, size=(1180, 820))
    page.add_init_script(
        f"indexedDB.open = () => ({{ ask() {{ {refusal}; return this }} }}).ask();"
        "IDBFactory.prototype.open = indexedDB.open"
    )
    page.reload()
    at_stored_visit(page, running, f"Nothing kept {len(refusal)}")
    readings = tmp_path / "half.csv"
    readings.write_text("\n".join(ROWS))
    page.get_by_label("Import a file").set_input_files(readings)
    dialog = page.locator("dialog")
    dialog.get_by_text("32 readings understood").wait_for()
    page.get_by_text("does not keep half.csv over a reload").first.wait_for()
    push(page, dialog.get_by_role("button", name="Store"))
    dialog.wait_for(state="detached")
    assert page.get_by_role("button", name="Go on with half.csv").count() == 0
    page.get_by_text("32 readings").first.wait_for()


def test_a_file_and_a_photograph_chosen_offline_are_not_lost(
    running: Program, browser: Browser, tmp_path: Path
) -> None:
    """They wait on the device, also past a reload; a file that comes twice is told."""
    page = open_page(browser, running.address, size=(1180, 820))
    job = f"{running.address}api/projects/Offline"
    at_stored_visit(page, running, "Offline")
    readings = tmp_path / "readings.csv"
    readings.write_text("\n".join(ROWS))
    page.get_by_label("Import a file").set_input_files(readings)
    dialog = page.locator("dialog")
    dialog.get_by_text("32 readings understood").wait_for()
    page.evaluate("navigator.serviceWorker.ready")
    page.wait_for_function("caches.keys().then((names) => names.length > 0)")
    page.context.set_offline(True)
    push(page, dialog.get_by_role("button", name="Store these readings"))
    page.get_by_text("readings.csv is kept on this device", exact=False).wait_for()
    page.get_by_text("1 waiting to be stored", exact=False).wait_for()
    readings.unlink()  # what was chosen need not be there any more
    page.reload()
    page.get_by_text("1 waiting to be stored", exact=False).wait_for()
    page.context.set_offline(False)
    page.get_by_text("All stored").wait_for()
    assert len(page.request.get(f"{job}/readings?visit=v1").json()["readings"]) == 32
    page.reload()
    page.get_by_role("heading", name="Readings", exact=True).wait_for()
    readings.write_text("\n".join(ROWS))
    stored = page.request.get(f"{job}/readings?visit=v1").json()["readings"]
    assert len(stored) == 32

    page.get_by_label("Import a file").set_input_files(readings)
    dialog.get_by_text("32 of these readings are in this visit already", exact=False).wait_for()
    push(page, dialog.get_by_role("button", name="Cancel"))

    to_task(page, "Report")
    picture = tmp_path / "hall.png"
    Image.new("RGB", (40, 30), "white").save(picture)
    page.get_by_label("Add a picture or PDF").wait_for(state="attached")
    page.context.set_offline(True)
    page.get_by_label("Add a picture or PDF").set_input_files(picture)
    page.get_by_text("hall.png is kept on this device", exact=False).wait_for()
    page.context.set_offline(False)  # it goes by itself now
    page.get_by_text("The picture is kept.").wait_for()
    assert len(page.request.get(f"{job}/photos").json()["photos"]) == 1

    page.goto(f"{running.address}#/Offline/plan")
    push(page, page.get_by_role("button", name="hall").first)
    push(page, page.get_by_role("button", name="Remove this room"))
    dialog.get_by_text("The job holds 32 readings", exact=False).wait_for()
    press(page, "Cancel")
    assert len(page.request.get(f"{job}/plan").json()["plan"]["rooms"]) == 1


def test_a_line_of_the_report_is_kept_when_the_browser_goes_back_from_it(
    running: Program, browser: Browser
) -> None:
    """The field still has the focus: nobody tapped anything else before the page was left."""
    page = open_page(browser, running.address, size=(390, 844))
    job = at_stored_visit(page, running, "Typed and left")
    rows = [{"x": 1 + i / 2, "y": 1, "raw": str(20 + i)} for i in range(4)]
    stored = {"visit": "v1", "instrument": "meter 1", "readings": rows}
    send(page, job, f"/{job.name}/readings", stored)
    page.reload()
    failures: list[str] = []
    page.on("pageerror", lambda error: failures.append(str(error)))
    page.get_by_role("heading", name="4 readings so far").wait_for()
    to_task(page, "Report")
    page.get_by_label("Client").fill("Reed boat house")
    page.go_back()
    page.get_by_role("heading", name="4 readings so far").wait_for()
    page.go_forward()
    page.get_by_label("Client").wait_for()
    assert page.get_by_label("Client").input_value() == "Reed boat house"
    assert failures == []
