"""Sheets and columns are picked in the app; a bottle at the end of its gauge is entered."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from openpyxl import Workbook
from playwright.sync_api import Browser

from .page import Program, at_stored_visit, open_page, press, push, to_task

pytestmark = pytest.mark.browser

SIZE = (820, 1180)


def test_sheet_and_columns_are_picked_and_a_file_doubles_nothing(
    running: Program, browser: Browser, tmp_path: Path
) -> None:
    """A workbook of two sheets, a list with headings of its own, and the same list once more."""
    page = open_page(browser, running.address, size=SIZE)
    job = f"{running.address}api/projects/Choices"
    at_stored_visit(page, running, "Choices")
    book = Workbook()
    for name in ("Monday", "Friday"):
        sheet = book.create_sheet(name)
        for row in (("Scan", "Along", "Across"), *((20 + i, 0.5 + i / 2, 1) for i in range(6))):
            sheet.append(row)
    file = tmp_path / "scans.xlsx"
    book.save(file)
    dialog, store = page.locator("dialog"), page.get_by_role("button", name="Store these readings")
    for _ in range(2):
        page.get_by_label("Import a file").set_input_files(file)
        dialog.get_by_text("several sheets hold something", exact=False).wait_for()
        assert store.is_disabled()
        dialog.get_by_label("Sheet of the workbook").select_option("Friday")
        dialog.get_by_label("Column of x").select_option("Along")
        dialog.get_by_label("Column of y").select_option("Across")
        dialog.get_by_label("Column of the reading").select_option("Scan")
        dialog.get_by_text("6 readings understood").wait_for()
        push(page, store)
        dialog.wait_for(state="detached")
    page.get_by_text("6 were in this visit already", exact=False).wait_for()
    assert len(page.request.get(f"{job}/readings?visit=v1").json()["readings"]) == 6

    to_task(page, "Tests")
    press(page, "Enter a test")
    page.get_by_label("Method").select_option("carbide")
    page.get_by_label("Name of the hole or sample").fill("C1")
    page.get_by_label("Result").first.fill(">2")
    press(page, "Store")
    page.get_by_text("Test stored.").wait_for()
    page.get_by_role("cell", name=re.compile(r">2\sCM-%")).wait_for()
    stored = page.request.get(f"{job}/tests").json()["tests"][0]
    assert (stored["value"], stored["censored"]) == (2.0, "above")
    push(page, page.get_by_role("button", name="C1", exact=True))
    assert page.get_by_label("Result").first.input_value() == ">2"
