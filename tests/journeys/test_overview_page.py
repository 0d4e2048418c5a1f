"""The page over many floors, by tap on a tablet."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "batch"))

from kept_results import result

from moisturemap.batch.overview import overview_html, overview_rows

DAY = date(2026, 3, 20)
pytestmark = pytest.mark.browser


def test_floors_are_sorted_filtered_and_shown_as_maps(browser: Browser, tmp_path: Path) -> None:
    """By tap, on a tablet; no script error, nothing fetched from anywhere."""
    results = [result(i, wet_m2=float(i % 7)) for i in range(30)]
    results[3]["rows"]["floors"][0] |= {"verdict": "exceeds", "tests": 3, "tests_valid": 3}
    results[4] |= {"error": "refused: no plan", "rows": {}, "map": None}
    path = tmp_path / "overview.html"
    path.write_text(overview_html(overview_rows(results), DAY), encoding="utf-8")
    context = browser.new_context(viewport={"width": 820, "height": 1180}, has_touch=True)
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto(path.as_uri())
    rows = page.locator("tbody tr")
    expect(rows).to_have_count(30)
    page.get_by_role("button", name="Wet [m²]").tap()
    page.get_by_role("button", name="Wet [m²]").tap()
    assert "6.0" in rows.first.inner_text()
    page.get_by_label("Show", exact=False).first.select_option("exceeds")
    expect(rows).to_have_count(1)
    page.get_by_label("Show", exact=False).first.select_option("failed")
    assert "no plan" in rows.first.inner_text()
    page.get_by_label("Show", exact=False).first.select_option("all")
    page.get_by_label("Find").fill("f0007")
    expect(rows).to_have_count(1)
    page.get_by_label("Find").fill("")
    page.get_by_role("button", name="Show maps").tap()
    expect(page.locator("canvas")).to_have_count(29)
    wide = page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    context.close()
    assert wide
    assert not errors


def test_two_thousand_floors_are_drawn_as_they_come_into_view(
    browser: Browser, tmp_path: Path
) -> None:
    """A screen or two at once; the rest by scrolling or by the button, and all on paper."""
    path = tmp_path / "overview.html"
    rows = overview_rows([result(i, wet_m2=float(i)) for i in range(2000)])
    path.write_text(overview_html(rows, DAY), encoding="utf-8")
    page = browser.new_page(viewport={"width": 820, "height": 1180})
    page.goto(path.as_uri())
    drawn = page.locator("tbody tr")
    assert drawn.count() < 300
    assert page.locator("#count").inner_text().startswith("2000 floors")
    page.get_by_role("button", name="Wet [m²]").click()
    page.get_by_role("button", name="Wet [m²]").click()
    assert "1999.0" in drawn.first.inner_text(), "sorted over all floors, drawn or not"
    before = drawn.count()
    page.mouse.wheel(0, 6000)
    page.wait_for_function("n => document.querySelectorAll('tbody tr').length > n", arg=before)
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    expect(drawn).to_have_count(2000)
    page.get_by_role("button", name="Show maps").click()
    assert 0 < page.locator("canvas").count() < 600
    page.close()
