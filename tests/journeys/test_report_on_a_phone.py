"""The report as a page on a phone: what to do next is read without scrolling sideways."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "figures"))

from studied import studied

from moisturemap.report import Supplement, write_report

if TYPE_CHECKING:
    from playwright.sync_api import Browser

SIDEWAYS = "box => [box.querySelectorAll('thead th').length, box.scrollWidth > box.clientWidth + 1]"


@pytest.mark.browser
def test_tables_of_few_columns_fit_a_phone(browser: Browser, tmp_path: Path) -> None:
    """Tables of more columns scroll within themselves, never the page."""
    target = tmp_path / "r.html"
    found, _ = studied("flat")
    write_report(found.study, target, decision=found.decision, supplement=Supplement(pictures=()))
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(target.as_uri())
    boxes = [box.evaluate(SIDEWAYS) for box in page.query_selector_all(".scroll")]
    wide = page.evaluate("document.documentElement.scrollWidth")
    page.close()
    assert wide == 390
    assert boxes
    assert not [count for count, sideways in boxes if count < 4 and sideways]
    assert [count for count, sideways in boxes if sideways]
