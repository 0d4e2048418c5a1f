"""The whole job by thumb: from an empty folder to an issued report with an earned verdict."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from playwright.sync_api import Browser, Page, expect

from .overlaps import faults_of
from .page import Program, begin_job, begin_visit, open_page, press, push, to_task, type_room

pytestmark = pytest.mark.browser

NOW = datetime.now(UTC)
STUDIO = [("6.4", "To the right"), ("4.8", "Up"), ("6.4", "To the left")]


def _clock(days: float) -> str:
    return (NOW - timedelta(days=days)).strftime("%Y-%m-%dT%H:%M")


def _scan() -> str:
    rows = ["x;y;reading"]
    for i in range(10):
        for j in range(8):
            x, y = 0.32 + 0.64 * i, 0.3 + 0.6 * j
            damp = 9 * max(0.0, 1 - ((x - 4.6) ** 2 + (y - 1.5) ** 2) / 6)
            rows.append(f"{x:.2f};{y:.2f};{22 + damp + (i * 3 + j * 5) % 3:.1f}".replace(".", ","))
    return "\n".join(rows)


def _build_up(page: Page) -> None:
    press(page, "studio")
    page.get_by_label("Base", exact=True).select_option("concrete slab")
    page.get_by_label("Thickness", exact=False).first.fill("150")
    page.get_by_label("Thickness", exact=False).first.press("Tab")
    page.get_by_label("Lies on").select_option("suspended")
    press(page, "Done")
    page.get_by_text("Stored.", exact=True).wait_for()


def _clear_cautions(page: Page) -> None:
    buttons = page.locator(".cautions").get_by_role("button", name="Confirm")
    while left := buttons.count():
        push(page, buttons.first)
        page.get_by_label("Document", exact=True).fill("permit 31")
        page.get_by_label("This person has cleared").check()
        push(page, page.locator("dialog").get_by_role("button", name="Confirm"))
        page.wait_for_function(
            "n => document.querySelectorAll('.cautions button').length < n", arg=left
        )


def _probe(page: Page) -> None:
    """An instrument with its certificate, checked over two salts before and after the tests."""
    press(page, "Add an instrument")
    for label, text in (
        ("Name of the meter", "probe 4"),
        ("Serial", "0417"),
        ("Certificate", "C-2291"),
        ("Calibrated on", (NOW - timedelta(days=90)).strftime("%Y-%m-%d")),
        ("Expanded uncertainty", "1.5"),
    ):
        page.locator("dialog").get_by_label(label, exact=False).first.fill(text)
    push(page, page.locator("dialog").get_by_role("button", name="Store"))
    card = page.locator(".card.slim", has_text="probe 4")
    for count, (days, salt, read) in enumerate(
        ((4, "NaCl", "75.7"), (4, "KCl", "85.4"), (1, "NaCl", "75.8"), (1, "KCl", "85.3")), 1
    ):
        push(page, card.get_by_role("button", name="Record a check"))
        dialog = page.locator("dialog")
        dialog.get_by_label("Reference").select_option(salt)
        dialog.get_by_label("When").fill(_clock(days))
        dialog.get_by_label("Read", exact=True).fill(read)
        dialog.get_by_label("Temperature").fill("20")
        push(page, dialog.get_by_role("button", name="Store"))
        expect(card.locator("tbody tr")).to_have_count(count)


def _test(page: Page, hole: str, value: str) -> None:
    press(page, "Enter a test")
    expect(page.locator(".legend .steps").first).to_be_attached()  # the map is there meanwhile
    expect(page.locator(".legend li", has_text="issued hole")).to_be_attached()
    page.get_by_label("Hole of the drill plan").select_option(hole)
    push(page, page.get_by_text("More about this test"))
    for label, text in (
        ("Result", value),
        ("Drilled at", _clock(6)),
        ("Lined and sealed at", _clock(5.95)),
        ("Placed at", _clock(5.9)),
        ("Read at", _clock(2)),
        ("Temperature in the hole or sample", "20.1"),
        ("Slab surface", "20.2"),
        ("Air temperature", "21"),
        ("Air humidity", "48"),
        ("Drift", "0.4"),
        ("Conditioned hours", "96"),
        ("Edition", "ASTM F2170-19a"),
    ):
        page.get_by_label(label, exact=True).fill(text)
    page.get_by_label("Service conditions").check()
    page.get_by_label("Instrument", exact=True).select_option("probe 4")
    page.get_by_text("Valid as typed, by the rules of its method.").wait_for()
    press(page, "Store")
    page.get_by_role("button", name=hole, exact=True).wait_for()


SIZES = [
    pytest.param((820, 1180), id="tablet-upright"),
    pytest.param((1180, 820), id="tablet", marks=pytest.mark.slow),
    pytest.param((1366, 768), id="laptop", marks=pytest.mark.slow),
    pytest.param((390, 844), id="phone", marks=pytest.mark.slow),
]


@pytest.mark.parametrize("size", SIZES)
def test_from_an_empty_folder_to_an_issued_report_that_meets(
    running: Program, browser: Browser, size: tuple[int, int]
) -> None:
    """Every record that the verdict asks for is entered by touch, and nothing else is needed."""
    page = open_page(browser, running.address, size=size)
    outside: list[str] = []
    page.on("request", lambda one: "127.0.0.1" in one.url or outside.append(one.url))
    failures: list[str] = []
    page.on("pageerror", lambda error: failures.append(str(error)))
    faults: dict[str, Any] = {}

    def looked(where: str) -> None:
        if found := faults_of(page):
            faults[where] = found

    job = f"Weaving studio {size[0]}"
    begin_job(page, job)
    type_room(page, "studio", STUDIO)
    _build_up(page)
    looked("plan")
    begin_visit(page)
    scan = {"name": "scan.csv", "mimeType": "text/csv", "buffer": _scan().encode()}
    page.get_by_label("Import a file").set_input_files(scan)
    page.get_by_text("80 readings understood.").wait_for()
    looked("import")
    press(page, "Store these readings")
    page.get_by_role("heading", name="80 readings so far").wait_for()
    looked("readings")
    to_task(page, "Map")
    page.get_by_role("heading", name="Wet zones").wait_for()
    looked("map")
    to_task(page, "Drill plan")
    page.get_by_role("heading", name="Before any drilling").wait_for()
    looked("cautions")
    _clear_cautions(page)
    press(page, "Issue this drill plan")
    page.get_by_text("Plan 1, issued", exact=False).wait_for()
    looked("drill plan")

    to_task(page, "Tests")
    page.get_by_role("heading", name="Instruments").wait_for()
    press(page, "Set a limit")
    dialog = page.locator("dialog")
    dialog.get_by_label("Method").select_option("in-situ-rh")
    dialog.get_by_label("Limit", exact=True).fill("85")
    dialog.get_by_label("Document that sets it").fill("adhesive sheet, revision 4")
    push(page, dialog.get_by_role("button", name="Store"))
    _probe(page)
    address = f"{running.address}api/projects/{quote(job)}/issued-holes"
    holes = [one["hole"] for one in page.request.get(address).json()["holes"]]
    for number, hole in enumerate(holes):
        _test(page, hole, f"{74 - number}")
    page.get_by_text("Meets the limit", exact=True).wait_for()
    looked("tests")

    to_task(page, "Report")
    page.get_by_label("Client").fill("Weavers' hall")
    page.get_by_label("Client").press("Tab")
    page.get_by_label("Issue it").check()
    with page.expect_download() as report:
        press(page, "Write the report")
    assert Path(report.value.path()).read_bytes().startswith(b"%PDF")
    page.get_by_role("table", name="Issued reports").wait_for()
    looked("report")
    assert outside == []
    assert failures == []
    assert faults == {}
