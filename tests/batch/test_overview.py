"""The page over many floors, in a real browser."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from moisturemap.batch.overview import overview_html, overview_rows

DAY = date(2026, 3, 20)


def result(number: int, **floor: Any) -> dict[str, Any]:
    """A kept result, invented."""
    row = {"name": f"Room {number}", "wet_m2": 0.0, "verdict": "", "tests": 0, "area_m2": 20.0}
    cells = {"width": 2, "height": 1, "low": 0, "high": 100, "model": "Model A", "cells": "AP8="}
    return {
        "floor": f"f{number:04d}",
        "survey": f"f{number}",
        "error": "",
        "rows": {"floors": [{**row, **floor}]},
        "map": cells,
    }


def test_a_hostile_name_stays_text(tmp_path: Path) -> None:
    """Nothing in a name ends the script or becomes markup."""
    page = overview_html(overview_rows([result(1, name="</script><b>x")]), DAY)
    assert "</script><b>" not in page


@pytest.mark.browser
def test_floors_are_sorted_filtered_and_shown_as_maps(tmp_path: Path) -> None:
    """By tap, on a tablet; no script error, nothing fetched from anywhere."""
    from playwright.sync_api import sync_playwright

    results = [result(i, wet_m2=float(i % 7)) for i in range(30)]
    results[3]["rows"]["floors"][0] |= {"verdict": "exceeds", "tests": 3, "tests_valid": 3}
    results[4] |= {"error": "refused: no plan", "rows": {}, "map": None}
    path = tmp_path / "overview.html"
    path.write_text(overview_html(overview_rows(results), DAY), encoding="utf-8")
    with sync_playwright() as machine:
        browser = machine.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--disable-gpu"]
        )
        context = browser.new_context(viewport={"width": 820, "height": 1180}, has_touch=True)
        page = context.new_page()
        errors: list[str] = []
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.goto(path.as_uri())
        rows = page.locator("tbody tr")
        assert rows.count() == 30
        page.get_by_role("button", name="Wet [m²]").tap()
        page.get_by_role("button", name="Wet [m²]").tap()
        assert "6.0" in rows.first.inner_text()
        page.get_by_label("Show", exact=False).first.select_option("exceeds")
        assert rows.count() == 1
        page.get_by_label("Show", exact=False).first.select_option("failed")
        assert "no plan" in rows.first.inner_text()
        page.get_by_label("Show", exact=False).first.select_option("all")
        page.get_by_label("Find").fill("f0007")
        assert rows.count() == 1
        page.get_by_label("Find").fill("")
        page.get_by_role("button", name="Show maps").tap()
        assert page.locator("canvas").count() == 29
        wide = page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        browser.close()
    assert wide
    assert not errors
