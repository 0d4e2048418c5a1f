"""The report as a page on a phone: what to do next is read without scrolling sideways."""

from __future__ import annotations

from pathlib import Path

import pytest

from moisturemap.bundles import Findings
from moisturemap.report import Supplement, write_report

CHROMIUM = Path("/usr/bin/chromium")
SIDEWAYS = "box => [box.querySelectorAll('thead th').length, box.scrollWidth > box.clientWidth + 1]"


@pytest.mark.browser
def test_tables_of_few_columns_fit_a_phone(findings: Findings, tmp_path: Path) -> None:
    """Tables of more columns scroll within themselves, never the page."""
    playwright = pytest.importorskip("playwright.sync_api")
    if not CHROMIUM.exists():
        pytest.skip("no Chromium")
    target = tmp_path / "r.html"
    write_report(
        findings.study, target, supplement=Supplement(decision=findings.decision, pictures=())
    )
    with playwright.sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.goto(target.as_uri())
        found = [box.evaluate(SIDEWAYS) for box in page.query_selector_all(".scroll")]
        wide = page.evaluate("document.documentElement.scrollWidth")
        browser.close()
    assert wide == 390
    assert found
    assert not [count for count, sideways in found if count < 4 and sideways]
    assert [count for count, sideways in found if sideways]
