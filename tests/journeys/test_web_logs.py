"""Loggers and machine logs by touch: shown, asked for their place, kept, drawn as curves."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from .page import Program, at_stored_visit, open_page, press, push, to_task

pytestmark = pytest.mark.browser

HOURS = [(2 + k // 24, k % 24) for k in range(0, 72, 2)]
LOGGER = "\n".join(
    [
        "time,air %RH,air °C,slab %RH,slab °C",
        *(
            f"2026-03-{day:02d} {hour:02d}:00,{55 + hour % 5},{20 + hour % 3},{88 - day},{18.5}"
            for day, hour in HOURS
        ),
    ]
)
MACHINES = "date,machine,litres,hours,kWh\n2026-03-03,M1,12.5,24,9\n2026-03-04,M1,10.5,24,8.5\n"


def _read_floor(page: Page, job: str, origin: str) -> None:
    readings = [
        {"x": 0.5 + i / 2, "y": 0.5 + j / 2, "raw": str(20 + 3 * i + j), "label": f"P{i}{j}"}
        for i in range(8)
        for j in range(5)
    ]
    body: dict[str, Any] = {"visit": "v1", "instrument": "meter 1", "who": "Ada Marsh"}
    answer = page.request.post(
        f"{job}/readings", data={**body, "readings": readings}, headers={"Origin": origin}
    )
    assert answer.ok, answer.text()


@pytest.mark.parametrize("size", [(1180, 820), (360, 740)])
def test_a_logger_and_a_machine_log_are_kept_and_drawn(
    running: Program, browser: Browser, tmp_path: Path, size: tuple[int, int]
) -> None:
    """The channel is asked for, a hole without its depth refused, the curve drawn, a log undone."""
    page = open_page(browser, running.address, size=size)
    name = f"Logs {size[0]}"
    job = f"{running.address}api/projects/{name.replace(' ', '%20')}"
    at_stored_visit(page, running, name)
    _read_floor(page, job, running.address[:-1])
    page.reload()
    to_task(page, "Drying")
    page.get_by_role("heading", name="Loggers and machine logs").wait_for()
    logger = tmp_path / "slab.csv"
    logger.write_text(LOGGER)
    page.get_by_label("Add a logger file").set_input_files(logger)
    dialog = page.locator("dialog")
    dialog.get_by_text("The file holds several channels").wait_for()
    dialog.get_by_label("Channel").select_option("slab")
    dialog.get_by_text("36 entries from").wait_for()
    dialog.get_by_text("Humidity: slab %RH").wait_for()
    dialog.locator("svg.curve").first.wait_for()
    dialog.get_by_label("Name", exact=True).fill("H1")
    press(page, "Store")
    dialog.get_by_text("A logger in a hole needs its place").first.wait_for()
    for label, value in (("x", "2"), ("y", "1,5"), ("Depth of the sensor", "40")):
        dialog.get_by_label(label, exact=True).fill(value)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    push(page, dialog.get_by_role("button", name="Store"))
    page.get_by_text("The log is kept with the job.").wait_for()
    page.get_by_text("sealed in a hole, 40 mm deep").wait_for()
    figure = page.get_by_role("figure", name="H1 sealed in a hole")
    expect(figure.locator("svg.curve path")).to_have_count(2)

    machines = tmp_path / "machines.csv"
    machines.write_text(MACHINES)
    page.get_by_label("Add a machine log").set_input_files(machines)
    dialog.get_by_text("M1 · 23 l, 48 h, 17.5 kWh").wait_for()
    push(page, dialog.get_by_role("button", name="Store"))
    page.get_by_role("cell", name="17.5").first.wait_for()

    kept = page.request.get(f"{job}/logs").json()
    assert [(one["id"], one["x"], one["y"]) for one in kept["loggers"]] == [("H1", 2.0, 1.5)]
    assert [one["machine"] for one in kept["machine_logs"]] == ["M1"]
    page.reload()
    page.locator("figure.log svg.curve").first.wait_for()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    push(page, page.get_by_role("button", name="Take H1 out"))
    dialog.get_by_label("Why").fill("of another floor")
    with page.expect_response("**/logs/remove"):
        push(page, dialog.get_by_role("button", name="Take out"))
    expect(figure).to_have_count(0)
    entries = page.request.get(f"{job}/changes?most=1").json()["entries"]
    assert entries[0]["why"] == "of another floor"
