"""The page of all floors of the folder, by touch: what rose between visits is told there."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from .overlaps import faults_of, words_cut_off
from .page import Program, open_page, press, program, stored_job

pytestmark = pytest.mark.browser

SIZES = [(1366, 768), (1180, 820), (820, 1180), (390, 844), (360, 740)]
DRY = [22.0, 23.0, 22.5, 21.5, 22.0, 23.0, 22.0, 22.5, 23.0, 22.0]


def _readings(rise: float) -> list[dict[str, Any]]:
    """Dry floor but for a corner that rose; on the third visit it is nearly dry again."""
    places = [(0.4 + 0.8 * i, 0.4 + 0.8 * j) for i in range(9) for j in range(6)]
    return [
        {
            "x": round(x, 2),
            "y": round(y, 2),
            "raw": f"{22 + rise * (x > 4) * (y > 2.5) + (3 * i) % 4 / 4:.1f}",
        }
        for i, (x, y) in enumerate(places)
    ]


def test_a_floor_that_took_up_water_between_visits_is_told(
    tmp_path: Path, browser: Browser
) -> None:
    """Studied by tap; its row says how much rose, and the filter finds it; whole at every size."""
    with program(tmp_path) as running:
        page = open_page(browser, running.address, size=(1180, 820))
        _make(running, page)
        page.goto(running.address)
        page.goto(f"{running.address}#floors")
        press(page, "Study them now")
        row = page.get_by_role("row").filter(has_text="Rising")
        row.get_by_text("m² rose between visits").wait_for()
        page.get_by_label("Show").select_option(label="risen between visits")
        row.wait_for()
        fonts = page.context.new_cdp_session(page)
        for letters in (16, 32):
            fonts.send("Page.setFontSizes", {"fontSizes": {"standard": letters, "fixed": 13}})
            for wide, tall in SIZES:
                page.set_viewport_size({"width": wide, "height": tall})
                page.wait_for_timeout(60)
                faults = (faults_of(page), words_cut_off(page))
                assert faults == ({}, []), (wide, tall, letters)


def _make(running: Program, page: Page) -> None:
    job = f"{running.address}api/projects/Rising"
    stored_job(page, running, "Rising", (7.5, 4.8))

    def send(rest: str, body: dict[str, Any]) -> None:
        head = {"Origin": running.address[:-1]}
        answer = page.request.post(f"{job}/{rest}", data={**body, "who": "Ben"}, headers=head)
        assert answer.ok, answer.text()

    send("instruments", {"id": "meter 1", "scale": [0, 100]})
    for visit, day, rise in (("v1", 2, 0.0), ("v2", 9, 40.0), ("v3", 16, 1.0)):
        started = f"2026-03-{day:02d}T08:00:00Z"
        send("visits", {"id": visit, "started": started, "dry_reference": DRY})
        body = {"visit": visit, "instrument": "meter 1", "readings": _readings(rise)}
        send("readings", body)
