"""The report as a page on a phone: what to do next is read without scrolling sideways."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from moisturemap.report import Supplement, write_report
from moisturemap.workflow.demo import day_after, demo_plans
from moisturemap.workflow.judge import judge_or_map
from moisturemap.workflow.read import read_survey

if TYPE_CHECKING:
    from playwright.sync_api import Browser

SIDEWAYS = "box => [box.querySelectorAll('thead th').length, box.scrollWidth > box.clientWidth + 1]"


@pytest.mark.browser
def test_tables_of_few_columns_fit_a_phone(browser: Browser, tmp_path: Path) -> None:
    """Tables of more columns scroll within themselves, never the page."""
    target = tmp_path / "r.html"
    survey = read_survey(demo_plans() / "flat")
    found = judge_or_map(survey, as_of=day_after(survey))
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
